"""The plan is exact: no order of tests has fewer expected minutes."""

import math
from itertools import permutations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from generator.model.plan import least_cost
from tests.strategies import plan_problems


def parts(outcome, candidates, test):
    """Candidates by what the test shows."""
    found = {}
    for fault in candidates:
        found.setdefault(outcome[fault][test], []).append(fault)
    return list(found.values())


def tried(problem, candidates, minutes):
    """Least expected minutes of wrong repairs, over all orders of trying them."""
    prior, _, _, repair = problem
    weight = {r: sum(prior[f] for f in candidates if repair[f] == r) for r in repair}
    orders = permutations({repair[f] for f in candidates})
    total = sum(prior[f] for f in candidates)
    return min(
        sum(
            minutes.get(wrong, 0.0) * weight[right] / total
            for place, right in enumerate(order)
            for wrong in order[:place]
        )
        for order in orders
    )


def brute_force(problem, candidates, minutes):
    """Least expected minutes by trying every test at every point, without memory."""
    prior, outcome, cost, repair = problem
    if len({repair[fault] for fault in candidates}) == 1:
        return 0.0
    total = sum(prior[fault] for fault in candidates)
    choices = [
        cost[test]
        + sum(
            sum(prior[f] for f in part) / total * brute_force(problem, part, minutes)
            for part in split
        )
        for test in range(len(cost))
        if len(split := parts(outcome, candidates, test)) > 1
    ]
    return (
        min(choices, default=None) if choices else tried(problem, candidates, minutes)
    )


def drawn_problem(seed):
    """A small table of any shape, with minutes of each repair."""
    rng = np.random.default_rng(seed)
    n_faults, n_tests, n_words, n_repairs = rng.integers([1, 0, 2, 1], [8, 6, 4, 6])
    problem = (
        rng.uniform(0.05, 2.0, n_faults).tolist(),
        rng.integers(n_words, size=(n_faults, n_tests)).tolist(),
        rng.uniform(1.0, 15.0, n_tests).tolist(),
        rng.integers(n_repairs, size=n_faults).tolist(),
    )
    return problem, dict(enumerate(rng.uniform(0.0, 60.0, n_repairs).tolist()))


def test_plan_equals_brute_force_over_all_trees():
    """In 500 tables the floors cut no better plan away, whatever test comes first."""
    for seed in range(500):
        problem, minutes = drawn_problem(seed)
        plan, every = least_cost(*problem, minutes), range(len(problem[0]))
        expected = brute_force(problem, every, minutes)
        assert plan.expected_cost == pytest.approx(expected, abs=1e-9), seed
        for test, cost in enumerate(plan.costs(every)):
            assert cost == pytest.approx(first(problem, test, minutes), abs=1e-9), seed


def first(problem, test, minutes):
    """Expected minutes by brute force when a test is done first."""
    prior, outcome, cost, _ = problem
    return cost[test] + sum(
        sum(prior[f] for f in part) / sum(prior) * brute_force(problem, part, minutes)
        for part in parts(outcome, range(len(prior)), test)
    )


@given(plan_problems(), st.lists(st.integers(1, 9), min_size=3, max_size=3))
def test_plan_with_whole_minutes_equals_brute_force(problem, trial):
    """Also where many plans are as good as one another."""
    minutes = dict(zip("xyz", trial, strict=True))
    expected = brute_force(problem, range(len(problem[0])), minutes)
    plan = least_cost(*problem, minutes)
    assert plan.expected_cost == pytest.approx(expected, abs=1e-9)


@given(plan_problems(), st.randoms(use_true_random=False))
def test_order_of_faults_and_tests_does_not_matter(problem, random):
    """A shuffled table has the same expected minutes."""
    prior, outcome, cost, repair = problem
    rows = random.sample(range(len(prior)), len(prior))
    columns = random.sample(range(len(cost)), len(cost))
    shuffled = least_cost(
        [prior[i] for i in rows],
        [[outcome[i][j] for j in columns] for i in rows],
        [cost[j] for j in columns],
        [repair[i] for i in rows],
    )
    assert shuffled.expected_cost == pytest.approx(least_cost(*problem).expected_cost)


@given(plan_problems(), st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_scale_of_priors_and_minutes(problem, prior_factor, cost_factor):
    """Priors count by their ratios; all minutes times a factor is the cost times it."""
    prior, outcome, cost, repair = problem
    scaled = least_cost(
        np.array(prior) * prior_factor, outcome, np.array(cost) * cost_factor, repair
    )
    one = least_cost(*problem).expected_cost
    assert scaled.expected_cost == pytest.approx(one * cost_factor)


@given(plan_problems(), st.data())
def test_value_is_the_cost_of_the_best_test(problem, data):
    """No test costs less than the value of a set, and the planned one costs that."""
    plan, every = least_cost(*problem), range(len(problem[0]))
    some = data.draw(st.sets(st.sampled_from(every), min_size=1))
    best = plan.best_test(some)
    if best is not None:
        assert plan.cost_of(some, best) == pytest.approx(plan.value(some))
    if not plan.is_settled(some) and best is not None:
        costs = [plan.cost_of(some, test) for test in range(len(problem[2]))]
        assert min(costs) >= plan.value(some) - 1e-9


@given(plan_problems(), st.data())
def test_best_test_always_tells_something(problem, data):
    """It is none exactly where the cause is proved or no test can tell more."""
    plan, every = least_cost(*problem), range(len(problem[0]))
    some = sorted(data.draw(st.sets(st.sampled_from(every), min_size=1)))
    splitting = [
        t for t in range(len(problem[2])) if len(parts(problem[1], some, t)) > 1
    ]
    best = plan.best_test(some)
    assert (best is None) == (plan.is_settled(some) or not splitting)
    assert best is None or best in splitting


@given(plan_problems(max_tests=4), st.data())
def test_after_keeps_the_candidates_that_fit(problem, data):
    """The outcomes of a test share its candidates out among them."""
    assume(problem[2])
    plan = least_cost(*problem)
    test = data.draw(st.sampled_from(range(len(problem[2]))))
    kept = [plan.after(range(len(problem[0])), test, word) for word in "abc"]
    assert sorted(fault for group in kept for fault in group) == list(
        range(len(problem[0]))
    )
    for word, group in zip("abc", kept, strict=True):
        assert all(problem[1][fault][test] == word for fault in group)


@given(plan_problems(), st.data())
def test_settled_set_costs_nothing(problem, data):
    """Candidates that share one repair need no further minute."""
    plan = least_cost(*problem)
    repair = data.draw(st.sampled_from(problem[3]))
    same = [fault for fault, r in enumerate(problem[3]) if r == repair]
    assert plan.is_settled(same)
    assert plan.value(same) == 0.0
    assert plan.best_test(same) is None


@given(plan_problems(), st.integers(0, 3))
def test_another_test_never_makes_the_plan_dearer(problem, seed):
    """One test more on offer is a choice more, where every set can be told apart."""
    prior, outcome, cost, repair = problem
    rng = np.random.default_rng(seed)
    # A first test that tells all, so that no set is left to trials without cost.
    full = [f"{number}{row}" for number, row in enumerate(outcome)]
    table = [[word, *row] for word, row in zip(full, outcome, strict=True)]
    more = [[*row, str(rng.integers(2))] for row in table]
    less = least_cost(prior, table, [20, *cost], repair).expected_cost
    assert least_cost(prior, more, [20, *cost, 1], repair).expected_cost <= less + 1e-9


def test_of_equal_tests_the_cheaper_is_planned():
    """What tells the same for fewer minutes comes first."""
    plan = least_cost([1, 1], ["aa", "bb"], [5, 3], "xy")
    assert plan.best_test([0, 1]) == 1
    assert plan.cost_of([0, 1], 0) - plan.value([0, 1]) == pytest.approx(2)


def test_test_that_tells_nothing_wastes_its_minutes():
    """Its cost is its own minutes on top of what is then still to do."""
    plan = least_cost([1, 1], ["aa", "ab"], [5, 3], "xy")
    assert plan.cost_of([0, 1], 0) == pytest.approx(5 + 3)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (([1], ["a", "b"], [1], "xy"), "one entry a fault"),
        (([1, 1], ["a", "b"], [1], "x"), "one entry a fault"),
        (([], [], [1], ""), "one entry a fault"),
        (([1, 1], ["a", "bc"], [1], "xy"), "one entry a test"),
        (([1, 0], ["a", "b"], [1], "xy"), "above zero"),
        (([1, math.nan], ["a", "b"], [1], "xy"), "above zero"),
        (([1, math.inf], ["a", "b"], [1], "xy"), "above zero"),
        (([1, 1], ["a", "b"], [0], "xy"), "above zero"),
        (([1, 1], ["a", "b"], [math.nan], "xy"), "above zero"),
        (([1, 1], ["a", "b"], [math.inf], "xy"), "above zero"),
    ],
)
def test_impossible_tables_are_refused(arguments, said):
    """Shapes must agree, priors and minutes be positive and finite."""
    with pytest.raises(ValueError, match=said):
        least_cost(*arguments)


@pytest.mark.parametrize("candidates", [[], [2], [0, 7], [-1]])
def test_candidates_must_be_faults_of_the_table(candidates):
    """A set is never empty and never holds another table's fault."""
    plan = least_cost([1, 1], ["a", "b"], [1], "xy")
    with pytest.raises(ValueError, match=r"below 2|negative"):
        plan.value(candidates)
