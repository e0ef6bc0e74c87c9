"""Floors under plans: what each candidate's own way takes, never more than a plan."""

import pytest

from generator.model.plan import Access, least_cost
from tests.tables import drawn_table, table_with_places


def check_floors(plan):
    """No floor of the start, or of what a test leaves, lies above the least cost."""
    search = plan._search
    for test in plan.helping(plan.start):
        for state in (plan.start, *search.after(plan.start, test)):
            assert search.floor.under(state) <= search.least(state) + 1e-9
        minutes = search.minutes(plan.start, test)
        floor = search.floor.under_choices(plan.start)(minutes)
        assert floor <= search.cost_of(plan.start, test) + 1e-9


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
    floor = plan._search.floor
    assert floor.under(plan.start) == pytest.approx((7 + 2) + (7 + 3) + (7 + 2 + 3))
    opened = plan.start._replace(opened=1)
    assert floor.under(opened) == pytest.approx(2 + 3 + (2 + 3))


def test_next_test_is_paid_by_every_candidate():
    """Of 20 minutes there is no way around for any, of 1 minute for all."""
    plan = least_cost([1, 1], ["ab", "bb"], [4, 20], "xy")
    under = plan._search.floor.under_choices(plan.start)
    assert [under(20), under(1)] == pytest.approx([20 + 20, 4 + 4])
