"""The strategies give what they promise."""

import math

from hypothesis import Phase, find, given, settings

from generator.model.network import solve
from tests.strategies import grounded_networks, networks

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
