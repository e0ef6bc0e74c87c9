"""The strategies give what they promise."""

import math

import numpy as np
from hypothesis import Phase, find, given, settings

from generator.model.solving import solve
from tests.circuits import settled
from tests.strategies import (
    broken_circuits,
    grounded_networks,
    networks,
    plan_problems,
    relay_circuits,
    setups,
)

# Looking for any example at all: it need not be made small.
SEARCH = settings(phases=[Phase.generate], max_examples=2000, database=None)


def has_nan(network):
    return any(math.isnan(volts) for volts in solve(network).voltage_v.values())


def resistances(network):
    return [branch.resistance_ohm for branch in network.branches]


@given(grounded_networks())
def test_grounded_networks_have_no_floating_node(network):
    """Every node has a voltage."""
    assert not has_nan(network)


@given(networks())
def test_networks_are_solvable(network):
    """No loop of ideal branches is ever drawn."""
    assert set(solve(network).current_a) == {b.name for b in network.branches}


def test_networks_reach_the_special_cases():
    """Floating nodes, ideal branches and opens can all be drawn."""
    assert has_nan(find(networks(), has_nan, settings=SEARCH))
    assert find(grounded_networks(), lambda n: 0.0 in resistances(n), settings=SEARCH)
    assert find(
        grounded_networks(), lambda n: math.inf in resistances(n), settings=SEARCH
    )


@given(broken_circuits(), setups())
def test_broken_circuits_can_be_set_up_and_settled(case, setup):
    """Every fault in every set-up has currents that are numbers."""
    sound, circuit = case
    assert np.isfinite(settled(circuit, setup, sound).current_a).all()


def test_circuits_and_setups_reach_the_special_cases():
    """Loads, variants, bare coils, probes and swapped relays can all be drawn."""
    wanted = {
        "motor": (relay_circuits(), lambda c: c.motor_constant_vs > 0),
        "lamp": (relay_circuits(), lambda c: c.lamp_exponent > 0),
        "high side": (relay_circuits(), lambda c: c.is_high_side and c.is_fuse_shared),
        "bare coil": (relay_circuits(), lambda c: math.isinf(c.suppression_ohm)),
        "probe": (setups(), lambda s: s.probe == "low driver"),
        "new relay": (setups(), lambda s: s.new_relay and s.command == "off"),
    }
    for strategy, is_wanted in wanted.values():
        assert is_wanted(find(strategy, is_wanted, settings=SEARCH))


def test_plan_problems_reach_sets_that_no_test_splits():
    """Some tables have causes of two repairs that look alike in every test."""
    found = find(
        plan_problems(), lambda p: len(set(p[1])) < len(set(p[3])), settings=SEARCH
    )
    prior, outcome, cost, repair = found
    assert len(prior) == len(outcome) == len(repair) >= 2
    assert all(len(row) == len(cost) for row in outcome)
