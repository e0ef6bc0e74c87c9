"""The fault codes that a smart switch sets, by what it sees of its own circuit.

References
----------
Application report SLVAG11: while a switch is off, a small current of its own finds an
open load, and cannot tell it from a short to the supply (read). Data sheet BTS 6143 D:
too much current shuts a switch off, and it stays off (read). A code for a supply that
is too low is common practice, no source.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from generator.model.circuit import Columns
from generator.model.scales import CODES
from generator.model.topology import AT, TOPOLOGY, Settled

Floats = NDArray[np.float64]

# Share of the nominal voltage below which a switch takes its supply for missing, and
# above which its output for held up while it is off (common practice, no source).
_NO_SUPPLY_FRAC, _HELD_UP_FRAC = 0.45, 0.25


def codes(columns: Columns, settled: Settled, on: int, off: int) -> Floats:
    """Which code a switch has set once it was commanded on, and off again.

    An open load is looked for while the switch is off, as the output of a switch that
    conducts is up in any case. So what never conducts sets no code.

    Parameters
    ----------
    columns : Columns, shape (n_circuits, n_variants)
        Values of the circuits.
    settled : Settled
        Their operating points, shape (n_circuits, n_setups, n_variants).
    on, off : int
        Numbers of the setups with and without a command.

    Returns
    -------
    array, shape (n_circuits, n_variants)
        Place of the code in `CODES`.
    """
    at_on, at_off = settled.in_setup(on), settled.in_setup(off)
    seen = {
        # One alone is told: what hides the others comes first.
        "no supply": _volts(at_on, "30") < _NO_SUPPLY_FRAC * columns["rated_v"],
        "overcurrent": _is_latched(columns, at_on),
        "open load": _is_held_up(columns, at_off),
    }
    numbers = [CODES.index(code) for code in seen]
    return np.select(list(seen.values()), numbers, CODES.index("none")).astype(float)


def _volts(settled: Settled, node: str) -> Floats:
    """Voltage of a node [V], 0 where nothing holds it."""
    volts = settled.voltage[TOPOLOGY.nodes.index(node)]
    return np.where(settled.floats(node), 0.0, volts)[:, 0]


def _is_latched(columns: Columns, settled: Settled) -> NDArray[np.bool_]:
    is_over = settled.coil_frac[:, 0] > 1
    return np.asarray(is_over & (columns["is_welded"] == 0))


def _is_held_up(columns: Columns, settled: Settled) -> NDArray[np.bool_]:
    """Whether the output stays up while it is off: by its own small current, or fed."""
    limit = _HELD_UP_FRAC * columns["rated_v"]
    # What is commanded without demand is not off.
    is_off = np.isinf(settled.resistance[AT["low_driver"]])[:, 0]
    return np.asarray(is_off & (_volts(settled, "87") > limit))
