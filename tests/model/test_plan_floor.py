"""Floors under plans: what each candidate's own way takes, never more than a plan."""

import pytest

from generator.model.plan import Access, least_cost
from generator.model.plan_tree import State
from tests.tables import drawn_table, table_with_places


def circuits(plan, state):
    """What is left, and the sound circuit behind all faults until a sign was seen."""
    return state.left if state.has_seen else state.left | 1 << len(plan.repair)


def floor_under(plan, state):
    """A floor under the weighted cost of a state."""
    floor = plan._search.floor
    return floor.under(floor.ways(circuits(plan, state)), state.opened)


def check_floors(plan):
    """No floor of the start, or of what a test leaves, lies above the least cost.

    What is left has the same ways, whether those of the start were known or not.
    """
    search, floor = plan._search, plan._search.floor
    every = circuits(plan, plan.start)
    ways = floor.ways(every)
    for test in plan.helping(plan.start):
        for state in (plan.start, *search.after(plan.start, test)):
            state = State(*state)
            assert floor_under(plan, state) <= search.least(state) + 1e-9
            left = circuits(plan, state)
            assert floor.ways(left, every, ways) == floor.ways(left)


@pytest.mark.parametrize("draw", [drawn_table, table_with_places])
def test_floor_is_never_above_the_least_cost(draw):
    """In 300 tables of each kind, else the search would cut off the best plan."""
    for seed in range(300):
        check_floors(draw(seed).plan)


def test_candidate_pays_for_all_tests_that_its_way_needs():
    """The first test tells x from both others, the second y; z takes both, for 2 + 3.

    Their place is paid once: 7 minutes each.
    """
    plan = least_cost(
        [1, 1, 1],
        ["ba", "ab", "aa"],
        [2, 3],
        "xyz",
        access=Access(minutes=[7], needs=[[0], [0]]),
    )
    assert floor_under(plan, plan.start) == pytest.approx(
        (7 + 2) + (7 + 3) + (7 + 2 + 3)
    )
    opened = plan.start._replace(opened=1)
    assert floor_under(plan, opened) == pytest.approx(2 + 3 + (2 + 3))


def test_test_that_another_makes_needless_is_not_searched():
    """Of equal columns the quicker stays, and none that goes far for what is told near.

    The third tells less than the second for the same minutes, the fourth nothing.
    """
    plan = least_cost(
        [1, 1, 1],
        ["aabna", "bbbna", "cccnb"],
        [5, 3, 3, 1, 2],
        "xyz",
        access=Access(minutes=[7], needs=[[], [], [], [], [0]]),
    )
    assert [minutes for minutes, _, _ in plan._search.tests] == [2, 3]
    assert plan.best_test(plan.start) == 1
    assert plan.wasted(plan.start, 0) == pytest.approx(2)
