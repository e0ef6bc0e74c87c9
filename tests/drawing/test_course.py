"""Which lesson an exercise comes from: the set's own in turn, and earlier ones."""

import pytest

from generator.drawing.class_radicals import new_radicals
from generator.drawing.course import Goal, read_course
from generator.drawing.stream import Stream
from lessons.loader import lesson_ids


def turns(names, count):
    course = read_course(names)
    return course, [b.lesson.id for b in course.turns(count, Stream(bytes(32)))]


@pytest.mark.parametrize("count", [4, 5, 7, 8, 9, 10, 11, 12, 20])
def test_a_fifth_to_a_third_comes_from_earlier_lessons(count):
    """A set of a later lesson draws 20 to 30 percent from the ones before it."""
    _, drawn = turns(["control-side"], count)
    earlier = sum(lesson != "control-side" for lesson in drawn)
    assert 0.2 <= earlier / count <= 0.3


def test_earlier_lessons_come_before_the_first_of_the_set():
    """What is practised again has been taught: no later lesson is drawn."""
    course, _ = turns(["low-load-current", "control-side"], 8)
    assert [book.lesson.number for book in course.earlier] == [1, 2, 3]


def test_first_lesson_has_nothing_to_review():
    """A set of the first lesson draws from it alone."""
    assert set(turns(["two-circuits"], 8)[1]) == {"two-circuits"}


def test_few_exercises_are_spread_over_the_course():
    """Four exercises of all lessons come from four lessons, not from the first four."""
    course = read_course(lesson_ids())
    drawn = [
        [b.lesson.number for b in course.turns(4, Stream(bytes(32), student))]
        for student in range(40)
    ]
    assert all(len(set(numbers)) == 4 for numbers in drawn)
    assert {number for numbers in drawn for number in numbers} == set(
        range(1, 1 + len(lesson_ids()))
    )


def test_kinds_of_a_lesson_are_taken_in_turn():
    """A set of one lesson asks in the order of its kinds; a review is a diagnosis."""
    course, drawn = turns(["low-load-current"], 8)
    books = [course.book(lesson) for lesson in drawn]
    made = new_radicals([Goal(book=book) for book in books], Stream(bytes(32)))
    own = [one.kind for one in made if one.lesson == "low-load-current"]
    assert own == ["drops", "diagnosis", "diagnosis", "drops", "diagnosis", "diagnosis"]
    others = {one.kind for one in made if one.lesson != "low-load-current"}
    assert others == {"diagnosis"}
