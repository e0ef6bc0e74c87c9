"""The solver against exact arithmetic, and against LAPACK, on resistances far apart."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.network import Branch, Network
from generator.model.solving import solve

far_apart = st.floats(-3, 7).map(lambda exponent: 10.0**exponent)
"""A milliohm to ten megohms."""


@st.composite
def driven_networks(draw):
    """One battery, and resistances far apart between nodes that all reach ground."""
    nodes = ["0", *(f"n{i}" for i in range(1, draw(st.integers(3, 10))))]
    ends = [
        (draw(st.sampled_from(nodes[:i])), node) for i, node in enumerate(nodes) if i
    ]
    pairs = st.tuples(st.sampled_from(nodes), st.sampled_from(nodes))
    ends += draw(st.lists(pairs.filter(lambda pair: pair[0] != pair[1]), max_size=12))
    emfs = [14.1, *[0.0] * (len(ends) - 1)]
    return Network(
        branches=tuple(
            Branch(f"b{i}", start, end, draw(far_apart), emf_v)
            for i, ((start, end), emf_v) in enumerate(zip(ends, emfs, strict=True))
        )
    )


def equations(network, number):
    """Nodal equations: matrix and right side, in numbers of a kind."""
    nodes = sorted(
        {n for b in network.branches for n in (b.node_from, b.node_to)} - {"0"}
    )
    at = {node: place for place, node in enumerate(nodes)}
    matrix = [[number(0)] * len(nodes) for _ in nodes]
    right = [number(0)] * len(nodes)
    for branch in network.branches:
        conductance = number(1) / number(branch.resistance_ohm)
        for one, other, sign in (
            (branch.node_from, branch.node_to, -1),
            (branch.node_to, branch.node_from, 1),
        ):
            if one in at:
                matrix[at[one]][at[one]] += conductance
                right[at[one]] += sign * conductance * number(branch.emf_v)
                if other in at:
                    matrix[at[one]][at[other]] -= conductance
    return nodes, matrix, right


def exact_voltages(network):
    """Node voltages by elimination in fractions, without any rounding."""
    nodes, matrix, right = equations(network, Fraction)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for place, row in enumerate(rows):
        for other in rows[:place] + rows[place + 1 :]:
            factor = other[place] / row[place]
            other[:] = [a - factor * b for a, b in zip(other, row, strict=True)]
    return {
        node: row[-1] / row[place]
        for place, (node, row) in enumerate(zip(nodes, rows, strict=True))
    }


@given(driven_networks())
def test_voltages_keep_their_digits(network):
    """No voltage is off by more than a few units of its own last digit.

    Fourteen digits and more are right, also of a millivolt behind ten megohms.
    """
    found = solve(network).voltage_v
    for node, exact in exact_voltages(network).items():
        assert found[node] == pytest.approx(float(exact), rel=1e-14, abs=0)


@given(driven_networks())
def test_lapack_gives_the_same_as_far_as_its_digits_go(network):
    """With the condition of the matrix, up to 1e10 here, as the only excuse."""
    found = solve(network).voltage_v
    nodes, matrix, right = equations(network, float)
    expected = np.linalg.solve(np.array(matrix), np.array(right))
    condition = np.linalg.cond(np.array(matrix))
    allowed = 1e-15 * condition * max(1.0, np.abs(expected).max())
    assert [found[node] for node in nodes] == pytest.approx(expected, abs=allowed)


def test_meter_behind_a_milliohm_is_worked_out_to_the_last_digits():
    """A divider by hand: 14.1 V, 10 MΩ, then 1 mΩ to ground.

    The voltage over the milliohm is 14.1 V · 0.001 / (10 000 000 + 0.001).
    """
    parts = (
        Branch("battery", "0", "plus", 0.001, 14.1),
        Branch("meter", "plus", "low", 1e7),
        Branch("wire", "low", "0", 0.001),
    )
    ohm = Fraction(0.001)
    wanted = Fraction(14.1) * ohm / (2 * ohm + 10_000_000)
    found = solve(Network(branches=parts)).voltage_v["low"]
    assert found == pytest.approx(float(wanted), rel=2e-16, abs=0)
