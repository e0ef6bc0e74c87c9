"""Each kind of exercise in Notebook 7, and one that is partly done: to the marks."""

import json

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect

from answer_keys.gradebook.gradebook import Gradebook
from generator.cli import main
from generator.sets.class_set import open_key
from tests.browser import key_work
from tests.browser import page as student
from tests.browser.conftest import ADA
from tests.browser.every_kind import GIVEN, KINDS, SECOND
from tests.keys import content_of

pytestmark = pytest.mark.nightly

WRITTEN = "Fan stands still. 0 V at 86; wire to the module open."


@pytest.fixture(scope="module")
def class_set(every_kind):
    """The set, of which Ada works."""
    return every_kind


@pytest.fixture(scope="module")
def records(class_set):
    """Her key records by exercise number."""
    content = content_of([*open_key(class_set)[1].whole])
    return {r["exercise"]: r for r in content if r["student"] == ADA}


@pytest.fixture(scope="module")
def path(server, class_set):
    """The workbook, below the served folder."""
    return class_set.workbook_file(ADA).relative_to(server.folder)


@pytest.fixture
def page(notebook_tab, server, path):
    """The workbook in Notebook 7."""
    student.show_workbook(notebook_tab, server, path, "notebooks")
    return notebook_tab


def answer(form, question):
    """Answer one question rightly, by keyboard."""
    # Two questions of one exercise may be asked in the same words.
    group = form.locator(f"[data-part='answer/answer:{question['id']}']")
    {"number": _number, "choice": _choice, "order": _order, "lines": _lines}[
        question["kind"]
    ](form, group, question)
    expect(group.get_by_role("button")).to_have_count(0)


def _number(form, group, question):
    number = question["number"]
    text = key_work.typed(number["value"], number["unit"])
    group.get_by_role("textbox").fill(text)
    expect(group.locator(".cb-echo.cb-right")).to_contain_text("Read as")
    group.get_by_role("textbox").press("Enter")
    expect(student.status(form)).to_contain_text(student.RECORDED)


def _label(question, id_):
    return next(one["label"] for one in question["options"] if one["id"] == id_)


def _choice(_, group, question):
    label = _label(question, question["right"][0])
    option = group.get_by_role("radio", name=label, exact=True)
    option.focus()
    option.press("Space")
    group.get_by_role("button", name="Record").press("Enter")


def _order(_, group, question):
    for place, id_ in enumerate(question["right"]):
        menu = group.get_by_role("combobox").nth(place)
        menu.select_option(label=_label(question, id_))
    group.get_by_role("button", name="Record").press("Enter")


def _lines(_, group, question):
    for place in range(len(question["lines"])):
        group.get_by_role("textbox").nth(place).fill(WRITTEN)
    group.get_by_role("button", name="Record").press("Enter")


def test_every_kind_of_question_is_answered(page, records):
    """Numbers, choices, orders and lines are taken, and judged on the page at once."""
    asked = {r["kind"]: r for r in records.values() if r["questions"]}
    assert set(asked) == set(KINDS)
    for record in asked.values():
        form = student.exercise(page, record["exercise"])
        for question in record["questions"]:
            answer(form, question)
        expect(form.get_by_text("This exercise is done.")).to_be_visible()
        expect(form.locator(".cb-remark.cb-wrong")).to_have_count(0)


def test_partly_done_exercise_is_completed(page, records):
    """The student reads what is done, and goes on to the proved cause."""
    record = records[GIVEN]
    form = student.exercise(page, GIVEN)
    done = [test["item"] for test in record["given"]["tests"]]
    readings = form.locator(".cb-reading")
    expect(readings).to_have_count(len(done))
    expect(form.locator(".cb-answer")).to_have_count(len(record["predictions"]))
    expect(form.get_by_role("textbox")).to_have_count(0)
    for test in key_work.planned(record, key_work.all_causes(record)):
        if test["id"] not in done:
            key_work.do(form, test)
    key_work.finish(form, record)
    expect(form.get_by_text("(done for you)")).to_have_count(2 * len(done))


def test_reload_shows_all_again(page, server, path, records):
    """Answers of every kind, and what was done for the student, stand as before."""
    page.reload()
    student.wait_for_kernel(page, server, path)
    for number in range(1, len(KINDS) + 2):
        form = student.exercise(page, number)
        expect(form.get_by_text("This exercise is done.")).to_be_visible()
    last = student.exercise(page, SECOND)
    assert records[SECOND]["given"] is None
    expect(last.get_by_role("textbox")).to_have_count(3)


def test_hand_in_gets_full_marks(page, class_set, records):
    """Everything right is worth all; lines wait for a person; the rest was not done."""
    file, lines = student.download_hand_in(page, student.exercise(page, 1))
    text = "".join(json.dumps(line) + "\n" for line in lines)
    (class_set.handed_in / file).write_text(text, encoding="utf-8")
    given = {test["item"] for test in records[GIVEN]["given"]["tests"]}
    of_first = [line for line in lines if line.get("exercise") == GIVEN]
    own = [line["item"] for line in of_first if line["kind"] == "test"]
    assert own
    assert not given & set(own)
    result = CliRunner().invoke(main, ["grade", str(class_set.folder), "--json"])
    assert result.exit_code == 0, result.stderr
    with Gradebook(class_set.results / "gradebook.sqlite") as book:
        exercises = book.gradings(class_set.set_id, ADA)[-1].exercises
    for marks in exercises[: 1 + len(KINDS)]:
        assert marks.mark == pytest.approx(marks.out_of), marks
    assert exercises[0].out_of == pytest.approx(100)
    assert exercises[-1].mark == 0
    sheet = next((class_set.results / "sheets").iterdir()).read_text(encoding="utf-8")
    assert "Partly done for you: the predictions and the first" in sheet
    assert WRITTEN in sheet.replace("\u00a0", " ")
