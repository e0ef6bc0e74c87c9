"""What graded classes have lost beyond the prediction decides how hard draws are."""

from dataclasses import replace
from functools import cache

import pytest

from answer_keys.observed import NOTHING, Observed
from generator.drawing.course import read_course
from generator.drawing.difficulty import (
    class_difficulty,
    difficulty_of,
    features_of,
    predicted_loss_percent,
)
from tests.drawing.classes import exercises_of_class
from tests.drawn import workbooks

COURSE, SECRET = read_course(("whole-circuit",)), bytes([8] * 32)
STUDENTS = ("s01", "s02", "s03")


@cache
def drawn(observed=NOTHING):
    """Workbooks of a small graded class whose students have causes of their own."""
    course = COURSE.after(observed)
    return dict(exercises_of_class(course, "graded", SECRET, STUDENTS, 1, causes="own"))


def harder(percent):
    """Half of the faults that the class has met have proved to be so much harder."""
    met = sorted({one.fault.id for own in drawn().values() for one in own})
    return Observed(after=("k7m2q",), faults=dict.fromkeys(met[::2], percent))


def test_difficulty_is_the_prediction_and_what_was_observed():
    """Points of fault, load and planned tests add to what the plan predicts."""
    one = workbooks("graded")[0].exercises[0]
    fan = one.radical.family
    planned = [one.tests[test].id for test, _ in one.way]
    observed = Observed(
        after=("a",),
        faults={one.fault.id: 2.0, "another": 50.0},
        families={fan: -0.5},
        tests={planned[0]: 1.5},
    )
    predicted = predicted_loss_percent(features_of(one))
    assert difficulty_of(one) == predicted
    assert difficulty_of(replace(one, observed=observed)) == pytest.approx(
        predicted + 2.0 - 0.5 + 1.5 / len(planned)
    )
    easy = Observed(after=("a",), faults={one.fault.id: -90.0})
    assert difficulty_of(replace(one, observed=easy)) == 1.0


@pytest.mark.nightly
def test_same_secret_and_same_file_give_the_same_set_and_another_file_another():
    """What decides is the secret and the file."""
    course = COURSE.after(harder(12.0))
    ((_, again),) = exercises_of_class(
        course, "graded", SECRET, STUDENTS[:1], 1, causes="own"
    )
    assert again == drawn(harder(12.0))["s01"]
    faults = [
        [[one.fault.id for one in own] for own in of_class.values()]
        for of_class in (drawn(), drawn(harder(12.0)))
    ]
    assert faults[0] != faults[1]


@pytest.mark.nightly
def test_class_is_equally_hard_by_what_was_observed():
    """Workbooks that the plain prediction calls alike are not, and are drawn again."""
    observed = harder(12.0)
    plain = [
        (who, difficulty_of(replace(one, observed=observed)))
        for who, own in drawn().items()
        for one in own
    ]
    assert not class_difficulty(plain).is_fair
    by_it = [
        (who, difficulty_of(e)) for who, own in drawn(observed).items() for e in own
    ]
    assert class_difficulty(by_it).is_fair
