"""Islands: nodes that closed branches join, whatever lies between them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from generator.model.network import Topology

if TYPE_CHECKING:
    from numpy.typing import NDArray


def island_roots(topology: Topology, closed: NDArray[np.bool_]) -> NDArray[np.intp]:
    """First node of the island that each node belongs to.

    Parameters
    ----------
    closed : array of bool, shape (n_cases, n_branches)

    Returns
    -------
    array of int, shape (n_cases, n_nodes)
    """
    first, which = _distinct_rows(closed)
    n_nodes = len(topology.nodes)
    ends = np.abs(topology.incidence).astype(np.float32)
    # Counts of branches: products of small whole numbers are exact on any processor.
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
