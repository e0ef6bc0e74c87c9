"""Setting up and measuring where a module switches the load itself, on the page."""

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from tests.browser import axe
from tests.browser import page as student
from tests.browser.conftest import ADA
from tests.browser.test_bench import (
    DESKTOP,
    FORM,
    MILLIVOLTS,
    begun,
    find,
    measure,
    put,
)
from tests.drawn import SECRET
from tests.keys import content_of

pytestmark = pytest.mark.nightly


@pytest.fixture(scope="module")
def class_set(server):
    """A practice set of one student, behind smart switches alone."""
    request = Request(
        lessons=("smart-switches",),
        students=(Student(id=ADA, name="Ada"),),
        exercises=8,
        mode="practice",
    )
    return write_class_set(server.folder / "SMART", request, secret=SECRET)


@pytest.fixture(scope="module")
def record(class_set):
    """The key record of her first diagnosis with nothing done for her."""
    content = content_of([*open_key(class_set)[1].whole])
    whole = [r for r in content if r["kind"] == "diagnosis" and r["given"] is None]
    return next(r for r in whole if r["lesson"] == "smart-switches")


def test_current_is_measured_past_the_switch(notebook_tab, server, class_set, record):
    """Its module unplugged, a jumper from B1 to Q1, the clamp at the fuse."""
    path = class_set.workbook_file(ADA).relative_to(server.folder)
    notebook_tab.set_viewport_size(DESKTOP)
    student.show_workbook(notebook_tab, server, path, "notebooks")
    form = begun(notebook_tab, record)
    put(form, "enable", "No demand")
    put(form, "module", "Unplug it, with a fused jumper B1–Q1")
    put(form, "load_fuse", "Clamp around it")
    form.get_by_label("Scale", exact=True).select_option(value="10")
    expect(form.locator(".cb-told")).to_contain_text("fused jumper from B1 to Q1")
    expect(form).to_contain_text("Bridge only B1 and Q1 in the plug of")
    # The same as a test of the list, under its name.
    expect(form.locator(".cb-set-up strong")).to_contain_text("from B1 to Q1")
    instruments = form.get_by_role("group", name="Instrument", exact=True)
    expect(instruments.get_by_role("radio", name="scope")).to_have_count(0)
    assert axe.faults(notebook_tab, FORM) == []
    measure(form, MILLIVOLTS)
    find(form)
    put(form, "30", "Plus lead", "A")
    put(form, "87", "Minus lead", "A")
    expect(form.locator(".cb-signs text").first).to_be_visible()
