"""The plan is exact: no order of tests has fewer expected minutes."""

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from generator.model.plan import Access, Proof, least_cost
from generator.model.plan_tree import PlannedTest, PlannedTrial, Proved, State
from tests.strategies import plan_problems, plan_tables
from tests.tables import drawn_table, minutes_of, nodes, table_with_places


def check_against_brute_force(table):
    """Compare the plan, its tree and every first test with all that can be done."""
    plan = table.plan
    expected = table.least(table.start)
    assert plan.expected_cost == pytest.approx(expected, abs=1e-9)
    assert minutes_of(plan.tree, table.prior) == pytest.approx(expected, abs=1e-9)
    for test in range(len(table.cost)):
        first = table.with_first(table.start, test)
        assert plan.cost_of(plan.start, test) == pytest.approx(first, abs=1e-9)
        minutes = table.minutes(table.start, test)
        assert plan.minutes(plan.start, test) == pytest.approx(minutes, abs=1e-9)
        assert plan.wasted(plan.start, test) == pytest.approx(
            first - expected, abs=1e-9
        )


def test_plan_equals_brute_force_over_all_trees():
    """In 500 tables the floors cut no better plan away, whatever test comes first."""
    for seed in range(500):
        check_against_brute_force(drawn_table(seed))


def test_plan_with_places_and_proof_equals_brute_force():
    """In 500 tables more, where places are paid once and a cause has to be shown."""
    for seed in range(500):
        check_against_brute_force(table_with_places(seed))


def test_tables_with_places_hold_what_they_are_to_try():
    """Places open and closed, ends without a proof, trials, causes that are none."""
    tables = [table_with_places(seed) for seed in range(500)]
    walked = [node for table in tables for node in nodes(table.plan.tree)]
    kinds = Counter(type(node) for node in walked)
    assert min(kinds[PlannedTest], kinds[PlannedTrial], kinds[Proved]) > 100
    plain = [
        replace(t, sound=None, harmless=frozenset()).plan.expected_cost for t in tables
    ]
    near = [replace(t, access=[0.0] * len(t.access)).plan.expected_cost for t in tables]
    found = [t.plan.expected_cost for t in tables]
    assert sum(a > b + 1e-9 for a, b in zip(found, plain, strict=True)) > 100
    assert sum(a > b + 1e-9 for a, b in zip(found, near, strict=True)) > 100
    assert sum(bool(t.opened) for t in tables) > 100
    assert sum(bool(t.harmless) for t in tables) > 100


@given(plan_tables())
def test_plan_equals_brute_force_from_every_state(table):
    """Also where many plans are as good, from wherever tests lead."""
    plan, states = table.plan, [table.start]
    for state in states:
        left, opened, has_seen = state
        where = State.of(left, opened, has_seen=has_seen)
        assert plan.value(where) == pytest.approx(table.least(state), abs=1e-9)
        assert plan.is_proved(where) == table.is_proved(state)
        assert list(plan.helping(where)) == table.changing(state)
        for test in range(len(table.cost)):
            rest = table.after(state, test)
            shown = [table.outcome[min(part)][test] for part, _, _ in rest]
            assert [plan.after(where, test, word) for word in shown] == [
                State.of(part, more, has_seen=seen) for part, more, seen in rest
            ]
        # Down one way only: that of the first candidate.
        if len(states) <= len(table.cost):
            states.append(table.after(state, len(states) - 1)[0])


def test_place_once_open_costs_nothing_more():
    """Two readings at one place of 7 minutes take 7 + 2 + 3, in either order."""
    plan = least_cost(
        [1, 1, 1],
        ["ba", "ab", "aa"],
        [2, 3],
        "xyz",
        access=Access(minutes=[7], needs=[[0], [0]]),
    )
    assert plan.minutes(plan.start, 1) == 10
    state = plan.after(plan.start, 1, "a")
    assert state == State.of([0, 2], [0], has_seen=True)
    assert plan.minutes(state, 0) == 2
    # The first two minutes always, the other three in two cases of three.
    assert plan.expected_cost == pytest.approx(7 + 2 + 3 * 2 / 3)
    opened = Access(minutes=[7], needs=[[0], [0]], open=[0])
    nearby = least_cost([1, 1, 1], ["ba", "ab", "aa"], [2, 3], "xyz", access=opened)
    assert nearby.expected_cost == pytest.approx(plan.expected_cost - 7)


def test_cheap_reading_behind_a_far_place_waits():
    """One minute behind ten of access comes after five that are open already."""
    far = Access(minutes=[10], needs=[[0], []])
    plan = least_cost([1, 1], ["aa", "bb"], [1, 5], "xy", access=far)
    assert plan.best_tests(plan.start) == (1,)
    assert plan.cost_of(plan.start, 0) == pytest.approx(11)


def test_cause_is_proved_by_an_abnormal_reading():
    """What every other reading has left alone must still be seen, for 4 minutes."""
    table = ["an", "nb"]
    proof = Proof(sound="nn")
    plan = least_cost([1, 1], table, [1, 4], "xy", proof=proof)
    by_first = plan.after(plan.start, 0, "n")
    assert by_first == State.of([1], has_seen=False)
    assert plan.is_settled(by_first)
    assert not plan.is_proved(by_first)
    assert plan.best_test(by_first) == 1
    assert plan.is_proved(plan.after(by_first, 1, "b"))
    # One minute, and in half of all cases four.
    assert plan.expected_cost == pytest.approx(1 + 4 / 2)
    without = least_cost([1, 1], table, [1, 4], "xy")
    assert without.expected_cost == pytest.approx(1)


def test_where_nothing_is_wrong_nothing_abnormal_is_looked_for():
    """The last reading as expected ends the search for a cause that is none."""
    proof = Proof(sound="n", harmless=[1])
    plan = least_cost([1, 1], "an", [3], "xy", proof=proof)
    end = plan.after(plan.start, 0, "n")
    assert not end.has_seen
    assert plan.is_proved(end)
    assert plan.expected_cost == pytest.approx(3)


def test_cause_that_no_test_shows_is_proved_by_its_repair():
    """Every reading on offer is sound: the repair is what is left to try."""
    plan = least_cost([1], ["n"], [3], "x", {"x": 20}, proof=Proof(sound="n"))
    assert plan.best_test(plan.start) is None
    assert not plan.is_proved(plan.start)
    assert plan.tree == Proved(candidates=(0,), repair="x")
    assert plan.expected_cost == 0


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
        t for t in range(len(problem[2])) if len({problem[1][f][t] for f in some}) > 1
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
    after = [plan.after(range(len(problem[0])), test, word) for word in "abc"]
    kept = [state.candidates for state in after]
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


def test_what_is_recalled_is_what_is_searched():
    """Told its start and its way, a plan says the same of every test on that way."""
    for seed in range(100):
        plan, searched = table_with_places(seed).plan, table_with_places(seed).plan
        shown = searched.outcome[0]
        way = [
            searched.start,
            *(state for _test, state in searched.way(searched.start, shown)),
        ]
        first = {state: searched.best_test(state) for state in way[:-1]}
        told = plan.recalling(first, {searched.start: searched.expected_cost})
        for state in way:
            assert told.best_test(state) == searched.best_test(state)
            assert told.best_tests(state) == searched.best_tests(state)
            for test in searched.helping(state):
                wasted = searched.wasted(state, test)
                assert told.wasted(state, test) == pytest.approx(wasted, abs=1e-9)


def test_recalled_start_is_believed():
    """What is told is not searched: wrong minutes come back as they were told."""
    plan = table_with_places(0).plan
    told = plan.recalling({plan.start: 1}, {plan.start: 99.0})
    assert (told.best_test(plan.start), told.expected_cost) == (1, 99.0)
