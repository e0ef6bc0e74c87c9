"""Islands: nodes that closed branches join, whatever lies between them."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from generator.model.network import Topology

Ends = tuple[tuple[int, int], ...]


def closed_patterns(closed: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Write which branches are closed in each case as the bits of a whole number.

    Parameters
    ----------
    closed : array of bool, shape (n_branches, n_cases)
        Of the first branches of a topology, 63 at most.

    Returns
    -------
    array of int, shape (n_cases,)
    """
    pattern = np.zeros(closed.shape[1], dtype=np.int64)
    for number, branch in enumerate(closed):
        pattern |= branch.astype(np.int64) << number
    return pattern


def apart(
    topology: Topology, patterns: NDArray[np.int64], nodes: tuple[str, str]
) -> NDArray[np.bool_]:
    """Tell in which cases no closed branch leads from one node to another.

    Parameters
    ----------
    patterns : array of int, shape (n_cases,)
        From `closed_patterns`; all branches behind are open.

    Returns
    -------
    array of bool, shape (n_cases,)
    """
    unlike, which = np.unique(patterns, return_inverse=True)
    ends: Ends = tuple(map(tuple, topology.ends.T.tolist()))
    one, other = map(topology.nodes.index, nodes)
    found = [_are_apart(ends, each, one, other) for each in unlike.tolist()]
    return np.array(found, dtype=bool)[which]


# A walk in plain Python is slow, and many cases share few patterns.
@lru_cache(maxsize=65536)
def _are_apart(ends: Ends, pattern: int, one: int, other: int) -> bool:
    """Walk from one node along the branches whose bits are set."""
    reached, left = {one}, [e for n, e in enumerate(ends) if pattern >> n & 1]
    while True:
        near = {node for pair in left if reached & {*pair} for node in pair}
        if near <= reached:
            return other not in reached
        reached |= near
