"""The widget, without a browser."""

import json
import re

import pytest

import workbook
from generator.site.shared import EXTENSIONS
from tests.workbook.sample import STUDENT, write_workbook
from tests.workbook.steps import COIL
from workbook.page import finder
from workbook.page import form as form_module


def _send(form, **message):
    """Deliver one message as the page would."""
    form._handle_custom_msg({"id": "m1", **message}, [])
    return form.comm.replies()[-1]


def test_exercise_is_the_same_however_often_it_is_opened(folder):  # noqa: ARG001
    """Cells run in any order and again give the same forms."""
    second, first = workbook.exercise(2), workbook.exercise(1)
    assert workbook.exercise(1) is first
    assert workbook.exercise(2) is second
    assert first.view["title"] == "Groomer 1: cooling fan does not run"


def test_page_never_hears_of_an_empty_form(folder):  # noqa: ARG001
    """All that a form draws is in the message that opens it; no update is needed."""
    form = workbook.exercise(1)
    (opened, _), *later = form.comm.sent
    drawn = ("view", "circuit", "book", "own", "hand_in", "texts")
    assert {name: opened["state"][name] for name in drawn} == {
        name: getattr(form, name) for name in drawn
    }
    assert form.view["sections"]
    assert later == []


def test_opening_writes_nothing(folder):
    """Running the cells leaves no file behind."""
    before = sorted(folder.iterdir())
    workbook.exercise(1)
    assert sorted(folder.iterdir()) == before


def test_text_form_is_short_and_has_no_address(folder):  # noqa: ARG001
    """Where no widget can be shown, the output says what to do, always the same."""
    shown = workbook.exercise(1)._repr_mimebundle_()
    bundle = shown[0] if isinstance(shown, tuple) else shown
    assert bundle["text/plain"] == (
        "Exercise 1: Groomer 1: cooling fan does not run "
        "(run this cell in Jupyter to open it)"
    )


def test_recorded_step_updates_every_form(folder):  # noqa: ARG001
    """One recorded step changes its own page and the hand-in line of all pages."""
    first, second = workbook.exercise(1), workbook.exercise(2)
    _send(first, action="echo", item=COIL, raw="148 mA")
    reply = _send(first, action="prediction", item=COIL, raw="148 mA")
    assert (reply["status"], reply["id"]) == ("recorded", "m1")
    assert first.view["sections"][0]["parts"][1]["kind"] == "answer"
    assert second.hand_in["not_handed_in"] == 1


def test_page_is_updated_before_the_reply(folder):  # noqa: ARG001
    """The page hears "recorded" only when it shows what was recorded."""
    form = workbook.exercise(1)
    _send(form, action="echo", item=COIL, raw="148 mA")
    _send(form, action="prediction", item=COIL, raw="148 mA")
    methods = [data.get("method") for data, _ in form.comm.sent]
    assert methods[-1] == "custom"
    assert "update" in methods[-3:-1]


def test_reply_waits_for_no_other_page(folder, monkeypatch):  # noqa: ARG001
    """They are brought up to date after it, however many there are."""
    first, second = workbook.exercise(1), workbook.exercise(2)
    replied = []
    monkeypatch.setattr(
        second, "refresh", lambda: replied.append(first.comm.replies()[-1])
    )
    _send(first, action="echo", item=COIL, raw="148 mA")
    reply = _send(first, action="prediction", item=COIL, raw="148 mA")
    assert replied == [reply]
    assert reply["status"] == "recorded"


def test_page_has_its_copy_before_it_shows_a_step(folder):  # noqa: ARG001
    """A kernel that dies between two messages leaves no step without a copy."""
    form = workbook.exercise(1)
    _send(form, action="echo", item=COIL, raw="148 mA")
    form.comm.sent.clear()
    _send(form, action="prediction", item=COIL, raw="148 mA")
    first = form.comm.sent[0][0]
    assert first["method"] == "custom"
    assert json.loads(first["content"]["tail"]["lines"][-1])["raw"] == "148 mA"


def test_reply_goes_out_when_the_page_cannot_be_drawn(folder, monkeypatch):  # noqa: ARG001
    """A mistake in drawing is shown as such, and the step is still acknowledged."""
    form = workbook.exercise(1)
    _send(form, action="echo", item=COIL, raw="148 mA")
    monkeypatch.setattr("workbook.page.clerk.exercise_view", lambda *_: 1 / 0)
    reply = _send(form, action="prediction", item=COIL, raw="148 mA")
    assert reply["status"] == "recorded"
    assert "ZeroDivisionError" in form.view["notices"][0]["text"]


def test_hand_in_goes_out_as_bytes(folder):
    """The hand-in is sent beside the reply, and left in the folder."""
    form = workbook.exercise(1)
    _send(form, action="hand-in")
    _, buffers = form.comm.sent[-1]
    assert json.loads(bytes(buffers[0]).splitlines()[0])["student"] == STUDENT
    assert (folder / form.hand_in["name"]).read_bytes() == bytes(buffers[0])


@pytest.mark.parametrize("message", ["text", None, 3])
def test_message_of_another_shape_is_passed_over(folder, message):  # noqa: ARG001
    """What is not a message of the page raises nothing and records nothing."""
    form = workbook.exercise(1)
    form._handle_custom_msg(message, [])
    assert form.comm.replies() == []


def test_new_edition_on_disk_is_opened(folder):
    """A workbook that was replaced on disk is the one that the next run shows."""
    old = workbook.exercise(1)
    write_workbook(folder, count=3)
    assert workbook.exercise(1) is not old
    assert workbook.exercise(3).view["label"] == "Exercise 3"


def _get_ready():
    """What the script of the page has a kernel do before a cell runs."""
    script = (EXTENSIONS / "clampbook/static/page.js").read_text("utf-8")
    (code,) = re.findall(r'const READY = "(.+)";', script)
    exec(code, {})


def test_what_is_read_ahead_is_not_read_again(folder, monkeypatch):  # noqa: ARG001
    """A kernel that had time reads the workbook before its first cell runs."""
    finder._unsealed.cache_clear()
    _get_ready()
    monkeypatch.setattr(finder, "exercises_from_payload", lambda _payload: {})
    assert workbook.exercise(1).view["title"] == "Groomer 1: cooling fan does not run"


def test_getting_ready_leaves_trouble_to_the_cell(folder):
    """Without a workbook nothing is raised ahead; the cell tells it on the page."""
    next(folder.glob("*.ipynb")).unlink()
    _get_ready()
    assert "No workbook was found" in _trouble()


def _trouble(number=1):
    """The text of the panel shown instead of an exercise."""
    view = workbook.exercise(number).view
    assert view["sections"] == []
    return view["notices"][0]["text"]


def test_missing_notebook_is_told_on_the_page(folder):
    """No notebook: a panel in plain words, not a traceback."""
    next(folder.glob("*.ipynb")).unlink()
    assert "No workbook was found" in _trouble()


def test_several_notebooks_are_told_on_the_page(folder):
    """Several notebooks: the panel tells to give each a folder."""
    write_workbook(folder, student="s02")
    assert "a folder of its own" in _trouble()


def test_damaged_notebook_is_told_on_the_page(folder):
    """A damaged seal: the panel tells to ask for a fresh copy."""
    write_workbook(folder, sealed="damaged")
    assert "fresh copy" in _trouble()


def test_unknown_exercise_is_told_on_the_page(folder):  # noqa: ARG001
    """A number that is not in the workbook: the panel lists those that are."""
    assert "it has 1, 2" in _trouble(9)


def test_mistake_of_ours_is_told_on_the_page(folder, monkeypatch):  # noqa: ARG001
    """An unexpected exception while opening is a panel too."""
    monkeypatch.setattr(form_module, "current_notebook", lambda *_: 1 / 0)
    assert "ZeroDivisionError" in _trouble()


def test_unwritable_folder_is_told_at_once(folder, monkeypatch):  # noqa: ARG001
    """Where nothing can be saved, the first look at the page says so."""

    monkeypatch.setattr("workbook.record.journal.PROBE", "no/such/folder")
    told = workbook.exercise(1).view["notices"][0]
    assert told["label"] == "Nothing is being recorded."
    assert "No such file or directory" in told["text"]
