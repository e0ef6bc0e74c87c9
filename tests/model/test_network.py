"""Kirchhoff's laws, energy, order and the special branches of the solver."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from generator.model.network import Branch, Network, NetworkError, Topology
from generator.model.solving import resistance_between, solve, solve_batch
from tests.strategies import emfs, grounded_networks, networks, plain_ohms


def current_scale(network):
    """Largest current that the sources could drive; what rounding is measured by."""
    volts = sum(abs(branch.emf_v) for branch in network.branches)
    passing = [b.resistance_ohm for b in network.branches if b.resistance_ohm > 0]
    return max(1.0, volts) * max(1.0, 1.0 / min(passing, default=1.0))


def same(values, others, scale=100.0):
    """Whether two mappings agree but for rounding, nan with nan.

    Voltages to a tenth of a microvolt: six decades between the resistances of a
    network cost as many digits.
    """
    return values == pytest.approx(others, rel=1e-7, abs=1e-9 * scale, nan_ok=True)


@given(grounded_networks())
def test_currents_sum_to_zero_at_every_node(network):
    """What flows in flows out (Kirchhoff's first law)."""
    currents = solve(network).current_a
    balance = dict.fromkeys(solve(network).voltage_v, 0.0)
    for branch in network.branches:
        balance[branch.node_from] -= currents[branch.name]
        balance[branch.node_to] += currents[branch.name]
    assert balance == pytest.approx(
        dict.fromkeys(balance, 0.0), abs=1e-10 * current_scale(network)
    )


@given(grounded_networks())
def test_branch_law_holds_in_every_branch(network):
    """``(V_from - V_to + emf)`` is ``i R``; an open carries nothing."""
    solution = solve(network)
    for branch in network.branches:
        amps = solution.current_a[branch.name]
        drop = solution.voltage_v[branch.node_from] + branch.emf_v
        drop -= solution.voltage_v[branch.node_to]
        if math.isinf(branch.resistance_ohm):
            assert amps == 0.0
        else:
            assert drop == pytest.approx(amps * branch.resistance_ohm, abs=1e-7)


@given(grounded_networks())
def test_sources_give_what_resistances_take(network):
    """Power balances, and no resistance gives power."""
    currents = solve(network).current_a
    given_w = sum(currents[b.name] * b.emf_v for b in network.branches)
    taken_w = sum(
        currents[b.name] ** 2 * b.resistance_ohm
        for b in network.branches
        if math.isfinite(b.resistance_ohm)
    )
    assert given_w == pytest.approx(
        taken_w, rel=1e-7, abs=1e-9 * current_scale(network)
    )


@given(grounded_networks(), st.data())
def test_batch_equals_loop(network, data):
    """Cases solved together read as cases solved one by one."""
    cases = [
        replace(
            network,
            branches=tuple(
                replace(
                    branch,
                    resistance_ohm=data.draw(st.one_of(plain_ohms, st.just(math.inf))),
                    emf_v=data.draw(emfs),
                )
                for branch in network.branches
            ),
        )
        for _ in range(3)
    ] + [network]
    ends = [(b.name, b.node_from, b.node_to) for b in network.branches]
    together = solve_batch(
        Topology.of(ends),
        np.array([[b.resistance_ohm for b in case.branches] for case in cases]),
        np.array([[b.emf_v for b in case.branches] for case in cases]),
    )
    for row, case in enumerate(cases):
        alone, scale = solve(case), current_scale(case)
        assert same(list(together.voltage_v[row]), list(alone.voltage_v.values()))
        assert same(
            list(together.current_a[row]), list(alone.current_a.values()), scale
        )


@given(networks(), st.randoms(use_true_random=False))
def test_order_of_branches_and_nodes_does_not_matter(network, random):
    """Shuffled branches, and so nodes in another order, read the same."""
    shuffled = random.sample(network.branches, len(network.branches))
    one, other = solve(network), solve(replace(network, branches=tuple(shuffled)))
    assert same(dict(one.voltage_v), dict(other.voltage_v))
    assert same(dict(one.current_a), dict(other.current_a), current_scale(network))


@given(networks())
def test_turned_branches_change_only_the_sign(network):
    """A branch named from its other end carries the negative current."""
    turned = tuple(
        Branch(b.name, b.node_to, b.node_from, b.resistance_ohm, -b.emf_v)
        for b in network.branches
    )
    one, other = solve(network), solve(replace(network, branches=turned))
    assert same(dict(one.voltage_v), dict(other.voltage_v))
    assert same(
        dict(one.current_a),
        {name: -amps for name, amps in other.current_a.items()},
        current_scale(network),
    )


@given(networks(), st.data())
def test_open_equals_removed_branch(network, data):
    """An open reads as if the branch had never been there."""
    assume(len(network.branches) > 1)
    chosen = data.draw(st.integers(0, len(network.branches) - 1))
    branches = list(network.branches)
    branches[chosen] = replace(branches[chosen], resistance_ohm=math.inf)
    opened = solve(replace(network, branches=tuple(branches)))
    removed = solve(replace(network, branches=tuple(np.delete(branches, chosen))))
    volts = {node: opened.voltage_v[node] for node in removed.voltage_v}
    amps = {name: opened.current_a[name] for name in removed.current_a}
    assert same(volts, dict(removed.voltage_v))
    assert same(amps, dict(removed.current_a), current_scale(network))


@given(grounded_networks(), st.floats(-20, 20))
def test_currents_follow_the_sources_in_proportion(network, factor):
    """All sources times a factor gives all currents times that factor."""
    scaled = tuple(replace(b, emf_v=b.emf_v * factor) for b in network.branches)
    expected = {n: a * factor for n, a in solve(network).current_a.items()}
    found = solve(replace(network, branches=scaled)).current_a
    assert same(dict(found), expected, max(1, abs(factor)) * current_scale(network))


def test_source_without_resistance_holds_its_voltage():
    """An ideal source keeps 12 V whatever it feeds."""
    for ohms in (1e-3, 1.0, 1e6, math.inf):
        source = Branch("source", "0", "plus", 0.0, 12.0)
        solution = solve(Network(branches=(source, Branch("load", "plus", "0", ohms))))
        assert solution.voltage_v["plus"] == pytest.approx(12.0, rel=1e-12)
        assert solution.current_a["source"] == pytest.approx(12.0 / ohms, rel=1e-9)


def test_nodes_behind_an_open_float():
    """A node with no path to ground reads nan; the rest reads as before."""
    network = Network(
        branches=(
            Branch("source", "0", "plus", 0.1, 12.0),
            Branch("cut", "plus", "load", math.inf),
            Branch("lamp", "load", "end", 5.0),
        )
    )
    solution = solve(network)
    assert solution.voltage_v["plus"] == pytest.approx(12.0)
    assert math.isnan(solution.voltage_v["load"])
    assert math.isnan(solution.voltage_v["end"])
    assert solution.current_a["lamp"] == 0.0


def test_network_counts_volts_from_its_own_ground():
    """Any node may be the reference."""
    network = Network(
        branches=(Branch("cell", "a", "b", 1.0, 3.0), Branch("r", "b", "a", 2.0)),
        ground="b",
    )
    solution = solve(network)
    assert solution.voltage_v["b"] == pytest.approx(0.0)
    assert solution.voltage_v["a"] == pytest.approx(-2.0)


def test_loop_of_ideal_branches_is_refused():
    """Two ideal sources side by side have no single answer."""
    branches = (Branch("one", "0", "a", 0.0, 12.0), Branch("two", "0", "a", 0.0, 11.0))
    with pytest.raises(NetworkError, match="loop"):
        solve(Network(branches=branches))


@pytest.mark.parametrize("ohms", [-1.0, math.nan])
def test_branch_refuses_impossible_resistance(ohms):
    """Below zero and nan are refused, with the branch named."""
    with pytest.raises(NetworkError, match=r"'wire'.*0 or more"):
        Branch("wire", "a", "b", ohms)


@pytest.mark.parametrize("emf_v", [math.inf, math.nan])
def test_branch_refuses_impossible_emf(emf_v):
    """An emf must be a finite number."""
    with pytest.raises(NetworkError, match="'cell': emf_v must be finite"):
        Branch("cell", "a", "b", 1.0, emf_v)


def test_network_refuses_names_used_twice():
    """A current could not be told from another."""
    branches = (Branch("wire", "0", "a", 1.0), Branch("wire", "a", "0", 2.0))
    with pytest.raises(NetworkError, match="used twice: wire"):
        Network(branches=branches)


def test_bridge_has_the_resistance_of_its_closed_form():
    """A balanced bridge carries nothing in its middle: 2 x 20 Ω side by side.

    Wheatstone's bridge, as in any textbook (from memory).
    """
    ends = ("ab", "bd", "ac", "cd", "bc")
    parts = [Branch(x + y, x, y, 10.0) for x, y in ends]
    parts[0] = replace(parts[0], emf_v=12.0)
    network = Network(branches=tuple(parts), ground="d")
    assert resistance_between(network, "a", "d") == pytest.approx(10.0)


def test_resistance_between_nodes_that_nothing_joins_is_endless():
    """Two islands."""
    parts = (Branch("one", "a", "0", 1.0), Branch("other", "b", "c", 1.0))
    assert math.isinf(resistance_between(Network(branches=parts), "a", "b"))
