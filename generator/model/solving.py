"""The exact solution of networks, one or a batch at a time.

Nodes that a branch without resistance joins are taken as one; the rest is solved as in
`network.py`, and the currents follow from the voltages.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from generator.model.network import (
    Branch,
    Floats,
    Network,
    NetworkError,
    Topology,
    eliminated,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Voltages and currents of one network.

    Attributes
    ----------
    voltage_v : Mapping[str, float]
        Node voltage against ground [V]; nan where the node floats.
    current_a : Mapping[str, float]
        Branch current from ``node_from`` to ``node_to`` [A].
    """

    voltage_v: Mapping[str, float]
    current_a: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchSolution:
    """Voltages and currents of a batch of cases over one topology.

    Attributes
    ----------
    voltage_v : array, shape (n_cases, n_nodes)
        Against ground [V]; nan where the node floats.
    current_a : array, shape (n_cases, n_branches)
        From ``node_from`` to ``node_to`` [A].
    """

    voltage_v: Floats
    current_a: Floats


def solve_batch(
    topology: Topology, resistance_ohm: Floats, emf_v: Floats
) -> BatchSolution:
    """Solve many cases over one topology at once.

    Parameters
    ----------
    resistance_ohm : array, shape (n_cases, n_branches)
        [Ω]; 0 and ``inf`` are exact.
    emf_v : array, shape (n_cases, n_branches)
        [V].

    Raises
    ------
    NetworkError
        Where branches without resistance form a loop, so that no single solution
        exists.

    Notes
    -----
    Each island without a path to ground is solved against one of its own nodes: its
    currents are right, its voltages are reported as nan.
    """
    is_ideal = resistance_ohm == 0
    if not is_ideal.any():
        return _solve_plain(topology, resistance_ohm, emf_v)
    voltage = np.empty((len(resistance_ohm), len(topology.nodes)))
    current = np.empty_like(resistance_ohm)
    # Which nodes are one depends on which branches are ideal: each pattern is a network
    # of its own.
    patterns, which = np.unique(is_ideal, axis=0, return_inverse=True)
    for number, pattern in enumerate(patterns):
        cases = which == number
        voltage[cases], current[cases] = _solve_ideal(
            topology, pattern, resistance_ohm[cases], emf_v[cases]
        )
    return BatchSolution(voltage_v=voltage, current_a=current)


def _solve_plain(
    topology: Topology, resistance_ohm: Floats, emf_v: Floats
) -> BatchSolution:
    """Solve cases in which every branch has resistance or is open."""
    # Cases come last inside: all cases of a branch lie side by side, and each step is
    # one pass over them.
    resistance, emf = (np.ascontiguousarray(each.T) for each in (resistance_ohm, emf_v))
    driving = {int(branch): emf[branch] for branch in np.flatnonzero(emf.any(axis=1))}
    found = eliminated(topology, resistance, driving)
    volts = found.voltages(range(len(topology.nodes)))
    voltage = np.array([volts[node] for node in range(len(volts))])
    start, end = topology.ends
    # Before floating nodes become nan: within an island currents are right whichever
    # node counts as zero volts.
    current = 1 / resistance * (voltage[start] - voltage[end] + emf)
    return BatchSolution(
        voltage_v=np.where(found.floats(), np.nan, voltage).T, current_a=current.T
    )


def _solve_ideal(
    topology: Topology, is_ideal: NDArray[np.bool_], resistance: Floats, emf: Floats
) -> tuple[Floats, Floats]:
    """Solve cases with the same branches without resistance.

    Returns
    -------
    tuple of arrays, shapes (n_cases, n_nodes) and (n_cases, n_branches)
        Voltage of each node [V] and current of each branch [A].
    """
    ideal = np.flatnonzero(is_ideal).tolist()
    merged, rise_v = _merged(topology, ideal, emf)
    # A branch whose ends are one node now joins nothing, and its own emf still drives a
    # current around it.
    ends = [(merged[start], merged[end]) for start, end in topology.ends.T]
    small = Topology.of([("", str(start), str(end)) for start, end in ends])
    start, end = topology.ends
    solution = solve_batch(
        small,
        np.where(is_ideal, np.inf, resistance),
        # A node that stands above the one it is merged with is a source to every other
        # branch that ends there.
        np.where(is_ideal, 0.0, emf + rise_v[:, start] - rise_v[:, end]),
    )
    at = [small.nodes.index(str(node)) for node in merged]
    voltage = solution.voltage_v[:, at] + rise_v
    return voltage, _with_ideal(topology, ideal, solution.current_a)


def _merged(
    topology: Topology, ideal: Sequence[int], emf: Floats
) -> tuple[list[int], Floats]:
    """Take nodes without resistance between them as one.

    Returns
    -------
    tuple of list of int, array of shape (n_cases, n_nodes)
        The first node of those that each is one with, and by how much its voltage is
        above that one's [V].
    """
    merged = list(range(len(topology.nodes)))
    rise_v = np.zeros((len(emf), len(merged)))
    for branch in ideal:
        start, end = topology.ends[:, branch]
        step_v = rise_v[:, start] + emf[:, branch] - rise_v[:, end]
        kept, gone = merged[start], merged[end]
        # However its emfs add up: no resistance says how much flows around such a loop.
        if kept == gone:
            raise NetworkError("branches without resistance form a loop")
        # The lower number stays, so that ground, number 0, never goes.
        if gone < kept:
            kept, gone, step_v = gone, kept, -step_v
        for node, each in enumerate(merged):
            if each == gone:
                merged[node] = kept
                rise_v[:, node] += step_v
    return merged, rise_v


def _with_ideal(topology: Topology, ideal: Sequence[int], current: Floats) -> Floats:
    """Add the currents of branches without resistance, from their outermost nodes in.

    What all other branches bring to such a node goes on through the one that is left
    (Kirchhoff's first law).
    """
    # Ideal branches were open in what was solved, so that they add nothing here yet.
    into = np.zeros((len(topology.nodes), len(current)))
    for (start, end), amps in zip(topology.ends.T, current.T, strict=True):
        into[start] -= amps
        into[end] += amps
    left = list(ideal)
    while left:
        times = Counter(topology.ends[:, left].ravel().tolist())
        # There always is one: without loops ideal branches are trees, and a tree has an
        # end.
        branch = next(
            b
            for b in left
            if 1 in [times[node] for node in topology.ends[:, b].tolist()]
        )
        start, end = topology.ends[:, branch].tolist()
        outer, inner, sign = (start, end, 1) if times[start] == 1 else (end, start, -1)
        current[:, branch] = sign * into[outer]
        into[inner] += into[outer]
        left.remove(branch)
    return current


def solve(network: Network) -> Solution:
    """Solve one network.

    Returns
    -------
    Solution
        ``voltage_v[node]`` [V], ``current_a[branch]`` [A].

    Raises
    ------
    NetworkError
        Where branches without resistance form a loop.

    Examples
    --------
    >>> battery = Branch("battery", "0", "plus", 0.1, emf_v=12.0)
    >>> load = Branch("load", "plus", "0", 10.0)
    >>> round(solve(Network(branches=(battery, load))).current_a["load"], 3)
    1.188
    """
    branches = network.branches
    topology = Topology.of(
        [(branch.name, branch.node_from, branch.node_to) for branch in branches],
        network.ground,
    )
    result = solve_batch(
        topology,
        np.array([[branch.resistance_ohm for branch in branches]], dtype=float),
        np.array([[branch.emf_v for branch in branches]], dtype=float),
    )
    return Solution(
        voltage_v=dict(zip(topology.nodes, result.voltage_v[0].tolist(), strict=True)),
        current_a=dict(
            zip(topology.branches, result.current_a[0].tolist(), strict=True)
        ),
    )


def resistance_between(network: Network, plus: str, minus: str) -> float:
    """Resistance between two nodes, every emf at rest [Ω]; ``math.inf`` for none.

    Examples
    --------
    >>> parts = (Branch("one", "a", "b", 10.0), Branch("other", "a", "b", 10.0, 12.0))
    >>> round(resistance_between(Network(branches=parts, ground="b"), "a", "b"), 6)
    5.0
    """
    resting = (replace(branch, emf_v=0.0) for branch in network.branches)
    # One volt behind one ohm drives the rest: R = 1 V / I - 1 Ω.
    source = Branch("source", minus, plus, 1.0, 1.0)
    driven = Network(branches=(*resting, source), ground=network.ground)
    current_a = solve(driven).current_a["source"]
    return 1 / current_a - 1 if current_a else math.inf
