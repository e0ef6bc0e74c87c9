"""What stands beside the steps, what the diagram shows, the way through a set."""

import re

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key
from generator.sets.set_writing import write_class_set
from tests.browser import axe, key_work
from tests.browser import page as student
from tests.browser.conftest import ADA
from tests.drawn import SECRET
from tests.keys import content_of

DESKTOP = {"width": 1366, "height": 768}
SMALLEST = {"width": 1000, "height": 700}  # with something beside the steps
PHONE = {"width": 390, "height": 844}
LEAST_LETTER_PX = 12
EXERCISES = 3


@pytest.fixture(scope="module")
def class_set(server):
    """A practice set of one student."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=(Student(id=ADA, name="Ada"),),
        exercises=EXERCISES,
        mode="practice",
    )
    return write_class_set(server.folder / "BESIDE", request, secret=SECRET)


@pytest.fixture(scope="module")
def records(class_set):
    """Her key records by exercise number, of those with nothing done for her."""
    content = content_of([*open_key(class_set)[1].whole])
    return {r["exercise"]: r for r in content if r["given"] is None}


@pytest.fixture
def page(notebook_tab, server, class_set):
    """The workbook in Notebook 7."""
    path = class_set.workbook_file(ADA).relative_to(server.folder)
    notebook_tab.set_viewport_size(DESKTOP)
    student.show_workbook(notebook_tab, server, path, "notebooks")
    _wait_for_one(notebook_tab)
    return notebook_tab


def _wait_for_one(page):
    """Each exercise is put away in the frame after it was drawn, but for one."""
    expect(page.locator(".cb-root")).to_have_count(EXERCISES)
    expect(page.locator(".cb-root:visible")).to_have_count(1)


_SEEN = """(all) => all.map((each) => {
  const { top, bottom, height } = each.getBoundingClientRect();
  const seen = Math.min(bottom, innerHeight) - Math.max(top, 0);
  return seen / Math.min(height, innerHeight);
})"""


def _see_both(form):
    """At least the half of diagram and sheet that has room in the window is seen."""
    shown = form.locator(".cb-diagram-column, .cb-panel[data-panel=sheet]")
    diagram, sheet = shown.evaluate_all(_SEEN)
    assert diagram > 0.5
    assert sheet > 0.3
    wide = form.evaluate("form => form.scrollWidth <= form.clientWidth + 1")
    assert wide


def test_beginning_leads_to_an_exercise_and_back(page):
    """One exercise in view at a time; all others are a click away."""
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.locator(".cb-cover").wait_for()
    assert axe.faults(page, ".cb-cover") == []
    page.get_by_role("button", name="Begin with exercise 1").click()
    expect(page.locator(".cb-root:visible")).to_have_count(1)
    expect(page.get_by_role("heading", level=1)).to_be_hidden()
    shown = page.locator(".cb-root:visible")
    shown.get_by_role("button", name="Next exercise").click()
    expect(shown).to_have_attribute("aria-label", re.compile("^Exercise 2 "))
    expect(shown).to_be_focused()
    shown.get_by_role("button", name="Exercise 2 of 3").click()
    expect(shown.locator(".cb-list-of-all")).to_contain_text("not begun")
    expect(shown.locator(".cb-end")).to_have_text("Still open: exercises 1, 2, 3.")
    assert axe.faults(page, ".cb-way") == []
    page.keyboard.press("Escape")
    shown.get_by_role("button", name="Previous exercise").click()
    shown.get_by_role("button", name="Previous exercise").click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def test_diagram_and_sheet_stay_in_view_at_every_step(page, records):
    """From the first number to the end, also in the smallest window with two columns.

    Readings and what is cleared or suspect are marked on the diagram.
    """
    number, record = next(iter(records.items()))
    form = student.exercise(page, number)
    _see_both(form)
    key_work.predict(form, record)
    done = []
    for test in key_work.planned(record, key_work.all_causes(record)):
        page.set_viewport_size(SMALLEST if done else DESKTOP)
        page.wait_for_function(axe.FOLLOWED)
        student.do_test(form, test["title"], test["sound_outcome"])
        _see_both(form)
        expect(
            form.locator(".cb-signs").locator("path, ellipse, circle")
        ).not_to_have_count(0)
        student.record_finding(form, test["outcome"], student.proof_of(test))
        _see_both(form)
        done.append(test)
    flags = " ".join(form.locator(".cb-flag").all_text_contents())
    assert f"{len(done)}: " in flags
    marks = form.locator(".cb-states text").all_text_contents()
    assert {"✓"} < {*marks} <= {"✓", "?"}
    assert axe.faults(page, ".cb-root:not(.clampbook-away *)") == []
    key_work.finish(form, record)
    expect(form.locator(".cb-onward")).to_contain_text("Still open: exercise")
    form.get_by_role("button", name=f"Exercise {number} of {EXERCISES}").click()
    entry = form.locator(".cb-entry-done")
    expect(entry).to_contain_text("steps not handed in")
    page.keyboard.press("Escape")


def test_page_goes_on_where_it_was_left(page, server, class_set, records):
    """After a reload the exercise of the last step is in view."""
    page.reload()
    path = class_set.workbook_file(ADA).relative_to(server.folder)
    student.wait_for_kernel(page, server, path)
    _wait_for_one(page)
    shown = page.locator(".cb-root:visible")
    expect(shown).to_have_attribute(
        "aria-label", re.compile(f"^Exercise {min(records)} ")
    )


@pytest.fixture
def choosing(page, records):
    """A form at its first choice, in the second exercise with all still to do."""
    number, record = list(records.items())[1]
    form = student.exercise(page, number)
    if form.get_by_role("textbox").count():
        key_work.predict(form, record)
    return form


def test_pointing_at_the_diagram_offers_the_tests_there(page, choosing):
    """By mouse or keyboard; what is chosen is chosen in the list, and shown."""
    spot = choosing.locator(".cb-offering[data-at=load_fuse], [data-at=shared_fuse]")
    name = spot.get_attribute("aria-label")
    assert re.search(r"fuse F\d+: .*tests that can be chosen here: \d", name)
    spot.click()
    offer = choosing.locator(".cb-offer")
    offer.locator("summary").click()
    offer.locator("details button").first.click()
    expect(offer).to_be_hidden()
    chosen = choosing.locator(".cb-option:has(.cb-detail)")
    expect(chosen.get_by_role("radio").first).to_be_focused()
    expect(choosing.locator(".cb-told")).to_contain_text("fuse F")
    first = choosing.locator(".cb-offering[tabindex='0']")
    first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(offer.get_by_role("button").first).to_be_focused()
    assert axe.faults(page, ".cb-diagram:not(.clampbook-away *)") == []
    page.keyboard.press("Escape")
    expect(choosing.locator(".cb-offering:focus")).to_have_count(1)
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(offer).to_be_hidden()
    expect(choosing.locator(".cb-offering:focus")).to_have_count(1)


def test_choosing_takes_no_more_than_a_screen(page, choosing):
    """With any place unfolded, and inside any test that is chosen."""
    height = page.viewport_size["height"]
    fold = choosing.locator(".cb-fold:has(.cb-tests)")
    if fold.get_attribute("open") is None:
        fold.locator("> summary").click()
    for place in choosing.locator(".cb-place").all():
        if place.get_attribute("open") is None:
            place.locator("summary").click()
        form = choosing.locator(".cb-form:has(.cb-tests)")
        step = place.locator(".cb-option").first
        step.get_by_role("radio").first.check()
        assert step.bounding_box()["height"] < height
        step.locator(".cb-detail").evaluate("each => { each.hidden = true; }")
        assert form.bounding_box()["height"] < height + DESKTOP["height"] / 4
        button = step.locator(".cb-detail button")
        step.locator(".cb-detail").evaluate("each => { each.hidden = false; }")
        expect(button).to_have_text("Do this test")


def test_phone_has_all_a_tap_away(page, choosing):
    """Over the step, with letters that can be read, and closed by a tap or Escape."""
    page.set_viewport_size(PHONE)
    page.wait_for_function(axe.FOLLOWED)
    tabs = choosing.get_by_role("group", name="Look up").get_by_role("button")
    expect(tabs).to_have_text(["Diagram", "Sheet", "Places", "Readings"])
    diagram = choosing.locator(".cb-diagram svg")
    expect(diagram).to_be_hidden()
    tabs.nth(0).click()
    expect(diagram).to_be_visible()
    scale = diagram.evaluate("svg => svg.clientWidth / svg.viewBox.baseVal.width")
    assert 17 * scale >= LEAST_LETTER_PX
    before = diagram.bounding_box()["width"]
    choosing.get_by_role("button", name="Larger").click()
    assert diagram.bounding_box()["width"] > before
    assert axe.faults(page, ".cb-beside:not(.clampbook-away *)") == []
    tabs.nth(1).click()
    expect(diagram).to_be_hidden()
    expect(choosing.locator("[data-panel=sheet] table")).to_be_visible()
    page.keyboard.press("Escape")
    expect(choosing.locator("[data-panel=sheet] table")).to_be_hidden()
    expect(tabs.nth(1)).to_be_focused()
    page.set_viewport_size(DESKTOP)
