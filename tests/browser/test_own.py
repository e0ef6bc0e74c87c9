"""What stands apart from the steps: notes, once more from the start, printing."""

import re

import pytest
from playwright.sync_api import expect

from tests.absent import library
from tests.browser import axe
from tests.browser import page as student
from tests.browser.conftest import WIDE

# Stands for the browser's print dialogue: what would be printed is left as it is.
_KEEP_MARKS = """() => {
  window.print = () => {
    window.unprinted = [...document.querySelectorAll(".clampbook-unprinted")];
  };
}"""
_MARK_AGAIN = """() => {
  for (const cell of window.unprinted) cell.classList.add("clampbook-unprinted");
}"""


def _printed(page):
    """The words of each sheet that a page is printed on."""
    pdf = library("pypdfium2").PdfDocument(page.pdf(format="A4"))
    words = [sheet.get_textpage().get_text_range() for sheet in pdf]
    pdf.close()
    return words


def _own(form):
    own = form.locator(".cb-own")
    if own.get_attribute("open") is None:
        own.locator("summary").click()
    return own


@pytest.fixture(scope="module")
def opened(notebook_tab, server, new_workbook):
    """A workbook of two exercises in Notebook 7."""
    notebook_tab.set_viewport_size(WIDE)
    path = new_workbook(2)
    student.open_workbook(notebook_tab, server, path, "notebooks")
    return notebook_tab


def test_notes_are_kept_and_an_exercise_is_begun_once_more(opened):
    """The journal has both ways and the note; what is shown is of the last one."""
    form = student.exercise(opened, 1)
    own = _own(form)
    expect(own.get_by_role("button", name="Once more")).to_have_count(0)
    student.type_all(opened, {0: "148 mA"})
    form.get_by_role("button", name="Record").first.click()
    expect(form.locator(".cb-answer")).to_have_count(1)
    own.get_by_label("Notes for yourself").fill("coil?\nF1")
    own.get_by_role("button", name="Keep the notes").click()
    expect(student.status(form)).to_contain_text(student.RECORDED)
    own.get_by_role("button", name="Once more from the start").click()
    assert axe.faults(opened, ".cb-own") == []
    own.get_by_role("button", name="Yes, begin once more").click()
    expect(form.locator(".cb-answer")).to_have_count(0)
    expect(own).to_contain_text("the last one counts")
    expect(own.get_by_label("Notes for yourself")).to_have_value("coil?\nF1")
    _, lines = student.download_hand_in(opened, form)
    kinds = [line["kind"] for line in lines]
    assert kinds == ["hand-in", "journal", "prediction", "note", "restart"]


def test_page_prints_over_whole_sheets(opened):
    """All exercises, or one with its circuit; nothing ends where the window does."""
    form = student.exercise(opened, 1)
    everything = "\n".join(_printed(opened))
    for number in (1, 2):
        assert re.search(rf"Exercise {number}\b", everything)
        assert everything.count("4. Verify the repair") == 2
    opened.evaluate(_KEEP_MARKS)
    _own(form).get_by_role("button", name="Print this exercise").click()
    opened.evaluate(_MARK_AGAIN)
    one = "\n".join(_printed(opened))
    assert one.count("4. Verify the repair") == 1
    assert len(one) < len(everything)
