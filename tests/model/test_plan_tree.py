"""The tree of a plan says what its minutes say, and what to do where no test helps."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.plan import PlannedTest, PlannedTrial, Proved, least_cost
from tests.strategies import plan_problems

MINUTES = {"x": 30.0, "y": 10.0, "z": 20.0}


def expected_minutes(tree, prior):
    """Minutes of a tree, walked for every candidate."""
    if isinstance(tree, Proved):
        return 0.0
    if isinstance(tree, PlannedTrial):
        chance = weight(tree.otherwise, prior) / weight(tree, prior)
        return chance * (tree.minutes + expected_minutes(tree.otherwise, prior))
    return tree.minutes + sum(
        weight(branch, prior) / weight(tree, prior) * expected_minutes(branch, prior)
        for _, branch in tree.branches
    )


def weight(tree, prior):
    """Prior of all candidates of a tree."""
    return sum(prior[candidate] for candidate in tree.candidates)


def nodes(tree):
    """A tree and all below it."""
    yield tree
    if isinstance(tree, PlannedTest):
        for _, branch in tree.branches:
            yield from nodes(branch)
    elif isinstance(tree, PlannedTrial):
        yield from nodes(tree.otherwise)


@given(plan_problems())
def test_tree_takes_the_minutes_of_the_plan(problem):
    """Walked for every candidate, the tree takes what the plan expects."""
    plan = least_cost(*problem, MINUTES)
    found = expected_minutes(plan.tree, problem[0])
    assert found == pytest.approx(plan.expected_cost, abs=1e-9)


@given(plan_problems())
def test_tree_goes_by_the_planned_tests(problem):
    """At every point stands the planned test, with the candidates it may leave."""
    plan = least_cost(*problem, MINUTES)
    for node in nodes(plan.tree):
        test = plan.best_test(node.candidates)
        assert isinstance(node, PlannedTest) == (test is not None)
        if isinstance(node, PlannedTest):
            assert node.test == test
            for shown, branch in node.branches:
                assert branch.candidates == plan.after(node.candidates, test, shown)


@given(plan_problems())
def test_every_branch_ends_with_the_repair_of_its_candidates(problem):
    """The repairs at the ends are those that cure the candidates there."""
    plan = least_cost(*problem, MINUTES)
    ends = [node for node in nodes(plan.tree) if isinstance(node, Proved)]
    for end in ends:
        assert {problem[3][candidate] for candidate in end.candidates} == {end.repair}


@given(plan_problems(max_tests=1))
def test_repairs_are_tried_only_where_no_test_splits(problem):
    """Then the more probable for its minutes comes first, each with its minutes."""
    plan = least_cost(*problem, MINUTES)
    for node in nodes(plan.tree):
        if isinstance(node, PlannedTrial):
            assert len({problem[1][candidate] for candidate in node.candidates}) == 1
            assert node.minutes == MINUTES[node.repair]
            later = node.otherwise
            chance = weight(node, problem[0]) - weight(later, problem[0])
            others = [c for c in later.candidates if problem[3][c] == later.repair]
            next_chance = sum(problem[0][c] for c in others)
            rate = next_chance / MINUTES[later.repair]
            assert chance / MINUTES[node.repair] >= rate - 1e-9


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
    assert plan.costs([0, 1]) == pytest.approx((9.5, 9.0))


def test_all_tests_that_are_as_good_are_named():
    """Two that tell the same for the same minutes, and the first is the planned one."""
    plan = least_cost([1, 1], ["aba", "bab"], [4, 3, 3], "xy")
    assert plan.best_tests([0, 1]) == (1, 2)
    assert plan.best_test([0, 1]) == plan.tree.test == 1


@given(plan_problems(), st.data())
def test_answers_do_not_hang_on_what_was_asked_before(problem, data):
    """A plan that was asked of other sets first gives the same numbers and tests."""
    every = range(len(problem[0]))
    asked = data.draw(st.lists(st.sets(st.sampled_from(every), min_size=1), max_size=3))
    fresh, used = least_cost(*problem), least_cost(*problem)
    for some in asked:
        used.costs(some)
    assert used.best_tests(every) == fresh.best_tests(every)
    assert used.costs(every) == pytest.approx(fresh.costs(every), abs=1e-9)


@pytest.mark.parametrize("minutes", [{"x": 1}, {"x": 1, "y": -1}, {"x": 1, "y": 1e999}])
def test_minutes_of_every_repair_are_needed(minutes):
    """None may be missing, negative or endless."""
    with pytest.raises(ValueError, match="repair_cost must give 'y' finite minutes"):
        least_cost([1, 1], ["a", "a"], [1], "xy", minutes)
