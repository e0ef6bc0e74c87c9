"""Wrong rules of what is read off: each is planted, shown, and named by the report."""

from dataclasses import replace
from functools import cache
from itertools import product

import pytest

from answer_keys.gradebook.results import ClassResult, StudentResult, graded_exercise
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.reports.help_view import student_views
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.drawing.stream import Stream
from generator.invented.cohort import work
from generator.invented.kinds import InventedStudent
from lessons.loader import read_lesson
from tests.drawn import IDENTITY, SECRET
from tests.keys import answer_key_of, key_content_of, whole_of
from workbook.record.progress import replay

pytestmark = pytest.mark.nightly

RUBRIC = rubric_from_text(rubric_text())
# A fan is asked in every way, a heater of its pulses besides.
ASKED = (
    *(("cooler-fan", "traces"), ("cooler-fan", "logs"), ("cooler-fan", "shares")),
    *(("cooler-fan", "millivolts"), ("cooler-fan", "switches")),
    ("wiper-heater", "switches"),
)
# Every rule that only shows in what is read off.
RULES = (
    *("peak_for_settled", "ripple_for_turn", "hours_for_days", "whole_battery"),
    *("rest_without_wakes", "total_for_difference", "uncertainty_of_one"),
    *("fuse_row_missed", "sense_for_load"),
    *("supply_for_mean", "mean_for_heating"),
)
EACH = 4


@cache
def drawn(family):
    """One circuit of a family."""
    book = read_lesson("whole-circuit")
    radical = Radical(lesson=book.lesson.id, family=family, fault="coil_open")
    return new_exercise(book, radical, SECRET.value, ("s01", "planted"))


@cache
def records():
    """Eighteen exercises of each kind."""
    made = [
        replace(
            drawn(family),
            radical=replace(drawn(family).radical, kind=kind),
            question_key=number.to_bytes(2),
        )
        for (family, kind), number in product(ASKED, range(18))
    ]
    return [
        key_content_of(one, number, IDENTITY)
        for number, one in enumerate(made, start=1)
    ]


@cache
def keys():
    """The same as grading reads them."""
    content = {"format": 1, "set_id": "abcd2345", "edition": 1, "mode": "practice"}
    return tuple(answer_key_of({**content, "exercises": records()}).exercises)


def worked(student, stream):
    """What a student did and was given for it."""
    exercises = []
    for record, key in zip(records(), keys(), strict=True):
        progress = replay(work(whole_of(record), student, stream))[key.exercise]
        exercises.append(graded_exercise(key, grade_exercise(key, progress, RUBRIC)))
    return StudentResult(
        id=student.id,
        name=student.id,
        sheet="",
        file="a.jsonl",
        exercises=tuple(exercises),
    )


@cache
def planted_and_named():
    """Pairs of student and rule: those planted, and those that the report names."""
    students = [
        InventedStudent(
            id=f"{rule}{number}", kind="novice", slip_frac=0.1, misconceptions=(rule,)
        )
        for rule, number in product(RULES, range(EACH))
    ]
    stream = Stream(SECRET.value, "planted readings")
    result = ClassResult(
        set_id="abcd2345",
        mode="practice",
        students=tuple(worked(student, stream) for student in students),
        receipts=(),
        history={},
    )
    named = {
        (view.student.id, showing.misconception.id)
        for view in student_views(result)
        for showing in view.held
        if showing.misconception.id in RULES
    }
    return {(one.id, one.misconceptions[0]) for one in students}, named


@pytest.mark.parametrize("rule", RULES)
def test_rule_that_is_planted_is_found(rule):
    """In nearly everybody who holds it."""
    planted, named = planted_and_named()
    own = {pair for pair in planted if pair[1] == rule}
    assert len(own & named) >= len(own) - 1


def test_nobody_is_named_for_a_rule_of_another():
    """Nine in ten planted ones are found, and nine in ten found ones are planted."""
    planted, named = planted_and_named()
    assert len(planted & named) / len(planted) >= 0.9
    assert len(planted & named) / len(named) >= 0.9
