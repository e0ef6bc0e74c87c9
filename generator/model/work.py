"""How much work a load does: one measure for what is complained of and for its test."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from generator.model.circuit import Columns
from generator.model.topology import Settled

Floats = NDArray[np.float64]

WEAK_FRAC = 0.85
"""Share of the sound work below which a load works weakly (common practice, no source:
nobody sees or feels a smaller difference without an instrument)."""


def work_done(columns: Columns, settled: Settled) -> Floats:
    """How much work loads do, 0 where nothing is driven.

    Parameters
    ----------
    columns : Columns, shape (n_circuits, n_variants)
        Values of the circuits, as from ``columns_of``.
    settled : Settled
        Their operating points, shape (n_circuits, n_setups, n_variants, ...).

    Returns
    -------
    array, shape (n_circuits, n_setups, n_variants)
        Speed of a motor [rad/s]; of all else the square of its current [A²], which
        its heat and its pull go with.
    """
    constant = columns["motor_constant_vs"][:, None]
    is_motor = constant > 0
    # The back-EMF is k·ω, and stands against the current in its branch.
    speed = -settled.emf("load") / np.where(is_motor, constant, 1.0)
    effort = np.where(is_motor, speed, settled.current("load") ** 2)
    return np.asarray(effort * columns["work_frac"][:, None])
