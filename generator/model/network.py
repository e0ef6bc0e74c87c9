"""Linear resistive networks and their exact solution, one or a batch at a time.

Modified nodal analysis after Ho, Ruehli and Brennan, "The modified nodal approach
to network analysis", IEEE Trans. Circuits and Systems 22(6), 1975: node voltages
are the unknowns, and a branch without resistance adds its current as one more.

The current of a branch flows from ``node_from`` to ``node_to``, and its emf drives it
that way: ``current_a = (V[node_from] - V[node_to] + emf_v) / resistance_ohm``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = [
    "BatchSolution",
    "Branch",
    "Network",
    "NetworkError",
    "Solution",
    "Topology",
    "island_roots",
    "resistance_between",
    "solve",
    "solve_batch",
]

Floats = NDArray[np.float64]


class NetworkError(ValueError):
    """A network that has no single solution, or that is not well formed."""


@dataclass(frozen=True, slots=True)
class Branch:
    """A resistance in series with an emf, from one node to another.

    Parameters
    ----------
    name : str
        Unique in its network.
    node_from, node_to : str
        The nodes it joins; positive current flows from the first to the second.
    resistance_ohm : float
        Series resistance [Ω]: 0 is an ideal source or short, ``math.inf`` an open.
    emf_v : float
        Electromotive force [V] that drives current from ``node_from`` to ``node_to``.
    """

    name: str
    node_from: str
    node_to: str
    resistance_ohm: float
    emf_v: float = 0.0

    def __post_init__(self) -> None:
        if math.isnan(self.resistance_ohm) or self.resistance_ohm < 0:
            raise NetworkError(
                f"branch {self.name!r}: resistance_ohm is {self.resistance_ohm}; "
                "allowed are 0 and above, and inf for an open"
            )
        if not math.isfinite(self.emf_v):
            raise NetworkError(f"branch {self.name!r}: emf_v must be finite")


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Branches and the node that counts as zero volts."""

    branches: tuple[Branch, ...]
    ground: str = "0"

    def __post_init__(self) -> None:
        object.__setattr__(self, "branches", tuple(self.branches))
        names = [branch.name for branch in self.branches]
        doubled = sorted({name for name in names if names.count(name) > 1})
        if doubled:
            raise NetworkError(f"branch names used twice: {', '.join(doubled)}")


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
class Topology:
    """Which branch joins which nodes: what all cases of a batch have in common.

    Attributes
    ----------
    branches : tuple of str, length n_branches
    nodes : tuple of str, length n_nodes
        Ground comes first.
    incidence : array, shape (n_branches, n_nodes)
        +1 at ``node_from``, -1 at ``node_to``.
    """

    branches: tuple[str, ...]
    nodes: tuple[str, ...]
    incidence: Floats = field(repr=False)
    _outer: Floats = field(repr=False)

    @classmethod
    def of(cls, ends: Sequence[tuple[str, str, str]], ground: str = "0") -> Topology:
        """Build from ``(name, node_from, node_to)`` of every branch."""
        names = [node for _, *pair in ends for node in pair]
        nodes = tuple(dict.fromkeys([ground, *names]))
        index = {node: i for i, node in enumerate(nodes)}
        incidence = np.zeros((len(ends), len(nodes)))
        for row, (_, node_from, node_to) in enumerate(ends):
            incidence[row, index[node_from]] += 1.0
            incidence[row, index[node_to]] -= 1.0
        # Ground is no unknown: its voltage is 0.
        inner = incidence[:, 1:]
        outer = np.einsum("bn,bm->bnm", inner, inner).reshape(len(ends), -1)
        incidence.flags.writeable = outer.flags.writeable = False
        branches = tuple(name for name, *_ in ends)
        return cls(branches=branches, nodes=nodes, incidence=incidence, _outer=outer)


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


def island_roots(topology: Topology, closed: NDArray[np.bool_]) -> NDArray[np.intp]:
    """First node of the island that each node belongs to.

    Parameters
    ----------
    topology : Topology
    closed : array of bool, shape (n_cases, n_branches)

    Returns
    -------
    array of int, shape (n_cases, n_nodes)
    """
    first, which = _distinct_rows(closed)
    n_nodes = len(topology.nodes)
    ends = np.abs(topology.incidence).astype(np.float32)
    joined = (closed[first, None, :] * ends.T) @ ends
    reach = (joined + np.eye(n_nodes) > 0).astype(np.float32)
    for _ in range(max(1, math.ceil(math.log2(max(2, n_nodes))))):
        reach = (reach @ reach > 0).astype(np.float32)
    roots: NDArray[np.intp] = reach.argmax(axis=2)
    return roots[which]


def _distinct_rows(
    flags: NDArray[np.bool_],
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First row of each distinct pattern, and the pattern of each row.

    Sorting one integer a row is many times faster than sorting the rows.
    """
    pattern = np.zeros(len(flags), dtype=np.intp)
    for start in range(0, flags.shape[1], 48):
        word = flags[:, start : start + 48]
        value = word @ (1 << np.arange(word.shape[1], dtype=np.int64))
        _, code = np.unique(value, return_inverse=True)
        pattern = pattern * (code.max(initial=0) + 1) + code
    _, first, which = np.unique(pattern, return_index=True, return_inverse=True)
    return first, which


def _extend_by_ideal(
    matrix: Floats, right: Floats, rows: Floats, ideal: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Append current unknowns of branches that have no resistance in some case."""
    resistance, emf = ideal
    n_cases, n_nodes = right.shape
    n_ideal = rows.shape[0]
    is_open = np.isinf(resistance)
    big = np.zeros((n_cases, n_nodes + n_ideal, n_nodes + n_ideal))
    big[:, :n_nodes, :n_nodes] = matrix
    big[:, :n_nodes, n_nodes:] = rows.T
    big[:, n_nodes:, :n_nodes] = np.where(is_open[..., None], 0.0, rows)
    diagonal = np.where(is_open, 1.0, -np.where(is_open, 0.0, resistance))
    where = np.arange(n_ideal)
    big[:, n_nodes + where, n_nodes + where] = diagonal
    drive = np.where(is_open, 0.0, -emf)
    return big, np.concatenate([right, drive], axis=1)


def solve_batch(
    topology: Topology, resistance_ohm: Floats, emf_v: Floats
) -> BatchSolution:
    """Solve many cases over one topology at once.

    Parameters
    ----------
    topology : Topology
    resistance_ohm : array, shape (n_cases, n_branches)
        [Ω]; 0 and ``inf`` are exact.
    emf_v : array, shape (n_cases, n_branches)
        [V].

    Returns
    -------
    BatchSolution

    Raises
    ------
    NetworkError
        Where branches without resistance form a loop, so that no single solution
        exists.

    Notes
    -----
    Each island without a path to ground is solved against its own first node: its
    currents are right, its voltages are reported as nan.
    """
    incidence = topology.incidence[:, 1:]
    n_cases, n_unknown = resistance_ohm.shape[0], incidence.shape[1]
    ideal = (resistance_ohm == 0).any(axis=0)
    plain = (resistance_ohm > 0) & ~ideal
    conductance = np.zeros_like(resistance_ohm)
    np.divide(1.0, resistance_ohm, out=conductance, where=plain)
    matrix = (conductance @ topology._outer).reshape(n_cases, n_unknown, n_unknown)
    right = -(conductance * emf_v) @ incidence
    if ideal.any():
        matrix, right = _extend_by_ideal(
            matrix, right, incidence[ideal], (resistance_ohm[:, ideal], emf_v[:, ideal])
        )
    roots = island_roots(topology, np.isfinite(resistance_ohm))
    case, node = np.nonzero(roots[:, 1:] == np.arange(1, 1 + n_unknown))
    matrix[case, node, :] = 0.0
    matrix[case, node, node] = 1.0
    right[case, node] = 0.0
    try:
        unknown = np.linalg.solve(matrix, right[..., None])[..., 0]
    except np.linalg.LinAlgError as error:
        raise NetworkError("branches without resistance form a loop") from error
    voltage = np.pad(unknown[:, :n_unknown], ((0, 0), (1, 0)))
    current = conductance * (voltage @ topology.incidence.T + emf_v)
    current[:, ideal] = unknown[:, n_unknown:]
    return BatchSolution(
        voltage_v=np.where(roots == 0, voltage, np.nan), current_a=current
    )


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
