"""Islands: nodes that closed branches join, whatever lies between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]

# Of the whole number that stands for a pattern of closed branches.
_BITS = 64
# A walk in plain Python is slow, and many cases share few patterns.
_MOST_PATTERNS = 65536


@dataclass(frozen=True, slots=True, kw_only=True)
class Parted:
    """Cases whose nodes are parted into islands.

    Attributes
    ----------
    islands : array of int, shape (n_patterns, n_nodes)
        Number of the island that each node is on, ground's number 0 for the first.
    which : array of int, shape (n_cases,)
        Pattern of each case.
    """

    islands: NDArray[np.int64]
    which: NDArray[np.intp]

    def apart(self, one: int, other: int) -> Flags:
        """Tell in which cases no closed branch leads from one node to another."""
        unlike: Flags = self.islands[:, one] != self.islands[:, other]
        return unlike[self.which]


@dataclass(frozen=True, slots=True)
class Islands:
    """Parts cases of one topology, and keeps what it has found of each pattern.

    ``ends`` are the numbers of the nodes that each branch joins.
    """

    ends: Sequence[tuple[int, int]]
    n_nodes: int
    _known: dict[int, tuple[int, ...]] = field(default_factory=dict)

    def parted(self, closed: Flags) -> Parted:
        """Part the nodes of each case.

        Parameters
        ----------
        closed : array of bool, shape (n_branches, n_cases)
            Of the first branches of the topology, 63 at most; all others are open.
        """
        patterns, which = np.unique(_patterns(closed), return_inverse=True)
        found = [self._of(pattern) for pattern in patterns.tolist()]
        return Parted(islands=np.array(found), which=which)

    def _of(self, pattern: int) -> tuple[int, ...]:
        """Give each node the lowest number that it is joined to."""
        if pattern in self._known:
            return self._known[pattern]
        island = list(range(self.n_nodes))
        for branch, (start, end) in enumerate(self.ends):
            one, other = island[start], island[end]
            if pattern >> branch & 1 and one != other:
                kept, gone = min(one, other), max(one, other)
                island = [kept if each == gone else each for each in island]
        if len(self._known) >= _MOST_PATTERNS:
            self._known.clear()
        return self._known.setdefault(pattern, tuple(island))


def _patterns(closed: Flags) -> NDArray[np.int64]:
    """Write which branches are closed in each case as the bits of a whole number."""
    bits = np.zeros((closed.shape[1], _BITS), dtype=bool)
    bits[:, : len(closed)] = closed.T
    octets = np.packbits(bits, axis=1, bitorder="little")
    patterns: NDArray[np.int64] = octets.view("<i8")[:, 0]
    return patterns
