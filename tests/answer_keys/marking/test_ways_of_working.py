"""Whole exercises as experts, guessers and parts-replacers work them, with their marks.

Bounds are the product's own: an expert at least 95 %, a guesser at most 25 %, whoever
replaces the relay every time between them, a wrong cause never above 60 %.
"""

import random
from functools import cache
from statistics import fmean

import pytest

from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.visits import planned_tests
from tests.answer_keys.samples import RUBRIC, worked
from tests.drawn import RADICALS, key
from tests.keys import answer_key_of
from workbook.record.progress import Answer, ExerciseProgress, TestDone


@cache
def records():
    """The key records of an exercise of every third radical."""
    drawn = [{**key(one), "exercise": n} for n, one in enumerate(RADICALS[::3], 1)]
    content = {"format": 1, "set_id": "a", "edition": 1, "mode": "graded"}
    return tuple(answer_key_of({**content, "exercises": drawn}).exercises)


def expert(record, _):
    """Follows the plan and makes no slip."""
    return worked(record, planned_tests(record), record.fault.id)


def relay_replacer(record, chance):
    """Reckons and reads well, fits a new relay first, and blames the old one."""
    tests = [test for test in record.tests if test.id == "load_current_new_relay"]
    faults = [f.id for f in record.reasoning.faults if f.repair == "replace_relay"]
    return worked(record, tests, chance.choice(faults or [record.fault.id]))


def guesser(record, chance):
    """Writes any number, does any test, says anything."""

    def number(asked):
        value = 10 ** chance.uniform(-3, 2)
        return Answer(raw="x", value=value, unit=asked.unit)

    tests = chance.sample(record.tests, chance.randint(1, 8))
    return ExerciseProgress(
        predictions={asked.id: number(asked) for asked in record.predictions},
        tests=tuple(
            TestDone(
                item=t.id,
                expected=chance.choice(t.outcomes),
                outcome=chance.choice(t.outcomes),
                statement=chance.choice(t.statements).id,
            )
            for t in tests
        ),
        cause=chance.choice(record.causes).id,
        correction=chance.choice(record.corrections).id,
        verification=number(record.verification),
    )


def every_test(record, _):
    """Does all tests on offer, and then knows the cause."""
    return worked(record, record.tests, record.fault.id)


def at_once(record, chance):
    """Concludes after the planned first test, on any cause."""
    fault = chance.choice(record.reasoning.faults).id
    return worked(record, planned_tests(record)[:1], fault)


def no_test(record, _):
    """Predicts and does nothing else."""
    predictions = worked(record, (), record.fault.id).predictions
    return ExerciseProgress(predictions=predictions)


def marks(way):
    """The marks of every exercise worked in one way; chance has a fixed seed."""
    chance = random.Random(1)
    return [grade_exercise(one, way(one, chance), RUBRIC) for one in records()]


def mean(way):
    """Mean mark [%]: an exercise carries 100 marks."""
    return fmean(exercise.mark for exercise in marks(way))


def step_mean(way, step):
    """Mean mark of one step [%]."""
    found = [m for one in marks(way) for m in one.steps if m.step == step]
    return 100 * sum(m.mark for m in found) / sum(m.out_of for m in found)


@pytest.mark.nightly
def test_experts_guessers_and_relay_replacers_stay_apart():
    """Experts have at least 95 %, guessers at most 25, relay-replacers lie between."""
    assert min(exercise.mark for exercise in marks(expert)) >= 95
    assert mean(guesser) <= 25
    assert mean(guesser) + 10 < mean(relay_replacer) < 70


@pytest.mark.nightly
@pytest.mark.parametrize("place", [0, -1])
def test_wrong_cause_never_gets_more_than_sixty(place):
    """However well all else is done, another cause costs cause, repair and proof."""
    for record in records():
        faults = record.reasoning.faults
        others = [f.id for f in faults if f.repair != record.fault.repair]
        progress = worked(record, planned_tests(record), others[place])
        assert grade_exercise(record, progress, RUBRIC).mark <= 60 + 1e-9


def test_cause_without_a_mark_never_leaves_more_than_sixty():
    """The same repair does not save a cause that a reading had ruled out."""
    for record in records():
        for fault in record.reasoning.faults:
            progress = worked(record, planned_tests(record), fault.id)
            steps = grade_exercise(record, progress, RUBRIC).steps
            by_step = {step.step: step.mark for step in steps}
            total = sum(step.mark for step in steps)
            assert by_step["cause"] == RUBRIC.weights["cause"] or total <= 60 + 1e-9


def test_every_test_costs_marks_for_choosing():
    """Who does all tests keeps less than half of what choices carry."""
    assert step_mean(every_test, "choices") < 50
    assert step_mean(every_test, "findings") == pytest.approx(100)


def test_no_test_earns_predictions_only():
    """Without a test there is nothing to choose, find or conclude."""
    for exercise in marks(no_test):
        assert exercise.mark == pytest.approx(RUBRIC.weights["predictions"])


def test_concluding_at_once_costs_what_was_left_out():
    """The right first test alone is a small part of the way to most causes."""
    assert step_mean(at_once, "choices") < 50
    assert mean(at_once) < 65


def test_repeated_test_is_done_once():
    """A test that stands in the progress twice tells nothing the second time."""
    for record in records():
        (first, *_) = tests = planned_tests(record)
        twice = worked(record, (first, *tests), record.fault.id)
        steps = grade_exercise(record, twice, RUBRIC).steps
        again = [step for step in steps if step.step == "choices"][1]
        assert again.minutes_wasted == pytest.approx(first.minutes)
        assert again.misconception
