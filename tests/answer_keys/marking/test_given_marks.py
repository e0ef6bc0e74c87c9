"""Marks where the first steps were done for the student: only own work counts."""

import math
from dataclasses import replace

import pytest
from hypothesis import given

from answer_keys.errors import KeyContentError
from answer_keys.gradebook.results import ClassResult, StudentResult, graded_exercise
from answer_keys.hand_ins.typed_answers import typed_hand_ins
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.policy import Rubric
from answer_keys.marking.rubric import STEPS
from answer_keys.marking.visits import planned_tests
from answer_keys.reports.sheet import student_sheet
from tests.answer_keys.hand_ins.test_typed_answers import refusal, steps_of, table
from tests.answer_keys.samples import (
    IDS,
    RUBRIC,
    key_content,
    sample_record,
)
from tests.answer_keys.strategies import rubrics
from tests.keys import answer_key_of
from workbook.record.entries import ChosenTest
from workbook.record.plain import plain
from workbook.record.progress import Answer, Given, TestDone, replay

WHOLE = next(r for r in map(sample_record, IDS) if len(planned_tests(r)) > 1)


def given_of(record, tests):
    """All predictions, and so many tests with their findings, of any record."""
    return Given(
        predictions={
            asked.id: Answer(raw="x", value=asked.value, unit=asked.unit)
            for asked in record.predictions
        },
        tests=tuple(
            TestDone(
                item=test.id,
                expected=test.sound_outcome,
                outcome=test.outcome,
                statement=test.statement,
            )
            for test in planned_tests(record)[:tests]
        ),
    )


def faded(tests=1):
    """The record with the predictions and some tests done."""
    return replace(WHOLE, given=given_of(WHOLE, tests))


def steps_by_name(marks):
    """Marks carried by each step of the rubric."""
    return {
        step: math.fsum(m.out_of for m in marks.steps if m.step == step)
        for step in {m.step for m in marks.steps}
    }


def test_weight_of_what_is_done_is_shared_by_the_rest():
    """The predictions' weight goes to all other steps in proportion."""
    record = faded()
    carried = steps_by_name(grade_exercise(record, record.start, RUBRIC))
    left = RUBRIC.total - RUBRIC.weights["predictions"]
    assert carried == pytest.approx(
        {
            s: w * RUBRIC.total / left
            for s, w in RUBRIC.weights.items()
            if s in STEPS[1:]
        }
    )


@given(rubrics)
def test_whole_exercise_keeps_its_weights(rubric):
    """Where nothing is done for the student, each step carries what it did."""
    marks = grade_exercise(WHOLE, WHOLE.start, rubric)
    assert steps_by_name(marks) == pytest.approx(dict(rubric.weights))


def test_rubric_of_predictions_alone_leaves_no_marks():
    """Then there is nothing that the rest could carry."""
    alone = Rubric(weights={**dict.fromkeys(STEPS, 0.0), "predictions": 10.0})
    marks = grade_exercise(faded(), faded().start, alone)
    assert (marks.mark, marks.out_of) == (0, 0)


def test_choices_are_judged_after_the_given_readings():
    """The planned test is one for what they have left; what they told is waste."""
    record = faded(1)
    first = record.start.tests[0].item
    left = record.plan.after(
        record.plan.start,
        record.test_number(first),
        record.tests[record.test_number(first)].outcome,
    )
    wasted = {}
    for number, test in enumerate(record.tests):
        if test.id == first:
            continue
        entry = ChosenTest(exercise=1, item=test.id, expected="none")
        marks = grade_exercise(record, replay([entry], {1: record.start})[1], RUBRIC)
        choices = [mark for mark in marks.steps if mark.step == "choices"]
        assert [mark.item for mark in choices] == [test.id, "stop"]
        wasted[test.id] = choices[0].minutes_wasted
        lost = record.plan.cost_of(left, number) - record.plan.value(left)
        assert wasted[test.id] == pytest.approx(lost, abs=0.05)
    assert min(wasted.values()) == 0
    assert max(wasted.values()) > 1


def test_key_that_gives_what_it_does_not_ask_is_refused():
    """A given step names a prediction or a test of its exercise."""
    content = key_content()
    odd = Given(tests=(TestDone(item="x", expected="y"),))
    content["exercises"][0]["given"] = plain(odd)
    key = answer_key_of(content)
    with pytest.raises(KeyContentError, match="given names a step"):
        key.of_student("s01")


def faded_key():
    """The key of a class, the first exercise of the first student partly done."""
    content = key_content(
        (WHOLE.fault.id, *(i for i in IDS[:3] if i != WHOLE.fault.id))
    )
    first = next(answer_key_of(content).exercises)
    content["exercises"][0]["given"] = plain(given_of(first, 1))
    return answer_key_of(content)


def sheet_after(entries):
    """The sheet of a student after some entries of one exercise."""
    key = faded_key()
    records = key.of_student("s01")
    starts = {number: record.start for number, record in records.items()}
    progress = replay(entries, starts)
    exercises = tuple(
        graded_exercise(record, grade_exercise(record, progress[number], RUBRIC))
        for number, record in records.items()
    )
    student = StudentResult(
        id="s01", name="One", sheet="a.html", file="a.ndjson", exercises=exercises
    )
    result = ClassResult(
        set_id=key.set_id,
        mode=key.mode,
        students=(student,),
        receipts=(),
        history={},
    )
    return student_sheet(result, student, records)


SAID = "Partly done for you: the predictions and the first test. That carries no"


def test_sheet_marks_what_was_done_and_knows_no_start_by_it():
    """What was done for the student stands on the way, and starts nothing."""
    sheet = sheet_after([])
    assert sheet.count("(done for you)") == 1
    assert sheet.count("You did not start this exercise") == len(IDS[:3])
    assert SAID not in sheet


def test_sheet_of_own_work_says_that_the_rest_carries_all_marks():
    """The way is the given tests and then the student's, with what each has left."""
    record = faded_key().of_student("s01")[1]
    second = planned_tests(record)[1]
    entry = ChosenTest(exercise=1, item=second.id, expected="none")
    sheet = sheet_after([entry])
    assert SAID in sheet
    way = sheet.split("Your way")[-len(IDS[:3])].split("The planned way")[0]
    first = planned_tests(record)[0].title
    assert way.index(f"{first} <em>(done for you)</em>") < way.index(second.title)


def test_typed_answers_go_on_from_the_handout():
    """A prediction that is printed cannot be typed, and all else can."""
    key = faded_key()
    record = key.of_student("s01")[1]
    rows = steps_of(record, place=2)
    (hand_in,) = typed_hand_ins("typed.csv", table(rows[1:]), key)
    progress = replay(hand_in.entries, {1: record.start})[1]
    assert progress.cause
    assert progress.verification
    assert len(progress.own_tests) == 1
    assert "the prediction is not due here" in refusal(table(rows), key)
