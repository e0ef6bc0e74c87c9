"""What was planted in invented students is what the class report names."""

from __future__ import annotations

import os
from dataclasses import replace
from functools import cache

import pytest

from answer_keys.gradebook.results import ClassResult, StudentResult, graded_exercise
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.reports.help_view import student_views
from generator.drawing.course import read_course
from generator.drawing.request import Request
from generator.drawing.stream import Stream
from generator.invented.cohort import work
from generator.invented.kinds import (
    KINDS,
    RELAY_HABIT,
    InventedStudent,
    invented_students,
)
from generator.invented.simulation import chances_of, with_misconceptions
from generator.sets.roster import invented_roster
from generator.workbooks.class_workbooks import new_workbooks
from tests.drawn import SECRET
from tests.keys import answer_key_of, whole_of, workbook_content
from workbook.record.progress import replay

pytestmark = pytest.mark.nightly

STUDENTS = 60 if os.environ.get("FAST") == "1" else 200
EXERCISES = 14
RUBRIC = rubric_from_text(rubric_text())


@cache
def records():
    """Key records of one workbook that all students work."""
    request = Request(
        lessons=("meter-and-clamp", "mixed-diagnosis"),
        students=invented_roster(1),
        exercises=EXERCISES,
        mode="practice",
    )
    (workbook,) = new_workbooks(read_course(request.lessons), request, SECRET)
    return workbook_content(workbook)


@cache
def keys():
    """The same as grading reads them."""
    content = {"format": 1, "set_id": "abcd2345", "edition": 1, "mode": "practice"}
    return tuple(answer_key_of({**content, "exercises": records()}).exercises)


@cache
def cohort():
    """Students of all kinds with what they hold."""
    stream = Stream(SECRET.value, "planted")
    ids = [f"s{number:03}" for number in range(STUDENTS)]
    return tuple(
        with_misconceptions(student, keys(), stream)
        for student in invented_students(ids, tuple(KINDS), stream)
    )


def worked(student, stream):
    """What a student did and was given for it, graded in memory."""
    exercises = []
    for record, key in zip(records(), keys(), strict=True):
        progress = replay(work(whole_of(record), student, stream))[key.exercise]
        marks = grade_exercise(key, progress, RUBRIC)
        exercises.append(graded_exercise(key, marks))
    return StudentResult(
        id=student.id,
        name=student.id,
        sheet="",
        file="a.jsonl",
        exercises=tuple(exercises),
    )


@cache
def named():
    """What the report says of whom: pairs of student and misconception."""
    stream = Stream(SECRET.value, "planted work")
    result = ClassResult(
        set_id="abcd2345",
        mode="practice",
        students=tuple(worked(student, stream) for student in cohort()),
        receipts=(),
        history={},
    )
    return frozenset(
        (view.student.id, showing.misconception.id)
        for view in student_views(result)
        for showing in view.held
    )


def test_planted_misconceptions_are_named_and_no_others():
    """Nine in ten planted ones are found, and nine in ten found ones are planted.

    Asked of all that was planted in anybody: that guessers stop too early, say, is no
    error of the report.
    """
    truth = {(one.id, each) for one in cohort() for each in one.misconceptions}
    planted = {each for _, each in truth}
    found = {(who, each) for who, each in named() if each in planted}
    assert len(truth) > STUDENTS / 2
    assert len(planted) >= 10
    assert len(truth & found) / len(truth) >= 0.9
    assert len(truth & found) / len(found) >= 0.9


def test_experts_hold_nothing_and_nothing_is_named():
    """Who makes no mistake is not accused of any."""
    experts = {one.id for one in cohort() if one.kind == "expert"}
    assert not any(one.misconceptions for one in cohort() if one.id in experts)
    assert not {pair for pair in named() if pair[0] in experts}


def test_only_what_can_show_is_planted():
    """Each has three chances or more, and no two are of one sort."""
    for student in cohort():
        chances = chances_of(student.kind, keys(), Stream(bytes(32)))
        assert all(chances[each] >= 3 for each in student.misconceptions)
        assert len(set(student.misconceptions)) == len(student.misconceptions)
    relay = [one for one in cohort() if one.kind == "relay-replacer"]
    assert all(RELAY_HABIT in one.misconceptions for one in relay)


def test_student_without_misconceptions_works_as_ever():
    """What is planted in others takes nothing from the stream of this one."""
    plain = InventedStudent(id="s01", kind="novice", slip_frac=0.1)
    held = replace(plain, misconceptions=("no_such_rule",))
    first, second = (
        [list(work(whole_of(record), one, Stream(bytes(32)))) for record in records()]
        for one in (plain, held)
    )
    assert first == second
