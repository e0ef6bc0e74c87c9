"""Setting up and measuring on the page: by mouse, by touch, by keyboard alone."""

import re

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from tests.browser import axe, key_work
from tests.browser import page as student
from tests.browser.conftest import ADA
from tests.browser.keys import Keys, press_and_see
from tests.drawn import SECRET
from tests.keys import content_of

pytestmark = pytest.mark.nightly

DESKTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844}
FORM = ".cb-root:not(.clampbook-away *)"
VOLTS = re.compile(r"\d m?V$")
MILLIVOLTS = re.compile(r"\d mV$")


@pytest.fixture(scope="module")
def class_set(server):
    """A practice set of one student; every other exercise asks for branches."""
    request = Request(
        lessons=("two-circuits",),
        students=(Student(id=ADA, name="Ada"),),
        exercises=10,
        mode="practice",
    )
    return write_class_set(server.folder / "BENCH", request, secret=SECRET)


@pytest.fixture(scope="module")
def records(class_set):
    """Her key records of diagnoses with nothing done for her; the last is unlisted."""
    content = content_of([*open_key(class_set)[1].whole])
    return [r for r in content if r["kind"] == "diagnosis" and r["given"] is None]


@pytest.fixture
def page(notebook_tab, server, class_set):
    """The workbook in Notebook 7."""
    path = class_set.workbook_file(ADA).relative_to(server.folder)
    notebook_tab.set_viewport_size(DESKTOP)
    student.show_workbook(notebook_tab, server, path, "notebooks")
    return notebook_tab


def begun(page, record):
    """The form of an exercise at its first choice."""
    form = student.exercise(page, record["exercise"])
    key_work.predict(form, record)
    return form


def put(form, at, what, of="", *, press="click"):
    """Point at a place of the diagram, and take what is offered there."""
    getattr(form.locator(f".cb-offering[data-at='{at}']"), press)()
    button = form.locator(".cb-offer").get_by_role("button", name=f"{what}: {of}")
    getattr(button.first, press)()


def measure(form, display, *, press="click"):
    """Expect something, measure, and see what the meter displays."""
    asked = form.get_by_role("group", name="In a sound circuit it would read")
    getattr(asked.get_by_role("radio").first, press)()
    getattr(form.get_by_role("button", name="Measure", exact=True), press)()
    expect(form.locator(".cb-display").first).to_have_text(display)


def find(form):
    """Say something to the reading, so that the next can be taken."""
    finding = form.get_by_role("group", name="Your finding")
    for group in finding.get_by_role("group").all():
        group.get_by_role("radio").first.check()
    finding.get_by_role("button", name="Record finding").click()
    expect(finding).to_be_hidden()


def test_drop_and_current_are_measured_with_the_mouse(page, records):
    """Leads and clamp are put where the diagram is pointed at, and stay there."""
    form = begun(page, records[0])
    put(form, "enable", "Output test")
    put(form, "30", "Plus lead", "K")
    put(form, "87", "Minus lead", "K")
    expect(form.locator(".cb-set-up")).to_contain_text("min: ")
    expect(form.locator(".cb-signs text")).to_have_text(["T", "+", "−"])
    button = form.get_by_role("button", name="Measure", exact=True)
    expect(button).to_be_in_viewport()
    assert form.locator(".cb-bench").bounding_box()["height"] < DESKTOP["height"]
    assert axe.faults(page, FORM) == []
    measure(form, VOLTS)
    find(form)
    # All stands as it was left.
    expect(form.get_by_label("Minus lead on", exact=True)).to_have_value("87")
    put(form, "load_fuse", "Clamp around it")
    form.get_by_label("Scale", exact=True).select_option(value="10")
    expect(form.locator(".cb-told")).to_contain_text("fused lead in place of")
    measure(form, MILLIVOLTS)


def test_drop_is_measured_by_keyboard_alone(page, records):
    """In the menus, of which the diagram shows what is chosen."""
    form = begun(page, records[1])
    keys = Keys(page, form)
    keys.tab_to("switched on")
    keys.choose("output test")
    points = form.get_by_label("Plus lead on", exact=True)
    names = {each: points.locator(f"option[value='{each}']") for each in ("30", "87")}
    keys.select("Plus lead on", names["30"].text_content())
    keys.select("Minus lead on", names["87"].text_content())
    expect(form.locator(".cb-signs text")).to_have_text(["T", "+", "−"])
    word = form.locator(".cb-set-up + div .cb-label").first
    keys.tab_to(word.inner_text())
    keys.press("Space")
    keys.tab_to("Measure")
    title = form.locator(".cb-set-up strong").inner_text()
    press_and_see(keys, form, "Enter", title)
    expect(form.locator(".cb-display").first).to_have_text(VOLTS)


def test_drop_is_measured_by_touch(browser, server, class_set, records):
    """On a phone, where the diagram lies over the step; without a list, too."""
    path = class_set.workbook_file(ADA).relative_to(server.folder)
    context = browser.new_context(viewport=PHONE, has_touch=True)
    page = context.new_page()
    student.open_workbook(page, server, path, "notebooks")
    form = begun(page, records[-1])
    expect(form.locator(".cb-tests")).to_have_count(0)
    form.get_by_role("button", name="Diagram", exact=True).tap()
    put(form, "30", "Plus lead", "K", press="tap")
    next_ = form.locator(".cb-go-on")
    expect(next_).to_have_text("Choose where the minus lead goes.")
    put(form, "87", "Minus lead", "K", press="tap")
    assert axe.faults(page, FORM) == []
    form.get_by_role("button", name="Go on: what do you expect?").tap()
    asked = form.get_by_role("group", name="In a sound circuit it would read")
    expect(asked.get_by_role("radio").first).to_be_focused()
    assert form.evaluate("form => form.scrollWidth <= form.clientWidth + 1")
    measure(form, VOLTS, press="tap")
    find(form)
    form.get_by_role("button", name="Diagram", exact=True).tap()
    put(form, "load_fuse", "Clamp around it", press="tap")
    expect(next_).to_have_text("Choose the scale of the clamp.")
    next_.tap()
    expect(form.get_by_label("Scale", exact=True)).to_be_focused()
    context.close()
