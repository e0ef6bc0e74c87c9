"""The tree of a plan says what its minutes say, and what to do where no test helps."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.plan import least_cost
from generator.model.plan_tree import PlannedTest, PlannedTrial, Proved
from tests.strategies import plan_tables
from tests.tables import minutes_of, nodes

MINUTES = {"x": 30.0, "y": 10.0, "z": 20.0}


def standing(plan):
    """Every node of the tree, with the state of the search there."""
    yield from _standing(plan, plan.start, plan.tree)


def _standing(plan, state, node):
    yield state, node
    if isinstance(node, PlannedTest):
        for shown, branch in node.branches:
            yield from _standing(plan, plan.after(state, node.test, shown), branch)


@given(plan_tables())
def test_tree_takes_the_minutes_of_the_plan(table):
    """Walked for every candidate, the tree takes what the plan expects."""
    found = minutes_of(table.plan.tree, table.prior)
    assert found == pytest.approx(table.plan.expected_cost, abs=1e-9)


@given(plan_tables())
def test_tree_goes_by_the_planned_tests(table):
    """At every point stands the planned test, with its minutes there and then."""
    plan = table.plan
    for state, node in standing(plan):
        test = plan.best_test(state)
        assert node.candidates == state.candidates
        assert isinstance(node, PlannedTest) == (test is not None)
        if isinstance(node, PlannedTest):
            assert node.test == test
            assert node.minutes == plan.minutes(state, test)
            shown = [label for label, _ in node.branches]
            words = {table.outcome[cause][test] for cause in state.candidates}
            assert sorted(shown) == sorted(words)


@given(plan_tables())
def test_tree_from_a_state_is_that_branch_of_the_whole(table):
    """Who comes to a state otherwise goes on in the same way."""
    plan = table.plan
    for state, node in standing(plan):
        # Within the trials of repairs there is no state of its own.
        assert plan.tree_from(state) == node


@given(plan_tables())
def test_every_branch_ends_with_the_repair_of_its_candidates(table):
    """It cures all that is left, which was seen wherever a test can show it."""
    plan = table.plan
    for node in nodes(plan.tree):
        if isinstance(node, Proved):
            assert {table.repair[c] for c in node.candidates} == {node.repair}
    for state, node in standing(plan):
        if isinstance(node, Proved) and not plan.is_proved(state):
            assert not table.changing((set(state.candidates), set(state.open), False))


@given(plan_tables())
def test_way_follows_the_tree(table):
    """Along the outcomes of each cause, to the end of its branch."""
    plan = table.plan
    for cause, outcomes in enumerate(table.outcome):
        state, node = plan.start, plan.tree
        for test, after in plan.way(plan.start, outcomes):
            assert node.test == test
            assert after == plan.after(state, test, outcomes[test])
            state, node = after, dict(node.branches)[outcomes[test]]
        assert not isinstance(node, PlannedTest)
        assert cause in state.candidates


@given(plan_tables(max_tests=1))
def test_repairs_are_tried_only_where_no_test_helps(table):
    """Then the more probable for its minutes comes first, each with its minutes."""
    for node in nodes(table.plan.tree):
        if isinstance(node, PlannedTrial):
            # Of several that no test tells apart each row is the same.
            assert len({tuple(table.outcome[c]) for c in node.candidates}) == 1
            assert node.minutes == table.trial[node.repair]
            later = node.otherwise
            chance = table.weight(node.candidates) - table.weight(later.candidates)
            others = [c for c in later.candidates if table.repair[c] == later.repair]
            rate = table.weight(others) / table.trial[later.repair]
            assert chance / table.trial[node.repair] >= rate - 1e-9


def test_trials_of_three_repairs_that_look_alike():
    """At p .5 .3 .2 and 30, 10 and 20 minutes: y, then x, then z is what is left.

    p/c is 1/60, 3/100 and 1/100. It takes 0.7 x 10 + 0.2 x 30 = 13 minutes.
    """
    plan = least_cost([0.5, 0.3, 0.2], ["a", "a", "a"], [5], "xyz", MINUTES)
    first, second, last = nodes(plan.tree)
    assert [first.repair, second.repair, last.repair] == ["y", "x", "z"]
    assert last == Proved(candidates=(2,), repair="z")
    assert plan.expected_cost == pytest.approx(13)


def test_test_that_proves_nothing_is_never_planned():
    """A test done in a wrong state shows the same of every circuit, and costs only."""
    table = [["proves nothing", "low"], ["proves nothing", "high"]]
    plan = least_cost([1, 1], table, [0.5, 9.0], "xy")
    assert plan.best_tests([0, 1]) == (1,)
    assert [plan.cost_of([0, 1], n) for n in (0, 1)] == pytest.approx([9.5, 9.0])


def test_all_tests_that_are_as_good_are_named():
    """Two that tell the same for the same minutes, and the first is the planned one."""
    plan = least_cost([1, 1], ["aba", "bab"], [4, 3, 3], "xy")
    assert plan.best_tests([0, 1]) == (1, 2)
    assert plan.best_test([0, 1]) == plan.tree.test == 1


@given(plan_tables(), st.data())
def test_answers_do_not_hang_on_what_was_asked_before(table, data):
    """A plan that was asked of other states first gives the same numbers and tests."""
    every, tests = range(len(table.prior)), range(len(table.cost))
    asked = data.draw(st.lists(st.sets(st.sampled_from(every), min_size=1), max_size=3))
    fresh, used = table.plan, table.plan
    for some in asked:
        for test in tests:
            used.cost_of(some, test)
    for where in (used.start, *asked):
        assert used.best_tests(where) == fresh.best_tests(where)
        costs = [fresh.cost_of(where, test) for test in tests]
        assert [used.cost_of(where, n) for n in tests] == pytest.approx(costs, abs=1e-9)


@pytest.mark.parametrize("minutes", [{"x": 1}, {"x": 1, "y": -1}, {"x": 1, "y": 1e999}])
def test_minutes_of_every_repair_are_needed(minutes):
    """None may be missing, negative or endless."""
    with pytest.raises(ValueError, match="repair_cost must give 'y' finite minutes"):
        least_cost([1, 1], ["a", "a"], [1], "xy", minutes)
