"""A graded class has its exercises equally hard, whoever is in it."""

import pytest

from generator.writing import class_draw
from generator.writing.class_draw import exercises_of_class
from generator.writing.course import read_course
from generator.writing.difficulty import (
    LARGEST_SPREAD_FRAC,
    class_difficulty,
    difficulty_of,
)

# A lesson and a secret with a fault that is easier in some circuits than in others.
COURSE, SECRET = read_course(("low-load-current",)), bytes([5] * 32)
STUDENTS = tuple(f"s{number}" for number in range(6))


def drawn(students=STUDENTS, mode="graded"):
    """What each student of a class with one exercise gets."""
    return dict(exercises_of_class(COURSE, mode, SECRET, students, 1))


def spread_of(exercises):
    """Standard deviation of the predicted difficulty, as a fraction of the mean."""
    hard = [(who, difficulty_of(one)) for who, own in exercises.items() for one in own]
    return class_difficulty(hard).spread_frac


def test_graded_exercises_are_equally_hard(monkeypatch):
    """What strays is drawn again; left alone, this class would be unfair."""
    assert spread_of(drawn()) <= LARGEST_SPREAD_FRAC
    monkeypatch.setattr(class_draw, "is_near", lambda *_: True)
    assert spread_of(drawn()) > LARGEST_SPREAD_FRAC


@pytest.mark.parametrize("mode", ["graded", "practice"])
def test_student_keeps_their_exercises_when_others_join(mode):
    """How hard they are does not hang on who else is in the class either."""
    few, more = drawn(STUDENTS[1:2], mode), drawn(STUDENTS[1::-1], mode)
    assert few["s1"] == more["s1"]
