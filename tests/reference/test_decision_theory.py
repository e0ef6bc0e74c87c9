"""The plan against decision theory that is older than it.

The decision rules are textbook facts, the sources that name them are given with each;
figures without a source of their own are derived from the rule. Posteriors are checked
against pyAgrum, a general library for Bayesian networks.
"""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.plan import least_cost
from tests.absent import library
from tests.strategies import plan_problems


def every_subset(n_faults):
    """Outcome table of all tests that split a set of faults in two."""
    subsets = range(1, 2 ** (n_faults - 1))
    return [[subset >> fault & 1 for subset in subsets] for fault in range(n_faults)]


def test_tests_of_every_kind_reach_huffmans_length():
    """Priors .4 .2 .2 .1 .1 take 2.2 unit tests (Huffman 1952, Sayood's example)."""
    table = every_subset(5)
    plan = least_cost([0.4, 0.2, 0.2, 0.1, 0.1], table, [1] * len(table[0]), "vwxyz")
    assert plan.expected_cost == pytest.approx(2.2)


@given(st.lists(st.floats(0.01, 1.0), min_size=2, max_size=6))
def test_expected_tests_lie_within_a_bit_of_the_entropy(prior):
    """With any split on offer H <= E < H + 1 (Zimmerman 1959)."""
    table = every_subset(len(prior))
    plan = least_cost(prior, table, [1] * len(table[0]), range(len(prior)))
    entropy = -sum(p * math.log2(p) for p in np.array(prior) / sum(prior))
    assert entropy - 1e-9 <= plan.expected_cost < entropy + 1


@given(plan_problems(max_minutes=1))
def test_no_plan_beats_the_entropy_of_the_repairs(problem):
    """Each test of three outcomes tells log2(3) bits at most."""
    prior, outcome, cost, repair = problem
    # A last test that tells everything in three-way steps keeps all sets splittable.
    digits = [np.base_repr(number, 3).zfill(2) for number in range(len(prior))]
    table = [[*row, *word] for row, word in zip(outcome, digits, strict=True)]
    plan = least_cost(prior, table, [*cost, 1, 1], repair)
    share = [
        sum(p for p, r in zip(prior, repair, strict=True) if r == one) / sum(prior)
        for one in set(repair)
    ]
    entropy = -sum(p * math.log(p, 3) for p in share)
    assert plan.expected_cost >= entropy - 1e-9


@pytest.mark.parametrize("places", [2, 4, 8, 16])
def test_chain_of_equal_places_is_halved(places):
    """Eight equally likely places take three tests, the first in the middle."""
    chain = [[place > cut for cut in range(places - 1)] for place in range(places)]
    plan = least_cost([1] * places, chain, [1] * (places - 1), range(places))
    assert plan.expected_cost == pytest.approx(math.log2(places))
    assert plan.best_test(range(places)) == places // 2 - 1


@given(
    st.floats(0.02, 0.98),
    st.floats(1.0, 30.0),
    st.floats(1.0, 30.0),
)
def test_two_causes_are_tried_by_minutes_over_probability(p, first, second):
    """Cause 1 first exactly where C1/p <= C2/(1-p); wrong trials alone cost minutes.

    Two-cause exercise of Ross, "A First Course in Probability", chapter 7: the
    minutes of the right repair are spent in either order and cancel.
    """
    plan = least_cost([p, 1 - p], [[], []], [], "xy", {"x": first, "y": second})
    in_order, in_turn = (1 - p) * first, p * second
    expected = in_order if first / p <= second / (1 - p) else in_turn
    assert plan.expected_cost == pytest.approx(expected)


def test_component_tests_go_by_minutes_over_probability():
    """p = .5 .3 .2 and C = 4 1 2: order 2, 1, 3 and 4.2 minutes in all.

    Rule of Kalagnanam and Henrion 1988; figures derived from it. A fourth cause that
    practically never happens keeps the last test from being saved.
    """
    table = ["ynn", "nyn", "nny", "nnn"]
    plan = least_cost([0.5, 0.3, 0.2, 1e-12], table, [4, 1, 2], "wxyz")
    assert plan.expected_cost == pytest.approx(4.2)
    assert plan.best_test(range(4)) == 1
    assert plan.best_test([0, 2, 3]) == 0


@given(st.lists(st.tuples(st.floats(0.1, 1.0), st.floats(1.0, 20.0)), max_size=5))
def test_no_order_of_component_tests_beats_minutes_over_probability(components):
    """Each test shows one cause: expected minutes are those of the order by C/p.

    Kalagnanam and Henrion, "A comparison of decision analysis and expert rules for
    sequential diagnosis", 1988.
    """
    faults = len(components) + 1
    table = [[fault == test for test in range(faults - 1)] for fault in range(faults)]
    prior = [*(p for p, _ in components), 1e-12]
    plan = least_cost(prior, table, [cost for _, cost in components], range(faults))
    order = sorted(components, key=lambda pair: pair[1] / pair[0])
    total, left, expected = sum(prior), sum(prior), 0.0
    for p, cost in order:
        expected += cost * left / total
        left -= p
    assert plan.expected_cost == pytest.approx(expected, abs=1e-9)


# A used car that may be good or bad, with an inspection that it passes or fails.
CAR = {("good", "pass"): 0.7 * 0.8, ("good", "fail"): 0.7 * 0.2}
CAR |= {("bad", "pass"): 0.3 * 0.35, ("bad", "fail"): 0.3 * 0.65}
GAIN, LOSS, INSPECTION = 2000 - 1500, 1500 + 700 - 2000, 50
# What the wrong choice loses: a bad car bought, a good one left.
REGRET = {"good": LOSS, "bad": GAIN}


def car_plan(outcomes, cost):
    """Good or bad is the cause, to buy or to leave the repair of it."""
    repair = [condition for condition, _ in CAR]
    return least_cost(list(CAR.values()), outcomes, cost, repair, REGRET)


def test_inspection_of_a_used_car_is_worth_nothing():
    """It costs its price and changes no choice: one buys whatever it shows.

    Russell and Norvig, "Artificial intelligence: a modern approach", exercise 16.22
    (after Pearl 1988): price 1500, value 2000, repair 700, P(good) 0.7, P(pass | good)
    0.8, P(pass | bad) 0.35, inspection 50. Its results were worked out by hand.
    """
    without = car_plan([[]] * 4, [])
    assert 0.7 * GAIN - without.expected_cost == pytest.approx(290)
    inspected = car_plan([[shown] for _, shown in CAR], [INSPECTION])
    worth = without.expected_cost + INSPECTION - inspected.expected_cost
    assert worth == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("shown", "chance", "is_good", "gain"),
    [("pass", 0.665, 0.8421, 389.47), ("fail", 0.335, 0.4179, 92.54)],
)
def test_inspection_changes_what_a_used_car_promises(shown, chance, is_good, gain):
    """P(pass) is 0.665; a car that passes is good at 0.8421, one that fails at 0.4179.

    The same exercise.
    """
    plan = car_plan([[shown] for _, shown in CAR], [INSPECTION])
    left = plan.after(range(4), 0, shown).candidates
    assert sum(plan.posterior(range(4))[c] for c in left) == pytest.approx(chance)
    good = plan.posterior(left)[0]
    assert good == pytest.approx(is_good, abs=5e-5)
    assert plan.tree.branches[shown == "fail"][1].repair == "good"
    assert good * GAIN - plan.value(left) == pytest.approx(gain, abs=5e-3)


def pyagrum_or_skip():
    """The library; without it the test is skipped, or fails in CI."""
    with warnings.catch_warnings():
        # Its generated code warns on import, and dies of a warning that is an error.
        warnings.simplefilter("ignore")
        return library("pyagrum")


def network_of_table(gum, prior, outcome):
    """One node of causes, and one below it for each test."""
    network = gum.BayesNet()
    causes = [f"f{number}" for number in range(len(prior))]
    cause = network.add(gum.LabelizedVariable("cause", "", causes))
    network.cpt(cause).fillWith((np.array(prior) / sum(prior)).tolist())
    for number, column in enumerate(zip(*outcome, strict=True)):
        # A node needs two states, though a test may show one outcome only.
        words = [*dict.fromkeys(column), "never"]
        test = network.add(gum.LabelizedVariable(f"t{number}", "", words))
        network.addArc(cause, test)
        for fault, shown in enumerate(column):
            chances = [float(word == shown) for word in words]
            network.cpt(test)[{"cause": fault}] = chances
    return network


@pytest.mark.parametrize("seed", range(10))
def test_posteriors_are_those_of_a_bayesian_network(seed):
    """After each outcome of a cause, pyAgrum gives every other the same probability."""
    gum, rng = pyagrum_or_skip(), np.random.default_rng(seed)
    prior = rng.uniform(0.1, 2.0, 24).tolist()
    outcome = rng.choice(["none", "low", "high"], size=(24, 18), p=[0.7, 0.2, 0.1])
    plan = least_cost(prior, outcome.tolist(), [1] * 18, range(24))
    inference = gum.LazyPropagation(network_of_table(gum, prior, outcome.tolist()))
    actual, left = rng.integers(24), tuple(range(24))
    for test in rng.permutation(18)[:4].tolist():
        shown = str(outcome[actual, test])
        left = plan.after(left, test, shown).candidates
        inference.addEvidence(f"t{test}", shown)
        found = inference.posterior("cause").toarray()
        assert found[list(left)] == pytest.approx(plan.posterior(left), abs=1e-12)
        assert np.delete(found, left) == pytest.approx(0, abs=1e-12)
