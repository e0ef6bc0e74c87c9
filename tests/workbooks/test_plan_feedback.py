"""What a practice workbook holds of the plan, against the plan itself."""

import json
import re

import pytest

from answer_keys.keys.wording import minutes_text
from answer_keys.marking.choice_marks import choices
from answer_keys.marking.visits import work_of
from tests.drawn import EACH_FAULT, key, page
from tests.keys import answer_key_of, plan_of
from workbook.judging.choice_feedback import judge_choice
from workbook.judging.hints import hints
from workbook.judging.planned import next_tests, parts, planned_way, possible_causes
from workbook.record.payload import exercises_from_payload
from workbook.record.progress import ExerciseProgress, TestDone

SOME = EACH_FAULT[:: len(EACH_FAULT) // 8]
MAX_BYTES = 100_000
# What page and marks both say where it is so.
SAID = re.compile(
    r"[Gg]ood choice|took another [\d.]+ min|[\d.]+ min more, on average"
    r"|“[^”]+” had told it before|without current nothing drops|a new part"
    r"|would have told the same|may leave \d+ of"
)


def on_the_page(radical):
    """An exercise as the page has it."""
    payload = {"exercises": [page(radical, "practice")]}
    return exercises_from_payload(json.loads(json.dumps(payload)))[3]


def ways_through(exercise):
    """Some orders of tests: as listed, backwards, and the planned one."""
    ids = [test.id for test in exercise.tests]
    planned = [step.test.id for step in planned_way(exercise, exercise.feedback)]
    return ids, ids[::-1], planned


def left_on(exercise, way):
    """Causes left before each test of a way and at its end, as numbers."""
    done = [TestDone(item=id_, expected="") for id_ in way]
    for count in range(len(done) + 1):
        left = possible_causes(exercise, exercise.feedback, tuple(done[:count]))
        yield left, [n for n, c in enumerate(exercise.causes) if c.id in left]


@pytest.mark.parametrize("radical", SOME, ids=lambda r: f"{r.family}-{r.fault}")
def test_page_and_plan_agree_on_every_choice(radical):
    """Wherever tests lead, the page knows the planned test and what each one wastes."""
    exercise, plan = on_the_page(radical), plan_of(key(radical)["reasoning"])
    for way in ways_through(exercise):
        for left, numbers in left_on(exercise, way):
            found = next_tests(exercise, exercise.feedback, left)
            best = plan.best_test(numbers)
            assert (found is None) == (best is None)
            if found is None:
                continue
            assert found.planned == exercise.tests[best]
            assert minutes_text(found.minutes_left) == minutes_text(plan.value(numbers))
            for place, test in enumerate(exercise.tests):
                waste = plan.cost_of(numbers, place) - plan.value(numbers)
                told = found.wasted_min.get(test.id, test.minutes)
                assert told == pytest.approx(waste, abs=0.0500001)


def marked(radical, done):
    """What the marks say to each of some tests."""
    content = {"format": 1, "set_id": "s", "edition": 1, "mode": "practice"}
    record = answer_key_of(content | {"exercises": [key(radical)]})
    (record,) = record.exercises
    work = work_of(record, ExerciseProgress(tests=done))
    return [share.reason for share in choices(work)][: len(done)]


@pytest.mark.parametrize("radical", SOME, ids=lambda r: f"{r.family}-{r.fault}")
def test_page_and_marks_say_the_same_to_a_choice(radical):
    """The same minutes, the same better test, and the same reason."""
    exercise = on_the_page(radical)
    for way in ways_through(exercise):
        done = tuple(TestDone(item=id_, expected="") for id_ in way)
        for count, reason in enumerate(marked(radical, done), start=1):
            said = judge_choice(exercise, exercise.feedback, done[:count])
            told = f"{said.label} {said.text}"
            assert SAID.findall(told.lower()) == SAID.findall(reason.lower())


@pytest.mark.parametrize("radical", SOME, ids=lambda r: f"{r.family}-{r.fault}")
def test_planned_way_on_the_page_ends_at_the_right_repair(radical):
    """Each of its tests leaves fewer causes, the last those of one correction."""
    exercise = on_the_page(radical)
    way = planned_way(exercise, exercise.feedback)
    assert way[-1].is_proved
    counts = [len(exercise.causes), *(step.causes_left for step in way)]
    assert counts == sorted(set(counts), reverse=True)


@pytest.mark.parametrize("radical", SOME, ids=lambda r: f"{r.family}-{r.fault}")
def test_outcomes_on_the_page_fit_the_readings(radical):
    """The causes that a test's real outcome would leave are those that fit it."""
    exercise = on_the_page(radical)
    everything = possible_causes(exercise, exercise.feedback, ())
    for test in exercise.tests:
        known = exercise.feedback.tests[test.id]
        counts = parts(exercise, exercise.feedback, test, everything)
        assert counts[known.outcome] == len(known.fits)
        assert sum(counts.values()) == len(exercise.causes)


@pytest.mark.parametrize("radical", SOME, ids=lambda r: f"{r.family}-{r.fault}")
def test_every_choice_on_the_planned_way_has_hints(radical):
    """Three before each planned test, the third naming it, and two at the end."""
    exercise = on_the_page(radical)
    way = planned_way(exercise, exercise.feedback)
    done = tuple(TestDone(item=step.test.id, expected="") for step in way)
    for count, step in enumerate(way):
        ladder = hints(exercise, done[:count])
        assert len(ladder) == 3
        assert all(f"“{step.test.title}”" in text for text in ladder[1:])
    assert len(hints(exercise, done)) == 2


def test_plan_of_a_workbook_stays_small():
    """The hundreds of sets of a hard exercise stay far below its pictures."""
    plans = [page(radical, "practice")["feedback"]["plan"] for radical in SOME]
    sizes = [len(json.dumps(plan, separators=(",", ":"))) for plan in plans]
    assert max(sizes) < MAX_BYTES
