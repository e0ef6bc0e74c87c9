"""Exercises done in JupyterLab."""

import json
import re
import signal

import pytest
from playwright.sync_api import expect

from tests.browser import axe
from tests.browser import keys as by_keys
from tests.browser import page as student
from tests.workbook.sample import (
    CAUSES,
    CORRECTIONS,
    HEADER,
    REVERSED,
    RIGHT,
    TESTS,
    statements,
    text_of,
)

COIL = "Control current with the relay commanded on"
LOAD = "Load current with the fan running"
AFTER = "What will the clamp read on its 10 mV/A scale after the repair?"


TITLES = {test[0]: test[1] for test in TESTS}
EXERCISES = 9


@pytest.fixture(scope="module")
def workbook_path(new_workbook):
    """One workbook for this module; every test takes an exercise of its own."""
    return new_workbook(EXERCISES)


@pytest.fixture(scope="module")
def opened(lab_tab, server, workbook_path):
    """That workbook in JupyterLab, its cells run."""
    student.open_workbook(lab_tab, server, workbook_path)
    return lab_tab


@pytest.fixture
def predicted(opened, request):
    """An exercise whose predictions are recorded; its number is the parameter."""
    form = student.exercise(opened, request.param)
    student.record_prediction(form, COIL, "148 mA")
    student.record_prediction(form, LOAD, "12,2 A")
    return form


def _cells(page, workbook):
    """Of the saved workbook: the page draws only the cells that are in sight."""
    with page.expect_response(lambda answer: answer.request.method == "PUT"):
        page.locator('[data-jp-item-name="save"]').get_by_role("button").click()
    return len(json.loads(workbook.read_text(encoding="utf-8"))["cells"])


def _number_field(form, label=LOAD):
    return form.get_by_role("group", name=label, exact=True).get_by_role("textbox")


def _journal_lines(workbook):
    """The lines of all journals beside a workbook."""
    journals = sorted(workbook.parent.glob("journal-*.jsonl"))
    return [json.loads(line) for each in journals for line in _lines(each)]


def _lines(path):
    return path.read_text(encoding="utf-8").splitlines()


def _press(page, *keys):
    for key in keys:
        page.keyboard.press(key)


def test_no_code_is_seen(opened):
    """In JupyterLab, too, the forms come by themselves, and code is out of sight."""
    student.exercise(opened, 1)
    expect(opened.locator(".jp-CodeCell .jp-InputArea:visible")).to_have_count(0)


def _as_of_a_key(test, outcome):
    """A test of the sample as a key record has it; the outcome is what it shows."""
    (row,) = (row for row in TESTS if row[0] == test)
    names = ("id", "title", "how", "minutes", "hazards", "outcomes", "display")
    return dict(zip(names, row, strict=False)) | {
        "sound_outcome": "low",
        "outcome": outcome,
        "statements": statements(row),
        "statement": RIGHT,
    }


def test_whole_exercise_with_feedback_by_keyboard_alone(opened, server, workbook_path):
    """A student comes to the end, and is told at every step what it proves.

    Jupyter's own keys would take letters and arrows as commands.
    """
    path = server.folder / workbook_path
    form, before = student.exercise(opened, 1), _cells(opened, path)
    keys = by_keys.Keys(opened, form)
    by_keys.predict(keys, form, COIL, "148 mA")
    by_keys.predict(keys, form, LOAD, "12,2 A")
    _take_a_hint(keys, form)
    by_keys.do(keys, form, _as_of_a_key("voltage_85", "supply voltage"))
    expect(form).to_contain_text("The hint for it costs 20 % of its mark.")
    expect(form).to_contain_text("2 of 8 causes still fit.")
    control = form.get_by_role("list", name="Control circuit").get_by_role("listitem")
    expect(control).to_have_text(
        [
            re.compile(state)
            for state in ("fuse cleared", "coil cleared", "wire suspect", "le suspect")
        ]
    )
    by_keys.do(keys, form, _as_of_a_key("voltage_module", "none"))
    expect(form.locator(".cb-earlier h5")).to_have_text(TITLES["voltage_85"])
    expect(form.locator(".cb-earlier .cb-remark")).to_have_count(5)
    by_keys.conclude(keys, form, CAUSES[2], CORRECTIONS[2])
    expect(form).to_contain_text("Cause and correction are right.")
    for way in ("Your way", "The planned way"):
        expect(form.get_by_role("table", name=way)).to_contain_text("12 min")
    by_keys.predict(keys, form, AFTER, "122 mV")
    keys.tab_to("Download my hand-in")
    with opened.expect_download() as waiting:
        keys.press("Enter")
    name, (header, *lines) = student.read_hand_in(waiting.value)
    assert (name, header["kind"]) == (f"hand-in-{HEADER}.jsonl", "hand-in")
    kinds = [line["kind"] for line in lines if line.get("exercise") == 1]
    steps = ["test", "finding", "test", "finding", "conclusion", "verification"]
    assert kinds == ["prediction", "prediction", "hint", *steps]
    expect(form).to_contain_text("all in your last hand-in file.")
    assert _cells(opened, path) == before
    expect(opened.locator(".jp-Dialog")).to_have_count(0)


def _take_a_hint(keys, form):
    """The first hint for the test, whose button tells what it costs."""
    button = form.get_by_role("button", name=re.compile("^Show the first hint"))
    offer = button.inner_text()
    assert "costs 20 %" in student.plain_text(button)
    keys.tab_to(offer.strip())
    keys.press("Enter")
    expect(form.locator(".cb-remarks .cb-remark").last).to_contain_text(
        "4 in the control circuit"
    )


@pytest.mark.parametrize("predicted", [2], indirect=True)
def test_graded_exercise_says_nothing_of_right_and_wrong(predicted):
    """Without feedback the page gives readings and nothing else."""
    student.do_test(predicted, TITLES["coil_resistance"], "expected")
    student.record_finding(predicted, "low", text_of("coil_resistance", REVERSED))
    student.conclude(predicted, CAUSES[0], CORRECTIONS[0])
    student.verify(predicted, AFTER, "5 V")
    expect(predicted.locator(".cb-remark")).to_have_count(0)


@pytest.mark.parametrize(
    ("label", "typed", "value"), [(COIL, "350 mA", 0.35), (LOAD, "12,5 A", 12.5)]
)
def test_typed_number_arrives_as_echoed(opened, label, typed, value):
    """What is typed key by key is echoed, then recorded raw and parsed."""
    form = student.exercise(opened, 3)
    field = _number_field(form, label)
    field.press_sequentially(typed)
    expect(form.locator(".cb-echo.cb-right")).to_contain_text(
        f"Read as {typed.replace(',', '.')}"
    )
    field.press("Enter")
    expect(form.locator(".cb-answer").last).to_contain_text(f"You wrote “{typed}”")
    line = student.download_hand_in(opened, form)[1][-1]
    assert (line["raw"], line["value"], line["unit"]) == (typed, value, "A")


def test_number_is_not_recorded_before_its_echo(opened):
    """Enter right after the last key shows the echo and asks once more."""
    form = student.exercise(opened, 4)
    field = _number_field(form)
    # In one go: on a busy machine the echo could come before another key.
    field.evaluate(
        """(field) => {
          field.value = "12,2 A";
          field.dispatchEvent(new Event("input"));
          field.form.requestSubmit();
        }"""
    )
    said = form.locator(".cb-said", has_text="Press the button again")
    expect(said).to_be_visible()
    field.press("Enter")
    expect(student.status(form)).to_contain_text("Recorded")


def test_ambiguous_number_is_asked(opened):
    """Two buttons offer the two readings, and the chosen one is echoed."""
    form = student.exercise(opened, 5)
    group = form.get_by_role("group", name=LOAD, exact=True)
    _number_field(form).fill("1,234 A")
    group.get_by_role("button", name="1.2340 A", exact=True).click()
    expect(group.locator(".cb-echo")).to_contain_text("Read as 1.234 A")
    expect(_number_field(form)).to_be_focused()


@pytest.mark.parametrize("predicted", [6], indirect=True)
def test_keys_on_controls_stay_in_the_form(opened, server, workbook_path, predicted):
    """Arrows move the choice, letters type; no cell is moved, added or deleted."""
    path = server.folder / workbook_path
    form, before = predicted, _cells(opened, path)
    option = student.option_of(form, TITLES["control_current"])
    option.get_by_role("radio").first.check()
    _press(opened, "ArrowDown", "ArrowDown", "a", "b", "d", "d", "x", "0", "0")
    expect(form.get_by_role("radio", name="Load current with")).to_be_checked()
    form.get_by_role("radio", name="low", exact=True).check()
    form.get_by_role("button", name="Do this test").press("Enter")
    expect(form.locator(".cb-reading")).to_be_visible()
    _press(opened, "d", "d", "a", "ArrowUp")
    student.record_finding(form, "expected", text_of("load_current_bridged", RIGHT))
    form.get_by_label("Cause").focus()
    _press(opened, "d", "d", "ArrowDown", "ArrowDown")
    expect(form.get_by_label("Cause")).not_to_have_value("")
    form.locator(".cb-number").click()
    _press(opened, "d", "d", "b")
    assert _cells(opened, path) == before
    assert opened.locator(".jp-Dialog").count() == 0


@pytest.mark.parametrize("predicted", [7], indirect=True)
def test_every_focusable_element_keeps_its_keys(opened, predicted):
    """Nothing in the form can have the focus without holding Jupyter's keys off."""
    student.do_test(predicted, TITLES["coil_resistance"], "expected")
    focusable = "a[href],button,input,select,textarea,summary,[tabindex]"
    unmarked = opened.locator(
        f".cb-root :is({focusable}):not([data-lm-suppress-shortcuts='true'])"
    )
    expect(unmarked).to_have_count(0)


@pytest.mark.nightly
@pytest.mark.parametrize("predicted", [8], indirect=True)
def test_reload_midway_brings_answers_back(opened, server, workbook_path, predicted):
    """After a reload of the page every recorded step is there again."""
    student.do_test(predicted, TITLES["load_current_bridged"], "expected")
    opened.reload()
    student.wait_for_kernel(opened, server, workbook_path)
    form = student.exercise(opened, 8)
    expect(form.locator(".cb-answer")).to_have_count(2)
    expect(form.locator(".cb-display")).to_have_text("122.4 mV")
    student.record_finding(form, "expected", text_of("load_current_bridged", RIGHT))


@pytest.mark.nightly
def test_dead_kernel_is_told_and_the_hand_in_still_downloads(
    opened, server, workbook_path
):
    """Without its kernel the page says NOT recorded and makes the hand-in itself.

    That keeps nobody out. It comes last, since it leaves another kernel behind.
    """
    form = student.exercise(opened, 9)
    student.record_prediction(form, COIL, "148 mA")
    _number_field(form).fill("12,2 A")
    expect(form.locator(".cb-echo.cb-right")).to_contain_text("Read as 12.2 A")
    server.signal_kernel(workbook_path, signal.SIGKILL)
    # Not by a key: Jupyter's own word of the dead kernel may have taken the focus.
    _number_field(form).evaluate("field => field.form.requestSubmit()")
    expect(student.status(form)).to_contain_text("NOT recorded")
    expect(form.locator(".cb-said", has_text="NOT recorded")).to_be_visible()
    student.dismiss_dialog(opened)
    assert axe.faults(opened, ".cb-root[aria-label^='Exercise 9 ']") == []
    _, (header, *lines) = student.download_hand_in(opened, form)
    assert header["kind"] == "hand-in"
    assert lines == _journal_lines(server.folder / workbook_path)
    student.wait_for_kernel(opened, server, workbook_path)
    student.run_all(opened)
    expect(form.locator(".cb-answer")).to_contain_text("You wrote “148 mA”")
    student.record_prediction(form, LOAD, "12,2 A")
