"""The mixed lesson draws all that is taught: faults, loads, circuits, tests."""

from collections import Counter
from typing import get_args

import pytest

from generator.drawing.class_radicals import new_radicals
from generator.drawing.course import Goal
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.specification import new_variant
from generator.drawing.stream import Stream
from generator.errors import DrawError
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.variant import LoadKind
from lessons.loader import lesson_ids, read_lesson
from lessons.schema import Variants

BOOK = read_lesson("mixed-diagnosis")
SECRET = bytes(32)
DRAWS = 1200


def ways_of(lesson):
    """Every value of each row of its variants."""
    return {
        (row, way) for row, ways in lesson.variants.model_dump().items() for way in ways
    }


def test_every_way_to_build_that_another_lesson_draws_is_drawn_here():
    """Loads, circuits and faults: nothing of the course is missing."""
    others = [read_lesson(name) for name in lesson_ids()]
    assert ways_of(BOOK.lesson) == set().union(*(ways_of(b.lesson) for b in others))
    assert {*BOOK.families} == {family for book in others for family in book.families}
    assert {family.kind for family in BOOK.families} == {*get_args(LoadKind)}
    assert {*BOOK.lesson.faults} == {*FAULTS}


def test_lesson_of_everything_comes_last():
    """What it may draw has been taught before."""
    assert lesson_ids()[-1] == BOOK.lesson.id


@pytest.mark.parametrize("row", Variants.model_fields)
def test_value_is_drawn_as_often_as_it_stands_in_its_row(row):
    """A relay in three of four, and everything else evenly, within four deviations."""
    stream = Stream(SECRET, "ways")
    variants = [new_variant(BOOK.lesson.variants, stream) for _ in range(DRAWS)]
    drawn = Counter(getattr(variant, row) for variant in variants)
    written = Counter(getattr(BOOK.lesson.variants, row))
    assert {*drawn} == {*written}
    for way, times in written.items():
        share = times / written.total()
        deviation = (DRAWS * share * (1 - share)) ** 0.5
        assert drawn[way] == pytest.approx(DRAWS * share, abs=4 * deviation + 1e-9)


def test_relay_stays_the_usual_case():
    """The course is about relays: three quarters of its last lesson have one."""
    written = Counter(BOOK.lesson.variants.switch)
    assert written["relay"] / written.total() == 0.75


@pytest.mark.nightly
def test_every_fault_and_every_test_of_the_course_comes():
    """In one long workbook, each as an exercise whose proof holds."""
    radicals = new_radicals((Goal(book=BOOK),) * 200, Stream(SECRET, "course"))
    faults, tests = set(), set()
    for number, radical in enumerate(radicals):
        try:
            made = new_exercise(BOOK, radical, SECRET, ("course", number))
        except DrawError:  # a set would take another fault
            continue
        faults.add(made.fault.id)
        tests |= {test.id for test in made.tests}
    assert faults == {*FAULTS}
    assert tests >= {*TESTS}
