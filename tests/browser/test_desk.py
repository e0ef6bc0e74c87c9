"""Every screen of the desk is for everybody."""

from dataclasses import replace
from urllib.parse import quote

import pytest

from generator.drawing.request import Request, Student
from generator.sets.set_writing import write_class_set
from generator.week.inventing import invent_work
from generator.week.marking import Marking, changed_mark, grade
from generator.week.opened import opened_set
from generator.week.rubric import keep_rubric, rubric_of
from tests.browser.axe import faults
from tests.desk.running import running_desk
from tests.drawn import SECRET

pytestmark = pytest.mark.nightly

SET = "week 1"
STEPS = ("check", "give", "collect", "mark", "see", "hand", "after")
WIDTHS_PX = (320, 390, 768, 1366, 1920)
# Where the checker, which takes its time, looks: what is laid out otherwise, and what
# has other colours.
LOOKS = {320: "light", 768: "dark", 1366: "light"}
BY_HAND = {1: 1000.0, 2: 7.25}
SIDEWAYS = "() => document.documentElement.scrollWidth - innerWidth"


@pytest.fixture(scope="module")
def marked(tmp_path_factory):
    """A desk with a set that was handed in and marked."""
    sets = tmp_path_factory.mktemp("sets")
    students = tuple(Student(id=f"s{n}", name=f"Ada Almer {n}") for n in range(1, 4))
    request = Request(
        lessons=("mixed-diagnosis",), students=students, exercises=2, mode="graded"
    )
    write_class_set(sets / SET, request, secret=SECRET)
    opened = opened_set(sets / SET)
    invent_work(opened)
    rubric = rubric_of(opened.class_set)
    dear = replace(rubric, weights={**rubric.weights, "cause": 1000.0})
    keep_rubric(opened.class_set, dear)
    by_hand = tuple(
        changed_mark(opened, ("s1", exercise, "cause"), mark, "Told me in class")
        for exercise, mark in BY_HAND.items()
    )
    grade(opened, Marking(overrides=by_hand))
    with running_desk(sets, tmp_path_factory.mktemp("home")) as (_, page):
        yield page


def at_rest(page):
    """Wait until a screen is drawn and no work is shown any more."""
    page.locator("[aria-busy]").first.wait_for(state="detached")
    page.locator("main h1").wait_for()


def screens():
    """The way to every screen."""
    steps = [f"#/set/{quote(SET)}/{step}" for step in STEPS]
    return ["#/sets", "#/new", "#/lessons", *steps]


@pytest.mark.parametrize("way", screens())
def test_every_screen_is_for_everybody(way, marked, browser):
    """WCAG 2.2 AA by axe-core, and nothing to scroll sideways at any width."""
    # The checker is a script of ours that the page's policy would not let in.
    with browser.new_context(bypass_csp=True) as context:
        page = context.new_page()
        page.goto(marked)
        at_rest(page)
        page.goto(f"{marked.partition('?')[0]}{way}")
        at_rest(page)
        for width in WIDTHS_PX:
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate(SIDEWAYS) <= 0, f"{way} at {width} px"
            if width in LOOKS:
                page.emulate_media(color_scheme=LOOKS[width])
                assert faults(page, "body") == []


def test_a_mark_of_a_thousand_is_no_one_with_decimals(marked, browser):
    """What stands in the field can be sent as it is: whole, and without groups."""
    with browser.new_context(locale="en") as context:
        page = context.new_page()
        page.goto(marked)
        at_rest(page)
        page.goto(f"{marked.partition('?')[0]}#/set/{quote(SET)}/mark")
        at_rest(page)
        page.get_by_role("button", name="Ada Almer 1").click()
        for exercise, mark in BY_HAND.items():
            name = f"Change: Exercise {exercise}, Cause"
            page.get_by_role("button", name=name).click()
            assert (
                page.get_by_label("New mark", exact=True).input_value() == f"{mark:g}"
            )
            page.get_by_role("button", name="Cancel", exact=True).click()
