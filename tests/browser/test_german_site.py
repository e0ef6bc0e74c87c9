"""The site of a German set on a phone: its language, and how much stands above.

References
----------
W3C, Web Content Accessibility Guidelines 2.2 (2023): 3.1.1 language of page, 3.1.2
language of parts, 1.4.10 reflow at 320 CSS pixels, 1.4.4 text of 200 %; from memory.
"""

import shutil

import pytest
from playwright.sync_api import expect

from generator.drawing.request import Request, Student
from generator.sets.set_writing import write_class_set
from lessons.loader import LESSONS_FOLDER
from tests.browser import axe
from tests.browser.conftest import served, site_links
from tests.browser.site import READY_MS
from tests.drawn import SECRET

pytestmark = pytest.mark.nightly

CHANGE = "() => document.querySelector('.jp-Cell a[href*=\".en.ipynb\"]').click()"
# A phone, and what is left of 1280 pixels at a zoom of 200 %.
WIDTHS_PX = (320, 640)
LINES_PX = 60  # two lines of the bar

# Texts that are seen and not marked as English, by words that no German text has.
_ENGLISH = r"""() => {
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const found = [];
  while (walk.nextNode()) {
    const { data, parentElement: holder } = walk.currentNode;
    const isSeen = holder.checkVisibility() && !holder.closest("style, script");
    if (!isSeen || holder.closest("[lang]")?.lang === "en") continue;
    if (/\b(the|and|is|are|of|with|your|this|to|not)\b/i.test(data)) found.push(data);
  }
  return found;
}"""


@pytest.fixture(scope="module")
def link(tmp_path_factory, browser):  # noqa: ARG001 - none without a browser
    """A student's link, beginning with the address of a site that is served."""
    lesson = shutil.copytree(
        LESSONS_FOLDER / "mixed-diagnosis", tmp_path_factory.mktemp("own") / "lesson"
    )
    (lesson / "lesson.de.md").unlink()
    (lesson / "lesson.md").write_text("Look at the fuse of the circuit.", "utf-8")
    request = Request(
        lessons=(str(lesson),),
        students=(Student(id="ada", name="Ada"),),
        exercises=1,
        mode="practice",
        language="de",
        also_in=("en",),
    )
    made = write_class_set(
        tmp_path_factory.mktemp("german") / "SET", request, secret=SECRET
    )
    (link,) = site_links(made)
    with served(made.folder / "site") as address:
        yield link.at(address)


@pytest.fixture(scope="module")
def opened(link, browser):
    """The workbook of a student who comes in by the start page, on a small window."""
    size = {"width": WIDTHS_PX[0], "height": 640}
    with browser.new_context(viewport=size) as context:
        page = context.new_page()
        page.goto(link.address.partition("#")[0])
        expect(page.locator("#checks")).to_contain_text("Ein privates Fenster")
        assert page.locator("html").get_attribute("lang") == "de"
        assert page.evaluate(_ENGLISH) == []
        page.get_by_label("Dein persönlicher Link").fill(link.address)
        page.get_by_role("button", name="Mein Arbeitsheft öffnen").click()
        expect(page.locator("#clampbook-opening")).to_contain_text("Schritt 1 von 4")
        page.locator(".cb-cover[lang=de]").wait_for(timeout=READY_MS)
        expect(page.locator(".clampbook-progress")).to_have_count(0, timeout=READY_MS)
        bar = page.locator(".clampbook-bar")
        expect(bar).to_contain_text("Antworten bleiben nur in diesem Browser.")
        yield page


def test_what_is_not_german_is_marked_as_english(opened):
    """Of all that is seen, only a lesson of the author's own is, and it says so."""
    assert opened.locator("html").get_attribute("lang") == "de"
    opened.set_viewport_size({"width": WIDTHS_PX[0], "height": 6000})
    own = opened.locator(".jp-RenderedMarkdown [lang=en]")
    expect(own).to_contain_text("Look at the fuse")
    assert opened.evaluate(_ENGLISH) == []


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_workbook_keeps_nobody_out_in_the_theme_of_the_computer(opened, theme):
    """Text, diagram and form are as light or dark as all else, and as easy to read."""
    opened.emulate_media(color_scheme=theme)
    is_light = str(theme == "light").lower()
    opened.locator(f"body[data-jp-theme-light={is_light}]").wait_for(state="attached")
    opened.set_viewport_size({"width": WIDTHS_PX[0], "height": 640})
    assert axe.faults(opened, ".jp-RenderedMarkdown", ".cb-root") == []
    opened.get_by_role("button", name="Mit Übung 1 beginnen").click()
    expect(opened.get_by_role("group", name="1. Vorhersagen")).to_be_visible()
    assert opened.evaluate(_ENGLISH) == []
    assert axe.faults(opened, ".cb-root") == []
    opened.get_by_role("button", name="Vorige Übung").click()


_NEARLY_FULL = (
    "navigator.storage.estimate = async () => ({ quota: 20e6, usage: 19e6 });"
)


@pytest.fixture(scope="module")
def second(opened):
    """A second tab with hardly any room left, which has two things to say."""
    with opened.context.new_page() as page:
        page.add_init_script(_NEARLY_FULL)
        page.goto(opened.url)
        cautions = page.locator(".clampbook-caution")
        expect(cautions).to_have_count(2, timeout=READY_MS)
        yield page


@pytest.mark.parametrize("width", WIDTHS_PX)
def test_bar_is_short_until_more_is_asked_for(second, width):
    """The gravest stands there in a few words, all of it behind one button."""
    second.set_viewport_size({"width": width, "height": 640})
    bars = second.locator(".clampbook-bars")
    shown = bars.locator(".clampbook-bar:visible")
    expect(shown).to_have_count(1)
    expect(bars.locator(".clampbook-detail:visible")).to_have_count(0)
    assert bars.bounding_box()["height"] <= LINES_PX
    assert axe.faults(second, ".clampbook-bars") == []
    shown.get_by_role("button", name="Mehr", expanded=False).click()
    expect(bars.get_by_text("Schaffe Platz")).to_be_visible()
    expect(bars.get_by_text("schließe eines davon")).to_be_visible()
    assert bars.evaluate("bars => bars.scrollWidth <= bars.clientWidth")
    assert axe.faults(second, ".clampbook-bars") == []
    bars.get_by_role("button", name="Mehr", expanded=True).click()
    expect(shown).to_have_count(1)


@pytest.mark.release
def test_link_opens_the_language_that_was_chosen(opened, link):
    """Changed once, a link opens it again in that language."""
    opened.evaluate(CHANGE)
    english = opened.locator(".cb-root[lang=en]")
    english.wait_for(state="attached", timeout=READY_MS)
    opened.goto("about:blank")
    opened.goto(link.address)
    english.wait_for(state="attached", timeout=READY_MS)
