"""A set in two languages: each student changes between them."""

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.sets.set_writing import write_class_set
from tests.browser import page as student
from tests.browser.conftest import ADA, WIDE
from tests.browser.site import READY_MS
from tests.drawn import SECRET

pytestmark = pytest.mark.nightly

ASKED = Request(
    lessons=("mixed-diagnosis",),
    students=(Student(id=ADA, name="Ada"),),
    exercises=1,
    mode="practice",
    also_in=("de",),
)

_CHANGE = "() => document.querySelector('.jp-Cell a[href*=\".de.ipynb\"]').click()"


def test_what_was_done_is_there_in_the_other_language(notebook_tab, server):
    """In Notebook 7: the same page turns to German, with the answers recorded."""
    made = write_class_set(server.folder / "two languages", ASKED, secret=SECRET)
    path = made.workbook_file(ADA).relative_to(server.folder)
    page = notebook_tab
    page.set_viewport_size(WIDE)
    student.open_workbook(page, server, path, "notebooks")
    form = student.exercise(page, 1)
    own = form.locator(".cb-own")
    own.locator("summary").click()
    own.get_by_label("Notes for yourself").fill("Spule?")
    own.get_by_role("button", name="Keep the notes").click()
    expect(student.status(form)).to_contain_text(student.RECORDED)
    page.evaluate(_CHANGE)
    german = page.locator(".cb-root[lang=de]")
    german.wait_for(state="attached", timeout=READY_MS)
    expect(page.locator("html")).to_have_attribute("lang", "de")
    note = german.locator(".cb-own textarea")
    expect(note).to_have_value("Spule?")
