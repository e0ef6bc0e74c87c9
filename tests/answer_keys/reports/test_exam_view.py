"""Figures of exercises as items: only from enough students, and told from chance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from answer_keys.gradebook.results import ClassResult, StudentResult, graded_exercise
from answer_keys.marking.marks import ExerciseMarks, StepMark
from answer_keys.reports.exam_view import exam_view
from answer_keys.reports.statistics import ENOUGH
from tests.answer_keys.samples import sample_key

FAULTS = ("coil_open", "contacts_open", "motor_seized", "load_wire_open")
RECORDS = sample_key(FAULTS).of_student("s01")


def exercise(number, right, family):
    """An exercise whose cause was named rightly or not."""
    mark = StepMark(
        step="cause",
        item="cause",
        title="Cause",
        mark=20.0 * right,
        out_of=20.0,
        reason="So it is.",
        answer="A cause",
    )
    marks = ExerciseMarks(exercise=number, steps=(mark,))
    return graded_exercise(replace(RECORDS[number], family=family), marks)


def class_of(count, chance):
    """A class whose skill and luck decide; ``chance`` gives the part of (n, family)."""
    rng = np.random.default_rng(5)
    students = []
    for place in range(count):
        family = ("fan", "heater")[place % 2]
        skill = rng.normal(0, 0.25)
        exercises = [
            exercise(n, rng.random() < chance(n, family) + skill, family)
            for n in RECORDS
        ]
        students.append(
            StudentResult(
                id=f"s{place}",
                name=f"s{place}",
                sheet="",
                file="a.jsonl",
                exercises=tuple(exercises),
            )
        )
    return ClassResult(
        set_id="k7m2q",
        mode="graded",
        students=tuple(students),
        receipts=(),
        history={},
    )


def unequal(number, family):
    """Each exercise harder than the one before, and one of them in one load only."""
    if number == 2 and family == "heater":
        return 0.2
    return 0.95 - 0.15 * number


def test_too_few_students_give_no_interval_and_no_verdict():
    """One fewer than enough is not enough data, for anything."""
    view = exam_view(class_of(ENOUGH - 1, unequal))
    for item in view.items:
        assert (item.right, item.discrimination, item.difficulty) == (None, None, None)
        assert item.verdict == "not enough data"
    assert (view.reliability.alpha, view.reliability.needed) == (None, ())
    assert not any(one.is_enough or one.is_unequal for one in view.families)


def test_enough_students_give_figures_with_intervals():
    """Difficulty, discrimination and reliability lie inside their intervals."""
    view = exam_view(class_of(200, unequal))
    assert len(view.items) == len(FAULTS)
    for item in view.items:
        assert item.students == 200
        for one in (item.right, item.discrimination):
            assert one.low < one.value < one.high
        assert item.verdict != "not enough data"
    hard, easy = view.items[0], view.items[-1]
    assert hard.right_frac < easy.right_frac
    assert hard.difficulty - hard.difficulty_error > easy.difficulty
    sure = view.reliability
    assert (sure.students, sure.exercises) == (200, len(FAULTS))
    assert sure.alpha.low < sure.alpha.value < sure.alpha.high
    assert [wanted for wanted, _ in sure.needed] == [0.7, 0.8]
    assert sure.needed[0][1] < sure.needed[1][1]


def test_fault_that_is_harder_in_one_load_is_flagged():
    """And no other: chance alone makes no family unequal."""
    view = exam_view(class_of(300, unequal))
    flagged = [one for one in view.families if one.is_unequal]
    assert len(view.families) == len(FAULTS)
    assert len(flagged) == 1
    assert flagged[0].spread.p_value < 0.001
    heater = next(part for part in flagged[0].parts if part.name == "heater")
    assert heater.estimate.low < heater.right / heater.of < heater.estimate.high


@pytest.mark.parametrize("right", [0.0, 1.0])
def test_class_that_all_gets_right_or_wrong_has_no_discrimination(right):
    """Where all students are alike, nothing can tell them apart."""
    students = class_of(40, unequal).students
    same = tuple(
        replace(
            student,
            exercises=tuple(exercise(n, right, "fan") for n in RECORDS),
        )
        for student in students
    )
    view = exam_view(replace(class_of(1, unequal), students=same))
    assert all(item.discrimination is None for item in view.items)
    assert view.reliability.alpha is None
    assert view.families == ()
