"""The exact solution of resistive networks over one topology, in plain Python.

One node after the other is taken out, and what it joined is joined by what comes to the
same (star-mesh transform); voltages follow in the opposite order. No step subtracts
conductances, so that they keep their digits however unlike they are, and an open is an
open.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

Ends = tuple[tuple[str, str], ...]
GROUND = "0"


class Solved(NamedTuple):
    """Voltage of each node [V], None where it floats; current of each branch [A]."""

    voltage_v: list[float | None]
    current_a: list[float]


class _Step(NamedTuple):
    """A node that is taken out, what joins it to others, and what joins those then."""

    node: int
    others: tuple[int, ...]
    links: tuple[int, ...]
    pairs: tuple[tuple[int, int, int], ...]


class Topology:
    """Which branch joins which nodes: what all circuits of an exercise have in common.

    Parameters
    ----------
    ends : tuple of (from, to)
        Of each branch; positive current flows from the first to the second.
    """

    def __init__(self, ends: Ends) -> None:
        nodes = dict.fromkeys([GROUND, *(node for pair in ends for node in pair)])
        self.nodes = {node: number for number, node in enumerate(nodes)}
        self.ends = [(self.nodes[one], self.nodes[two]) for one, two in ends]
        links: dict[frozenset[int], int] = {}
        self._link_of = [_number(links, pair) for pair in self.ends]
        self._steps = _steps(links, len(self.nodes))
        self._n_links = len(links)

    def solve(self, ohm: Sequence[float | None], emf_v: Sequence[float]) -> Solved:
        """Solve one circuit.

        Parameters
        ----------
        ohm : sequence of float or None
            Resistance of each branch, above zero [Ω]; None is open.
        emf_v : sequence of float
            Drives current from the first end of a branch to the second [V].

        Notes
        -----
        What has no path to ground is solved against one of its own nodes: its currents
        are right, and its voltages are none.
        """
        link = [0.0] * self._n_links
        drive = [0.0] * len(self.nodes)
        for number, each, own, (start, end) in zip(
            self._link_of, ohm, emf_v, self.ends, strict=True
        ):
            if each is not None:
                link[number] += 1 / each
                if own:
                    # A source in series with a resistance is a current into its ends
                    # (Norton).
                    drive[start] -= own / each
                    drive[end] += own / each
        passed = [self._taken_out(step, link, drive) for step in self._steps]
        volts, grounded = [0.0] * len(drive), [True] * len(drive)
        for step, (shares, own_v) in zip(
            reversed(self._steps), reversed(passed), strict=True
        ):
            sum_v, is_grounded = own_v, False
            for share, other in zip(shares, step.others, strict=True):
                if share:
                    sum_v += share * volts[other]
                    # All that are joined to it are joined to each other then: any of
                    # them tells.
                    is_grounded = grounded[other]
            volts[step.node], grounded[step.node] = sum_v, is_grounded
        current = [
            0.0 if each is None else (volts[start] - volts[end] + own) / each
            for each, own, (start, end) in zip(ohm, emf_v, self.ends, strict=True)
        ]
        of_nodes = zip(volts, grounded, strict=True)
        return Solved([v if sure else None for v, sure in of_nodes], current)

    @staticmethod
    def _taken_out(
        step: _Step, link: list[float], drive: list[float]
    ) -> tuple[list[float], float]:
        """Take a node out; give the share of each other node in it, and its own [V]."""
        own = [link[number] for number in step.links]
        total = sum(own)
        if not total:
            return [0.0] * len(own), 0.0
        shares = [each / total for each in own]
        for new, one, two in step.pairs:
            if shares[one] and own[two]:
                # The star's arms g₁ and g₂ become the link g₁·g₂ / Σg.
                link[new] += shares[one] * own[two]
        amps = drive[step.node]
        if amps:
            for other, share in zip(step.others, shares, strict=True):
                drive[other] += share * amps
        return shares, amps / total

    def joins(self, ohm: Sequence[float | None], one: str, two: str) -> bool:
        """Tell whether closed branches lead from one node to another."""
        reached, grown = {self.nodes[one]}, True
        while grown:
            grown = False
            for each, (start, end) in zip(ohm, self.ends, strict=True):
                if each is not None and (start in reached) != (end in reached):
                    reached |= {start, end}
                    grown = True
        return self.nodes[two] in reached


@lru_cache(maxsize=64)
def topology_of(ends: Ends) -> Topology:
    """Make a topology once."""
    return Topology(ends)


def _number(links: dict[frozenset[int], int], pair: tuple[int, int]) -> int:
    return links.setdefault(frozenset(pair), len(links))


def _steps(links: dict[frozenset[int], int], n_nodes: int) -> tuple[_Step, ...]:
    """Take out next the node with the fewest links: it makes the fewest new ones."""
    near = [
        {other for pair in links if node in pair for other in pair - {node}}
        for node in range(n_nodes)
    ]
    # Ground, which is node 0, stays to the end.
    left, steps = set(range(1, n_nodes)), []
    while left:
        node = min(left, key=lambda each: (len(near[each]), each))
        left.remove(node)
        others = tuple(sorted(near[node]))
        for other in others:
            near[other] = (near[other] | near[node]) - {node, other}
        pairs = combinations(range(len(others)), 2)
        steps.append(
            _Step(
                node,
                others,
                tuple(_number(links, (node, other)) for other in others),
                tuple((_number(links, (others[a], others[b])), a, b) for a, b in pairs),
            )
        )
    return tuple(steps)
