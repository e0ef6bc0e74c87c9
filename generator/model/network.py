"""Linear resistive networks, and their voltages in a batch of cases at a time.

One node after the other is taken out, and what it joined is joined by what comes to the
same (star-mesh transform); the voltages follow in the opposite order.

No step subtracts conductances, so that they keep their digits however unlike they are
(as in Grassmann, Taksar and Heyman, "Regenerative analysis and steady state
distributions for Markov chains", Operations Research 33(5), 1985, from memory). Each
is one operation on all cases, and none a product of matrices, which a linear algebra
library adds up in another order on each kind of processor: the same secret gives the
same bytes.

The current of a branch flows from ``node_from`` to ``node_to``, and its emf drives it
that way: ``current_a = (V[node_from] - V[node_to] + emf_v) / resistance_ohm``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


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
                f"branch {self.name!r}: resistance_ohm is {self.resistance_ohm}. "
                "Give 0 or more, and inf for an open."
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
        if len({*names}) < len(names):
            doubled = sorted({name for name in names if names.count(name) > 1})
            raise NetworkError(f"branch names used twice: {', '.join(doubled)}")


@dataclass(frozen=True, slots=True)
class _Step:
    """A node to be taken out, while ``links`` join it to ``others``.

    ``pairs`` of the others are joined instead, each by a new link: its number, and the
    places of both in ``others``.
    """

    node: int
    others: tuple[int, ...]
    links: tuple[int, ...]
    pairs: tuple[tuple[int, int, int], ...]

    def among(self, there: set[int]) -> _Step:
        """Leave out links that no case has; what this makes is there from now on."""
        kept = [place for place, link in enumerate(self.links) if link in there]
        new = {old: place for place, old in enumerate(kept)}
        pairs = tuple(
            (link, new[one], new[two])
            for link, one, two in self.pairs
            if one in new and two in new
        )
        there.update(link for link, _, _ in pairs)
        return _Step(
            node=self.node,
            others=tuple(self.others[place] for place in kept),
            links=tuple(self.links[place] for place in kept),
            pairs=pairs,
        )


# An elimination is used with this many sets of closed branches at most.
_MOST_PATTERNS = 4096


@dataclass(frozen=True, slots=True)
class _Elimination:
    """The order in which nodes are taken out, and the links that this makes.

    Attributes
    ----------
    link_of : tuple of int, length n_branches
        Number of the link that a branch is part of.
    steps : tuple of _Step, length n_nodes - 1
        Ground, number 0, stays.
    """

    link_of: tuple[int, ...]
    steps: tuple[_Step, ...]
    _among: dict[tuple[bool, ...], tuple[_Step, ...]] = field(default_factory=dict)

    @classmethod
    def of(cls, ends: Sequence[tuple[int, int]], n_nodes: int) -> _Elimination:
        """Choose the order for branches between two nodes each."""
        links = _Links()
        link_of = tuple(links[pair] for pair in ends)
        return cls(link_of=link_of, steps=_steps_of(links, n_nodes))

    def among(self, closed: tuple[bool, ...]) -> tuple[_Step, ...]:
        """Give the steps where only some branches are closed in any case.

        A link that no case has adds nothing, so that what is found stays the same to
        the last digit.
        """
        if closed not in self._among:
            if len(self._among) >= _MOST_PATTERNS:
                self._among.clear()
            pairs = zip(self.link_of, closed, strict=True)
            there = {link for link, is_closed in pairs if is_closed}
            self._among[closed] = tuple(step.among(there) for step in self.steps)
        return self._among[closed]

    def eliminated(self, resistance: Floats, drive_a: dict[int, Floats]) -> Eliminated:
        """Take out all nodes but ground.

        Parameters
        ----------
        resistance : array, shape (n_branches, n_cases)
            [Ω]; ``inf`` is an open.
        drive_a : mapping of arrays, shape (n_cases,)
            Current that sources drive into a node [A], by its number.
        """
        closed = tuple(np.asarray((resistance < np.inf).any(axis=1)).tolist())
        link, own_v = dict[int, Floats](), dict[int, Floats]()
        for number, branch, is_closed in zip(
            self.link_of, resistance, closed, strict=True
        ):
            if is_closed:
                _add(link, number, 1 / branch)
        steps = self.among(closed)
        # Each node passes on to its others what it joins and what drives it.
        shares = [_taken_out(step, link, drive_a, own_v) for step in steps]
        return Eliminated(
            n_cases=resistance.shape[1], steps=steps, shares=shares, own_v=own_v
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Eliminated:
    """A batch of cases whose nodes are all taken out, to be found in opposite order.

    The last node of an island has no link left when its turn comes: it counts as zero
    volts for the island, which nothing joins to ground.

    Attributes
    ----------
    steps : tuple of _Step
    shares : list of lists of arrays, shape (n_cases,)
        Of each step, in each of its others.
    own_v : mapping of arrays, shape (n_cases,)
        What sources drive a node to while all others are at zero volts [V].
    """

    n_cases: int
    steps: tuple[_Step, ...]
    shares: Sequence[Sequence[Floats]]
    own_v: Mapping[int, Floats]

    def voltages(self, wanted: Iterable[int]) -> dict[int, Floats]:
        """Find the voltage of nodes, and of those that these hang on [V]."""
        voltage = {0: np.zeros(self.n_cases)}
        for step, shares in self._back_to(wanted):
            own = np.zeros(self.n_cases)
            for share, other in zip(shares, step.others, strict=True):
                # A share of ground's zero volts adds nothing.
                if other:
                    own += share * voltage[other]
            if step.node in self.own_v:
                own += self.own_v[step.node]
            voltage[step.node] = own
        return voltage

    def floats(self) -> Flags:
        """Tell which nodes float in which cases, shape (n_nodes, n_cases)."""
        is_grounded = np.zeros((1 + len(self.steps), self.n_cases), dtype=bool)
        is_grounded[0] = True
        for step, shares in zip(self.steps[::-1], self.shares[::-1], strict=True):
            for share, other in zip(shares, step.others, strict=True):
                # Other cases of the batch may have this link where one has not: its
                # share is 0 there.
                is_grounded[step.node] |= (share > 0) & is_grounded[other]
        return ~is_grounded

    def _back_to(
        self, wanted: Iterable[int]
    ) -> Iterable[tuple[_Step, Sequence[Floats]]]:
        """Go back over the steps of nodes, and of those that they hang on."""
        needed = {*wanted}
        # Whatever a node was joined to was taken out later.
        for step in self.steps:
            if step.node in needed:
                needed.update(step.others)
        pairs = zip(self.steps[::-1], self.shares[::-1], strict=True)
        return (pair for pair in pairs if pair[0].node in needed)


def _taken_out(
    step: _Step,
    link: dict[int, Floats],
    drive_a: dict[int, Floats],
    own_v: dict[int, Floats],
) -> list[Floats]:
    """Take out a node: give its share in each other, and what sources drive on.

    What it is driven to by itself, all others at zero volts, is noted in ``own_v``.
    """
    own = [link[number] for number in step.links]
    # The last of its island: what sources drive inside an island adds up to nothing, so
    # that any total but 0 will do.
    if not own:
        total: Floats | float = 1.0
    else:
        total = own[0] if len(own) == 1 else own[0] + own[1]
        # Into new arrays, not in place: what is in ``own`` is needed again for the
        # shares.
        for each in own[2:]:
            total = total + each
        # A case without any of these links gets shares of 0, and not 0 over 0.
        if np.count_nonzero(total) < len(total):
            total = total + (total == 0)
    shares = [each / total for each in own]
    for new, one, two in step.pairs:
        # From star to mesh: conductances of two spokes over that of all of them.
        _add(link, new, shares[one] * own[two])
    if step.node in drive_a:
        amps = drive_a[step.node]
        own_v[step.node] = amps / total
        for other, share in zip(step.others, shares, strict=True):
            # What is driven into ground moves nothing.
            if other:
                _add(drive_a, other, share * amps)
    return shares


def _add(sums: dict[int, Floats], number: int, more: Floats) -> None:
    """Add to a sum, in ``more``, which is nobody else's: what was there may be used."""
    if number in sums:
        more += sums[number]
    sums[number] = more


class _Links(dict[frozenset[int], int]):
    """Number of the link of each pair of nodes, in the order in which they come up."""

    def __getitem__(self, pair: Iterable[int]) -> int:
        return self.setdefault(frozenset(pair), len(self))


def _steps_of(links: _Links, n_nodes: int) -> tuple[_Step, ...]:
    """Take out next the node with the fewest links: it makes the fewest new ones."""
    near = [
        {other for pair in links if node in pair for other in pair - {node}}
        for node in range(n_nodes)
    ]
    # Ground is number 0 and stays: all voltages are against it.
    left, steps = set(range(1, n_nodes)), list[_Step]()
    while left:
        # Of several the lowest number, so that sums are added up in the same order
        # everywhere.
        node = min(left, key=lambda each: (len(near[each]), each))
        left.remove(node)
        others = sorted(near[node])
        for other in others:
            near[other] = (near[other] | near[node]) - {node, other}
        pairs = list(combinations(range(len(others)), 2))
        steps.append(
            _Step(
                node=node,
                others=tuple(others),
                links=tuple(links[node, other] for other in others),
                pairs=tuple((links[others[a], others[b]], a, b) for a, b in pairs),
            )
        )
    return tuple(steps)


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
    ends : array, shape (2, n_branches)
        Numbers of these nodes.
    """

    branches: tuple[str, ...]
    nodes: tuple[str, ...]
    incidence: Floats = field(repr=False)
    ends: NDArray[np.intp] = field(repr=False)
    _elimination: _Elimination = field(repr=False)

    @classmethod
    def of(cls, ends: Sequence[tuple[str, str, str]], ground: str = "0") -> Topology:
        """Build from ``(name, node_from, node_to)`` of every branch."""
        names = [node for _, *pair in ends for node in pair]
        nodes = tuple(dict.fromkeys([ground, *names]))
        index = {node: i for i, node in enumerate(nodes)}
        joins = [(index[start], index[end]) for _, start, end in ends]
        incidence = np.zeros((len(ends), len(nodes)))
        for row, (start, end) in enumerate(joins):
            incidence[row, start] += 1.0
            incidence[row, end] -= 1.0
        incidence.flags.writeable = False
        return cls(
            branches=tuple(name for name, *_ in ends),
            nodes=nodes,
            incidence=incidence,
            ends=np.array(joins, dtype=np.intp).T,
            _elimination=_Elimination.of(joins, len(nodes)),
        )


def eliminated(
    topology: Topology, resistance_ohm: Floats, emf_v: Mapping[int, Floats]
) -> Eliminated:
    """Take out the nodes of many cases without ideal branches, cases last.

    Parameters
    ----------
    resistance_ohm : array, shape (n_branches, n_cases)
        [Ω], above 0; ``inf`` is an open.
    emf_v : mapping of arrays, shape (n_cases,)
        [V], by the number of the branch.
    """
    drive_a = dict[int, Floats]()
    for branch, volts in emf_v.items():
        amps = 1 / resistance_ohm[branch] * volts
        start, end = topology.ends[:, branch].tolist()
        _add(drive_a, start, -amps)
        _add(drive_a, end, amps)
    return topology._elimination.eliminated(resistance_ohm, drive_a)
