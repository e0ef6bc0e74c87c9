"""What a practice workbook holds of the plan, against the plan itself."""

import json
import re

import pytest

from answer_keys.marking.choice_marks import choices
from answer_keys.marking.visits import work_of
from tests.drawn import EACH_FAULT, key, page
from tests.keys import answer_key_of, whole_of
from workbook.judging.choice_feedback import judge_choice
from workbook.judging.hints import hints
from workbook.judging.planned import (
    parts,
    planned_way,
    planner_of,
    possible_causes,
    standing_after,
)
from workbook.record.payload import exercises_from_payload
from workbook.record.progress import ExerciseProgress, TestDone

SOME = EACH_FAULT[::15]
MAX_BYTES = 5_000
# What page and marks both say where it is so.
SAID = re.compile(
    r"[Gg]ood choice|[\d.]+ min less|took another [\d.]+ min"
    r"|[\d.]+ min more, on average"
    r"|“[^”]+” had told it before|without current nothing drops|the one cause"
    r"|a new part|would have told the same|may leave \d+ of"
)


def on_the_page(radical):
    """An exercise as the page has it."""
    payload = {"exercises": [page(radical, "practice")]}
    return exercises_from_payload(json.loads(json.dumps(payload)))[3]


def ways_through(exercise):
    """Some orders of tests: as listed, backwards, and the planned one."""
    ids = [test.id for test in exercise.tests]
    planner = planner_of(exercise, exercise.feedback)
    planned = [step.test.id for step in planned_way(planner)]
    return ids, ids[::-1], planned


def standings_on(exercise, record, way):
    """Where the search stands before each test of a way: on the page, by the plan."""
    done, state = [TestDone(item=id_, expected="") for id_ in way], record.plan.start
    for count in range(len(done) + 1):
        yield standing_after(exercise, exercise.feedback, tuple(done[:count])), state
        if count < len(done):
            number = record.test_number(done[count].item)
            state = record.plan.after(state, number, record.tests[number].outcome)


@pytest.mark.nightly
@pytest.mark.parametrize("radical", SOME, ids=lambda r: f"{r.family}-{r.fault}")
def test_page_and_plan_agree_on_every_choice(radical):
    """Wherever tests lead, the page knows the planned test and what each one wastes."""
    exercise, record = on_the_page(radical), whole_of(key(radical))
    planner, plan = planner_of(exercise, exercise.feedback), record.plan
    for way in ways_through(exercise):
        for standing, state in list(standings_on(exercise, record, way))[:8]:
            found, best = planner.planned(standing), plan.best_test(state)
            assert (found is None) == (best is None)
            assert planner.is_proved(standing) == plan.is_proved(state)
            if found is None:
                continue
            assert plan.wasted(state, exercise.tests.index(found)) < 0.05
            left = plan.value(state)
            assert planner.minutes_left(standing) == pytest.approx(left, abs=1e-9)
            for place, test in enumerate(exercise.tests):
                assert planner.minutes(standing, test) == plan.minutes(state, place)
                assert planner.helps(standing, test) == (place in plan.helping(state))
                waste = plan.wasted(state, place)
                told = planner.wasted(standing, test)
                assert told == pytest.approx(waste, abs=0.0500001)


def marked(radical, done):
    """What the marks say to each of some tests."""
    content = {"format": 1, "set_id": "s", "edition": 1, "mode": "practice"}
    record = answer_key_of(content | {"exercises": [key(radical)]})
    (record,) = record.exercises
    work = work_of(record, ExerciseProgress(tests=done))
    return [share.reason for share in choices(work)][: len(done)]


@pytest.mark.parametrize(
    "radical",
    [
        pytest.param(
            radical,
            marks=() if radical in SOME else pytest.mark.nightly,
            id=f"{radical.family}-{radical.fault}",
        )
        for radical in EACH_FAULT
    ],
)
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
    way = planned_way(planner_of(exercise, exercise.feedback))
    assert way[-1].is_proved
    counts = [len(exercise.causes), *(step.causes_left for step in way)]
    assert counts == sorted(counts, reverse=True)
    # One may show what is left for certain instead of telling causes apart.
    assert len(set(counts)) >= len(counts) - 1


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
    way = planned_way(planner_of(exercise, exercise.feedback))
    done = tuple(TestDone(item=step.test.id, expected="") for step in way)
    for count, step in enumerate(way):
        ladder = hints(exercise, done[:count])
        assert len(ladder) == 3
        assert all(f"“{step.test.title}”" in text for text in ladder[1:])
    assert len(hints(exercise, done)) == 2


def test_plan_of_a_workbook_stays_small():
    """What decides the plan of a hard exercise is little beside its pictures."""
    plans = [page(radical, "practice")["feedback"]["plan"] for radical in SOME]
    sizes = [len(json.dumps(plan, separators=(",", ":"))) for plan in plans]
    assert max(sizes) < MAX_BYTES
