"""The plans of drawn exercises: exact, a place paid once, and the clamp first."""

import random
from collections import defaultdict
from dataclasses import replace
from functools import cache
from statistics import fmean

import pytest

from answer_keys.marking.choice_marks import choices
from answer_keys.marking.visits import minutes_along, work_of
from answer_keys.method import DEFAULT_METHOD
from generator.checking.exercise_check import least_minutes
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.catalogue.tests import TESTS
from generator.model.plan_tree import PlannedTest
from generator.model.variant import Variant
from generator.workbooks.page_records import page_record
from tests.drawn import (
    AT_TIMES,
    BOOK,
    EACH_FAULT,
    RADICALS,
    SECRET,
    exercise,
    for_each_radical,
    has_relay,
    key,
)
from tests.keys import whole_of
from tests.upkeep.first_tests import first_test, with_access
from workbook.judging.planned import planner_of, standing_after
from workbook.record.progress import ExerciseProgress, TestDone


@pytest.mark.parametrize(
    "radicals",
    [
        pytest.param(EACH_FAULT[::8], id="some"),
        pytest.param(RADICALS[::2], id="many", marks=pytest.mark.nightly),
    ],
)
def test_plan_is_what_the_search_of_pages_finds(radicals):
    """The smaller search of pages comes to the same expected minutes."""
    for radical in radicals:
        table = exercise(radical).reasoning
        least = least_minutes(table)
        assert table.plan.expected_cost == pytest.approx(least, abs=1e-9), radical


@pytest.mark.nightly
@pytest.mark.parametrize(
    ("radical", "start"),
    [pytest.param(each, n % 3, id=each.fault) for n, each in enumerate(EACH_FAULT)],
)
def test_page_comes_to_the_same_minutes(radical, start):
    """Before every test of the way on this vehicle, whichever test comes next.

    A third of these are looked at, other ones for each fault.
    """
    made = exercise(radical)
    plan, page = made.plan, page_record(made, 1, "practice")
    planner, states = planner_of(page, page.feedback), [plan.start]
    done = [TestDone(item=made.tests[test].id, expected="") for test, _ in made.way]
    states += [state for _, state in made.way]
    for number, state in enumerate(states):
        standing = standing_after(page, page.feedback, done[:number])
        left = planner.minutes_left(standing)
        assert left == pytest.approx(plan.value(state), abs=1e-9)
        planned = planner.planned(standing)
        assert (planned is None) == (plan.best_test(state) is None)
        for place, test in list(enumerate(page.tests))[start::3]:
            wasted = plan.wasted(state, place)
            assert planner.wasted(standing, test) == pytest.approx(wasted, abs=0.051)
            assert planner.minutes(standing, test) == plan.minutes(state, place)
            assert planner.helps(standing, test) == (place in plan.helping(state))
            assert test is not planned or wasted < 0.05


@pytest.mark.parametrize("method", [DEFAULT_METHOD, DEFAULT_METHOD[::-1]])
def test_page_and_marks_follow_the_same_method(method):
    """Whoever takes what is due by the set's method is told so, and keeps the mark."""
    followed = 0
    for radical in EACH_FAULT[::6]:
        made, record = exercise(radical), whole_of(key(radical))
        page = page_record(made, 1, "practice", method)
        planner = planner_of(page, page.feedback)
        standing = standing_after(page, page.feedback, ())
        for test in page.tests:
            done = TestDone(item=test.id, expected="")
            work = work_of(record, ExerciseProgress(tests=(done,)))
            mark, *_ = choices(work, method)
            by_method = mark.reason.startswith("A good choice by the house method.")
            is_due = planner.is_due(standing, test) and mark.minutes_wasted > 0
            assert by_method == is_due
            followed += is_due
    assert followed


@for_each_radical
def test_where_nothing_is_wrong_every_test_shows_it(radical):
    """The plan takes such a cause for one that no reading can prove."""
    made = exercise(radical)
    for fault, row in zip(made.candidates, made.outcome, strict=True):
        assert not fault.id.startswith("nothing") or row == made.sound_outcome


@for_each_radical
def test_place_is_never_paid_twice(radical):
    """In any order of all tests each place is reached once, whoever adds it up."""
    made, record = exercise(radical), whole_of(key(radical))
    table, plan = made.reasoning, made.plan
    reach = {place.id: place.minutes for place in table.places}
    used = {place for needs in table.needs for place in needs} - {*table.open}
    everything = sum(table.reading_minutes) + sum(reach[place] for place in used)
    for seed in range(5):
        order = random.Random(seed).sample(range(len(made.tests)), len(made.tests))
        state, minutes = plan.start, []
        for test in order:
            minutes.append(plan.minutes(state, test))
            state = plan.after(state, test, made.actual_outcome[test])
        assert sum(minutes) == pytest.approx(everything)
        along = minutes_along(record, [record.tests[test] for test in order])
        assert along == pytest.approx(minutes)
        assert made.candidates.index(made.fault) in state.candidates


@for_each_radical
def test_fault_is_seen_on_its_way_wherever_a_test_can_show_it(radical):
    """An abnormal reading proves it; what no test shows, the repair that is tried.

    Where nothing is wrong there is nothing to see.
    """
    made = exercise(radical)
    tests = [test for test, _ in made.way]
    _, end = made.way[-1]
    abnormal = {
        test
        for test, words in enumerate(
            zip(made.actual_outcome, made.sound_outcome, strict=True)
        )
        if words[0] != words[1]
    }
    assert end.has_seen == bool(abnormal) == bool(abnormal & {*tests})
    assert made.plan.is_settled(end)
    is_none = made.fault.id.startswith("nothing")
    assert made.plan.is_proved(end) == (end.has_seen or is_none)
    assert not any(made.tests[test].mistake for test in tests)


def chosen_in(tree):
    """Numbers of all tests of a plan, whatever they read."""
    if isinstance(tree, PlannedTest):
        yield tree.test
        for _, part in tree.branches:
            yield from chosen_in(part)


FED_BY_MODULE = Radical(
    lesson=BOOK.lesson.id,
    family="cooler-fan",
    fault="control_feed_open_at_times",
    variant=Variant(drive="high side"),
)


def of_the_shaken(made, minutes):
    """What decides the plan where the operator speaks of shaking: places as given."""
    table = made.reasoning
    kept = [n for n, fault in enumerate(made.candidates) if fault.manner == "moved"]
    return replace(
        table,
        faults=tuple(table.faults[n] for n in kept),
        outcomes=tuple(table.outcomes[n] for n in kept),
        places=tuple(
            replace(place, minutes=minutes.get(place.id, place.minutes))
            for place in table.places
        ),
    )


def test_plans_take_every_recording_of_one_section():
    """Each of them somewhere, and that of the ground where the load lies deep.

    A ground point is then nearer than the load, where a meter would show its drop.
    That of the wire from module to relay where both lie side by side, and the module
    feeds the coil.
    """
    beside = new_exercise(BOOK, FED_BY_MODULE, SECRET.value, ("s01", "module"))
    near = of_the_shaken(beside, {"module": 1.0})
    taken = {beside.tests[test].id for test in chosen_in(near.plan.tree)}
    for radical in EACH_FAULT:
        if radical.fault in AT_TIMES:
            made = exercise(radical)
            tables = made.reasoning, of_the_shaken(made, {"load": 12.0, "ground": 2.0})
            taken |= {
                made.tests[test].id
                for table in tables
                for test in chosen_in(table.plan.tree)
            }
    recorded = {name for name, test in TESTS.items() if test.setup.alone}
    assert recorded <= taken


@cache
def clamp_shares(share_of_access):
    """Share of plans that begin with a clamp, by complaint and over all of them."""
    begun = defaultdict(list)
    for made in map(exercise, filter(has_relay, EACH_FAULT)):
        _test, is_clamp = first_test(with_access(made, share_of_access))
        begun[made.symptom].append(is_clamp)
        begun["all"].append(is_clamp)
    return {kind: fmean(clamps) for kind, clamps in begun.items()}


@pytest.mark.parametrize(
    "share_of_access", [1.0, pytest.param(0.5, marks=pytest.mark.nightly)]
)
def test_plan_begins_with_a_clamp_at_the_fuses(share_of_access):
    """Current first, because the fuses are near and the parts are not.

    No rule prefers it: it follows from the minutes, and still from half of those that
    it takes to reach the parts.
    """
    share = clamp_shares(share_of_access)
    assert share["does nothing"] >= 0.8
    assert share["never stops"] >= 0.8
    assert share["all"] >= 0.5


def test_plan_behind_a_smart_switch_begins_at_the_scan_tool():
    """What the module tells of itself is nearer than any fuse, and divides best."""
    begun = {
        made.symptom: first_test(made)[0]
        for made in map(exercise, EACH_FAULT)
        if made.specification.nominal.is_smart
    }
    assert begun["does nothing"] == "read_codes"
    assert begun["never stops"] == "read_command"
