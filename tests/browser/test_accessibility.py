"""Workbooks for everybody: WCAG 2.2 AA, by keyboard alone, without any picture.

The keyboard's whole exercise is in test_exercise.py.

References
----------
W3C, Web Content Accessibility Guidelines 2.2 (2023): 1.4.10 reflow at 320 CSS pixels,
2.1.1 keyboard, 2.4.7 focus visible, 2.5.8 target size of 24 pixels; from memory.
"""

import re

import pytest
from playwright.sync_api import expect

from generator.sets.class_set import open_key
from tests.browser import axe, key_work
from tests.browser import page as student
from tests.browser.conftest import ADA, NARROW, WIDE
from tests.browser.every_kind import EXERCISES, FIRST, GIVEN, KINDS
from tests.keys import content_of

pytestmark = pytest.mark.nightly

THEMES = {"JupyterLab Light": "true", "JupyterLab Dark": "false"}
REFUSED = ("branches", "drops", "write-up")  # asked in menus, lines, orders and numbers
LEAST_PX = 24


class Look:
    """A student's workbook in Notebook 7, and how it is looked at."""

    def __init__(self, page, records):
        self.page, self.records = page, records

    def change(self, theme, size):
        """Change to a theme and a size of the window."""
        self.page.set_viewport_size(size)
        self.page.wait_for_function(axe.FOLLOWED)
        is_light = self.page.locator("body").get_attribute("data-jp-theme-light")
        if is_light != THEMES[theme]:
            self.page.evaluate(_CHOOSE, theme)
        self.page.locator(f"body[data-jp-theme-light={THEMES[theme]}]").wait_for(
            state="attached"
        )

    def faults(self, *places):
        """What axe-core finds there, and what of ours is too wide or too small."""
        found = axe.faults(self.page, *places)
        return found + self.page.evaluate(_OURS, [".cb-root", LEAST_PX])

    def faults_in_views(self, *places):
        """The same in one view after the other; it ends with the narrow one."""
        found = []
        for view in ("wide and light", "narrow and dark"):
            self.change(*VIEWS[view])
            found += self.faults(*places)
        return found


_CHOOSE = """(theme) =>
  jupyterapp.commands.execute("apputils:change-theme", { theme })"""
# Controls that are hard to hit; the label of a radio belongs to it.
_OURS = """([forms, least]) => [...document.querySelectorAll(forms)].flatMap((root) => [
  ...(root.scrollWidth > root.clientWidth + 1
    ? [`${root.ariaLabel} scrolls sideways`] : []),
  ...[...root.querySelectorAll("button,input,select,summary")]
    .map((one) => [one, (one.closest("label") ?? one).getBoundingClientRect()])
    .filter(([, box]) => box.width && (box.width < least || box.height < least))
    .map(([one, box]) => `${one.outerHTML} ${box.width} x ${box.height}`),
])"""

VIEWS = {
    "narrow and dark": ("JupyterLab Dark", NARROW),
    "wide and light": ("JupyterLab Light", WIDE),
}


@pytest.fixture
def look(notebook_tab, server, every_kind):
    """A workbook in the view in which most is drawn by rules of its own."""
    path = every_kind.workbook_file(ADA).relative_to(server.folder)
    notebook_tab.set_viewport_size(NARROW)
    student.show_workbook(notebook_tab, server, path, "notebooks")
    student.exercise(notebook_tab, EXERCISES)
    content = content_of([*open_key(every_kind)[1].whole])
    records = {r["exercise"]: r for r in content if r["student"] == ADA}
    shown = Look(notebook_tab, records)
    shown.change(*VIEWS["narrow and dark"])
    return shown


def form_selector(number):
    """Where the form of an exercise is."""
    return f".cb-root[aria-label^='Exercise {number} ']"


def test_first_look_keeps_nobody_out(look):
    """Lessons, diagrams and every kind of form: untouched, begun, or with a refusal.

    Each kind in one of two views, which take the same rules of style.
    """
    page = look.page
    for kind in REFUSED:
        form = student.exercise(page, KINDS.index(kind) + 2)
        form.get_by_role("button", name="Record", exact=True).first.click()
        expect(student.status(form)).to_contain_text("Answer first")
    for first, view in enumerate(VIEWS, 1):
        look.change(*VIEWS[view])
        for number in range(first, EXERCISES + 1, 2):
            form = student.exercise(page, number)
            assert look.faults(form_selector(number)) == []
            expect(form.locator(".cb-diagram svg[aria-describedby]")).to_have_count(1)
    assert look.records[GIVEN]["given"]
    student.go_to_beginning(page)
    text = page.locator(".jp-RenderedMarkdown:visible")
    text.locator("details").evaluate_all(_OPEN)
    expect(text.locator("table:visible").first).to_be_visible()
    assert look.faults_in_views(".cb-root", ".jp-RenderedMarkdown") == []
    wide = text.evaluate_all(
        "all => all.filter((each) => each.scrollWidth > each.clientWidth + 1)"
        ".map((each) => each.innerText)"
    )
    assert wide == []
    assert _moving(page) == 0


def test_everything_is_on_paper(look):
    """All exercises, each with its diagram, and nothing of it twice."""
    page = look.page
    student.exercise(page, EXERCISES)
    page.emulate_media(media="print")
    page.wait_for_function(_ARE_DRAWN)
    drawn = page.locator(".jp-RenderedMarkdown img:visible")
    told = drawn.evaluate_all("all => all.map((one) => one.alt)")
    assert len(told) >= EXERCISES
    assert min(map(len, told)) > 40
    expect(page.locator(".cb-root:visible")).to_have_count(EXERCISES)
    expect(page.locator(".cb-root :is(.cb-beside, button):visible")).to_have_count(0)
    page.emulate_media(media="null")


_OPEN = "all => all.forEach((each) => { each.open = true; })"
_ARE_DRAWN = """() => [...document.querySelectorAll(".jp-RenderedMarkdown img")]
  .every((image) => image.naturalWidth > 0)"""


def _moving(page):
    """How much moves by itself: an animation or transition of ours."""
    return page.evaluate(
        """() => [...document.querySelectorAll(".cb-root *")].filter((each) => {
          const { animationName, transitionDuration } = getComputedStyle(each);
          return animationName !== "none" || parseFloat(transitionDuration) > 0;
        }).length"""
    )


def test_diagnosis_keeps_nobody_out_and_is_told_in_words(look):
    """From the first look to the hand-in, with the screen of a scope on the way.

    Everything that is needed is in the names and texts that a reader speaks.
    """
    page, record, place = look.page, look.records[FIRST], form_selector(FIRST)
    form = student.exercise(page, FIRST)
    _see_that_it_is_told(page, record)
    key_work.predict(form, record, wrong=("load_current",))
    planned = key_work.planned(record, key_work.all_causes(record))
    scope = next(test for test in record["tests"] if test["id"] == "scope_turn_off")
    form.get_by_role("button", name=re.compile("^Show the first hint")).click()
    student.option_of(form, scope["title"]).get_by_role("radio").first.check()
    assert look.faults(place) == []
    student.do_test(form, scope["title"], scope["sound_outcome"])
    _see_the_screen(page, form)
    # In a narrow window the words in the picture are too small.
    expect(form.locator(".cb-screen figcaption")).to_be_visible()
    assert look.faults_in_views(place) == []
    student.record_finding(form, scope["outcome"], student.proof_of(scope))
    for test in planned:
        if test["id"] != scope["id"]:
            _do_by_words(form, test)
    key_work.finish(form, record)
    student.download_hand_in(page, form)
    assert "Cause and correction are right." in form.aria_snapshot()
    assert look.faults_in_views(place) == []
    assert _moving(page) == 0


def _see_that_it_is_told(page, record):
    """The diagram with words and as a table, and the specification."""
    form = student.exercise(page, record["exercise"])
    diagram = form.locator(".cb-diagram svg")
    assert "Wiring diagram" in diagram.get_attribute("aria-label")
    alt = form.locator(f"#{diagram.get_attribute('aria-describedby')}")
    assert len(alt.text_content()) > 40
    spoken = "\n".join(_panels(form))
    table = spoken[spoken.index("- table") :]
    for terminal in ("30", "85", "86", "87"):
        assert re.search(rf"terminal {terminal}\b", table), terminal
    assert record["circuit"]["branches"]
    for row in record["specification"]:
        assert f"{row['quantity']} " in spoken


def _panels(form):
    """What each panel says, opened one after the other where they lie over the step."""
    tabs = form.get_by_role("group", name="Look up").get_by_role("button")
    is_over = tabs.first.is_visible()
    for tab in tabs.all() if is_over else [None]:
        if tab:
            tab.click()
        for fold in form.locator(".cb-panel summary:visible").all():
            fold.click()
        yield form.locator(".cb-beside").aria_snapshot()
        if tab:
            tab.click()


def _see_the_screen(page, form):
    """The trace of a scope is drawn, and told in words besides."""
    image = form.locator(".cb-screen img")
    expect(image).to_have_attribute("alt", re.compile(r"at the end of .*V\.$"))
    page.wait_for_function(
        "() => document.querySelector('.cb-screen img')?.naturalWidth > 0"
    )


def _do_by_words(form, test):
    """Do a test as one who hears its name and its reading."""
    student.option_of(form, test["title"])
    title = student.short_title(form, test["title"])
    assert f'radio "{title}' in form.aria_snapshot()
    student.do_test(form, test["title"], test["sound_outcome"])
    reading = form.get_by_role("group", name=test["title"], exact=True)
    told = reading.aria_snapshot()
    # A fuse that came out is a sentence of its own.
    assert all(part in told for part in test["display"].split("; "))
    student.record_finding(form, test["outcome"], student.proof_of(test))
