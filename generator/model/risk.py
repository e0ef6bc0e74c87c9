"""How likely tolerances turn what a test shows into another outcome."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generator.model.scales import Scale

Floats = NDArray[np.float64]

# From so many standard deviations on the tail is smaller than any number.
_NO_TAIL = 40.0


def risks(value: Floats, uncertainty: Floats, on_scales: Sequence[Scale]) -> Floats:
    """Probability that tolerances turn a reading into another outcome.

    Readings are taken as normal about the values given.

    Parameters
    ----------
    value, uncertainty : arrays, shape (n_circuits, n_tests)
    on_scales : sequence of Scale, length n_tests

    Returns
    -------
    array, shape (n_circuits, n_tests)
    """
    risk = np.zeros_like(value)
    for number, scale in enumerate(on_scales):
        edges = np.array(scale.edges)
        # An open lies beyond every edge. What is seen by eye has no spread: a tiny one
        # leaves it sure, where none could not be divided by.
        reading = np.where(np.isfinite(value[:, number]), value[:, number], 1e12)
        width = np.maximum(uncertainty[:, number], 1e-12)[:, None]
        gap = np.abs(reading[:, None] - edges) / width
        # At most this: a reading past one edge may be past the next as well, counted
        # twice.
        risk[:, number] = _normal_tail(gap).sum(axis=1)
    return risk


def _normal_tail(distance: Floats) -> Floats:
    """Probability that a standard normal variable exceeds a distance."""
    tails, is_near = np.zeros_like(distance), distance < _NO_TAIL
    near = distance[is_near].tolist()
    tails[is_near] = [0.5 * math.erfc(z / math.sqrt(2)) for z in near]
    return tails
