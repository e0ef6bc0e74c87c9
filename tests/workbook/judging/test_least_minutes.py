"""The search that pages and checks use finds what the plan finds, by another way."""

import pytest
from hypothesis import given

from tests.strategies import plan_tables
from tests.tables import drawn_table, table_with_places
from workbook.judging.least_minutes import Search, Test, bits_of, mask_of, shown_as


def search_of(table):
    """The search over a table of words; one without a proof has none to see."""
    repairs = list(dict.fromkeys(table.repair))
    sound = table.sound or [None] * len(table.cost)
    columns = zip(*table.outcome, strict=True) if table.cost else ()
    return Search(
        priors=table.prior,
        repairs=[repairs.index(each) for each in table.repair],
        trial_min={n: table.trial[each] for n, each in enumerate(repairs)},
        harmless=mask_of(iter(table.harmless)),
        tests=[
            Test(reading_min=cost, needs=mask_of(iter(needs)), shows=shown_as(*shown))
            for cost, needs, shown in zip(
                table.cost, table.needs, zip(columns, sound, strict=True), strict=True
            )
        ],
        reach_min=table.access,
    )


def packed(where):
    """A state of the plan as the search has it."""
    return mask_of(iter(where.candidates)), mask_of(iter(where.open)), where.has_seen


def check_against_plan(table, where):
    """Compare all that both say of a state."""
    plan, search, state = table.plan, search_of(table), packed(where)
    assert search.expected(state) == pytest.approx(plan.value(where), abs=1e-9)
    assert search.is_proved(state) == plan.is_proved(where)
    assert search.is_settled(state[0]) == plan.is_settled(where)
    for number, test in enumerate(search.tests):
        cost, minutes = plan.cost_of(where, number), plan.minutes(where, number)
        assert search.expected_with(state, test) == pytest.approx(cost, abs=1e-9)
        assert search.minutes(state, test) == pytest.approx(minutes, abs=1e-9)
        assert search.helps(state, test) == (number in plan.helping(where))


@pytest.mark.parametrize("make", [drawn_table, table_with_places])
def test_search_equals_the_plan_of_random_tables(make):
    """In 500 tables of each kind, whatever test comes first."""
    for seed in range(500):
        table = make(seed)
        check_against_plan(table, table.plan.start)


@given(plan_tables())
def test_search_equals_the_plan_wherever_a_way_leads(table):
    """Along the outcomes of every cause."""
    plan = table.plan
    for outcomes in table.outcome:
        for _, where in plan.way(plan.start, outcomes):
            check_against_plan(table, where)


def test_search_of_a_table_worked_out_by_hand():
    """A place of 7 minutes, readings of 2 and 3, and nothing wrong in one of three.

    The second reading comes first, as it is in one case of three that it saves the
    first: 7 + 3 + 2/3 x 2 against 7 + 2 + 2/3 x 3 the other way round.
    """
    search = Search(
        priors=[1, 1, 1],
        repairs=[0, 1, 2],
        trial_min=dict.fromkeys(range(3), 30.0),
        harmless=0b100,
        tests=[
            Test(reading_min=2, needs=0b1, shows=shown_as("bnn", "n")),
            Test(reading_min=3, needs=0b1, shows=shown_as("nbn", "n")),
        ],
        reach_min=[7],
    )
    start, (first, second) = (0b111, 0, False), search.tests
    assert search.expected_with(start, first) == pytest.approx(7 + 2 + 3 * 2 / 3)
    assert search.expected_with(start, second) == pytest.approx(7 + 3 + 2 * 2 / 3)
    assert search.expected(start) == pytest.approx(11)
    assert search.after(start, first) == [(0b001, 1, True), (0b110, 1, False)]
    assert search.minutes((0b110, 1, False), second) == 3


def test_masks_give_their_numbers_back():
    """None, one, and the highest."""
    for numbers in ([], [0], [1, 4, 63]):
        assert list(bits_of(mask_of(iter(numbers)))) == numbers


def test_candidates_without_a_test_are_tried_in_turn():
    """At p .5 .3 .2 and 30, 10 and 20 minutes it takes 0.7 x 10 + 0.2 x 30."""
    search = Search(
        priors=[0.5, 0.3, 0.2],
        repairs=[0, 1, 2],
        trial_min={0: 30.0, 1: 10.0, 2: 20.0},
        harmless=0,
        tests=[],
        reach_min=[],
    )
    assert search.expected((0b111, 0, False)) == pytest.approx(13)
