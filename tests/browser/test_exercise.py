"""Exercises done in JupyterLab."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser import page as student
from tests.workbook.sample import CAUSES, CORRECTIONS, HEADER

COIL = "Control current with the relay commanded on"
LOAD = "Load current with the fan running"
AFTER = "What will the clamp read on its 10 mV/A scale after the repair?"


@pytest.fixture
def opened(page, server, workbook_path):
    """The sample workbook in JupyterLab, its cells run."""
    student.open_workbook(page, server, workbook_path)
    return page


def _cells(page):
    return page.locator(".jp-NotebookPanel .jp-Cell").count()


def test_whole_exercise_by_mouse_and_keyboard(opened):
    """A student comes to the end and downloads every step as a hand-in."""
    form = student.exercise(opened, 1)
    assert student.record_prediction(form, COIL, "148 mA") == "Read as 148 mA"
    assert student.record_prediction(form, LOAD, "12,2 A") == "Read as 12.2 A"
    assert student.do_test(form, "Voltage at 85", "low") == "12.58 V"
    student.record_finding(form, "supply voltage")
    expect(form).to_contain_text("2 of 8 causes still fit.")
    student.do_test(form, "Voltage at the module", "none")
    student.record_finding(form, "none")
    student.conclude(form, CAUSES[2], CORRECTIONS[2])
    expect(form).to_contain_text("Cause and correction are right.")
    student.verify(form, AFTER, "122 mV")
    name, (header, *lines) = student.download_hand_in(opened, form)
    assert (name, header["kind"]) == (f"hand-in-{HEADER}.jsonl", "hand-in")
    kinds = ["journal", "prediction", "prediction", "test", "finding", "test"]
    rest = ["finding", "conclusion", "verification"]
    assert [line["kind"] for line in lines] == kinds + rest
    expect(form).to_contain_text("8 steps recorded, all in your last hand-in file.")


def test_graded_exercise_says_nothing_of_right_and_wrong(opened):
    """Without feedback the page gives readings and nothing else."""
    form = student.exercise(opened, 2)
    student.record_prediction(form, COIL, "999 A")
    student.record_prediction(form, LOAD, "1 A")
    student.do_test(form, "Coil resistance", "expected")
    student.record_finding(form, "low")
    student.conclude(form, CAUSES[0], CORRECTIONS[0])
    student.verify(form, AFTER, "5 V")
    expect(form.locator(".cb-remark")).to_have_count(0)


@pytest.mark.parametrize(
    ("typed", "read"),
    [("12,5 A", "Read as 12.5 A"), ("350 mA", "Read as 350 mA")],
)
def test_typed_number_arrives_as_echoed(opened, typed, read):
    """What is typed key by key is echoed, then recorded raw and parsed."""
    form = student.exercise(opened, 1)
    field = form.get_by_role("group", name=LOAD, exact=True).get_by_role("textbox")
    field.press_sequentially(typed)
    expect(form.locator(".cb-echo.cb-right")).to_contain_text(read)
    field.press("Enter")
    expect(form.locator(".cb-answer")).to_contain_text(f"You wrote “{typed}”")
    line = student.download_hand_in(opened, form)[1][-1]
    value = 12.5 if typed == "12,5 A" else 0.35
    assert (line["raw"], line["value"], line["unit"]) == (typed, value, "A")


def test_number_is_not_recorded_before_its_echo(opened):
    """Enter right after the last key shows the echo and asks once more."""
    form = student.exercise(opened, 1)
    field = form.get_by_role("group", name=LOAD, exact=True).get_by_role("textbox")
    field.fill("12,2 A")
    field.press("Enter")
    expect(form.locator(".cb-said")).to_contain_text(["Press the button again"])
    field.press("Enter")
    expect(student.status(form)).to_contain_text("Recorded")


def test_ambiguous_number_is_asked(opened):
    """Two buttons offer the two readings, and the chosen one is echoed."""
    form = student.exercise(opened, 1)
    group = form.get_by_role("group", name=LOAD, exact=True)
    group.get_by_role("textbox").fill("1,234 A")
    group.get_by_role("button", name="1.2340 A", exact=True).click()
    expect(group.locator(".cb-echo")).to_contain_text("Read as 1.234 A")


def test_keys_on_controls_stay_in_the_form(opened):
    """Arrows move the choice, letters type; no cell is moved, added or deleted."""
    form = student.exercise(opened, 1)
    student.record_prediction(form, COIL, "148 mA")
    student.record_prediction(form, LOAD, "12.2 A")
    before = _cells(opened)
    form.get_by_role("radio", name="Control current").check()
    for key in ("ArrowDown", "ArrowDown", "a", "b", "d", "d", "x", "0", "0"):
        opened.keyboard.press(key)
    expect(form.get_by_role("radio", name="Load current with")).to_be_checked()
    form.get_by_role("radio", name="low", exact=True).check()
    form.get_by_role("button", name="Do this test").press("Enter")
    for key in ("d", "d", "a", "ArrowUp"):
        opened.keyboard.press(key)
    student.record_finding(form, "expected")
    form.get_by_label("Cause").focus()
    for key in ("d", "d", "ArrowDown", "ArrowDown"):
        opened.keyboard.press(key)
    expect(form.get_by_label("Cause")).not_to_have_value("")
    form.locator(".cb-count").click()
    for key in ("d", "d", "b"):
        opened.keyboard.press(key)
    assert _cells(opened) == before
    assert opened.locator(".jp-Dialog").count() == 0


def test_every_focusable_element_keeps_its_keys(opened):
    """Nothing in the form can have the focus without holding Jupyter's keys off."""
    form = student.exercise(opened, 1)
    student.record_prediction(form, COIL, "148 mA")
    student.record_prediction(form, LOAD, "12.2 A")
    student.do_test(form, "Coil resistance", "expected")
    focusable = "a[href],button,input,select,textarea,summary,[tabindex]"
    unmarked = form.locator(
        f":is({focusable}):not([data-lm-suppress-shortcuts='true'])"
    )
    expect(unmarked).to_have_count(0)


def test_reload_midway_brings_answers_back(opened, server, workbook_path):
    """After a reload of the page every recorded step is there again."""
    form = student.exercise(opened, 1)
    student.record_prediction(form, COIL, "148 mA")
    student.record_prediction(form, LOAD, "12,2 A")
    student.do_test(form, "Load current with terminals", "expected")
    student.open_workbook(opened, server, workbook_path)
    form = student.exercise(opened, 1)
    expect(form.locator(".cb-answer")).to_have_count(2)
    expect(form.locator(".cb-display")).to_have_text("122.4 mV")
    student.record_finding(form, "expected")


def test_dead_kernel_is_told_and_the_hand_in_still_downloads(
    opened, server, workbook_path
):
    """Without a kernel the page says NOT recorded and makes the hand-in itself."""
    form = student.exercise(opened, 1)
    student.record_prediction(form, COIL, "148 mA")
    group = form.get_by_role("group", name=LOAD, exact=True)
    group.get_by_role("textbox").fill("12,2 A")
    expect(group.locator(".cb-echo")).to_contain_text("Read as 12.2 A")
    server.stop_kernel(workbook_path)
    group.get_by_role("textbox").press("Enter")
    expect(student.status(form)).to_contain_text("NOT recorded", timeout=6000)
    expect(group.locator(".cb-said")).to_contain_text("NOT recorded")
    _, lines = student.download_hand_in(opened, form)
    kinds = [line["kind"] for line in lines]
    assert kinds == ["hand-in", "journal", "prediction"]
    expect(student.status(form)).to_contain_text(re.compile("with 1 recorded step"))
