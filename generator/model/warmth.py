"""How warm joints and relays get under current: what they dissipate, and their heat.

A part that takes P watts from when current begins rises above what lies beside it by
P·R·(1 - exp(-t / R·C)), with the thermal resistance R from its surface to the air and
the heat capacity C of what is warmed along: one lump, as small parts are.

References
----------
F. P. Incropera and D. P. DeWitt, "Fundamentals of heat and mass transfer", 5.1 to 5.3:
the lumped capacitance method (from memory). R follows from some 10 to 15 W/(m²·K) of
still air on surface and wire, C from the masses of plastic, copper and iron (common
practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from generator.model.circuit import Columns, Floats
from generator.model.topology import AT, Settled

WARMED_S = 60.0
"""How long current flows before a thermometer is read [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmPart:
    """A part that a thermometer is held to: whose heat it shows, and how slowly.

    Attributes
    ----------
    steady, pulsed : tuple of str
        Branches of the network; those that carry the load's current have its pulses.
    k_per_w : float
        Thermal resistance from its surface to the air [K/W].
    j_per_k : float
        Heat capacity of what is warmed along [J/K].
    """

    steady: tuple[str, ...] = ()
    pulsed: tuple[str, ...]
    k_per_w: float
    j_per_k: float

    def rise_k(self, heat_w: Floats) -> Floats:
        """Rise above what lies beside it after so much heat for a minute [K].

        Examples
        --------
        >>> round(float(WARM_PARTS["load_ground"].rise_k(np.array(12.0))), 1)
        25.6
        """
        lag = 1 - math.exp(-WARMED_S / (self.k_per_w * self.j_per_k))
        return np.asarray(heat_w * self.k_per_w * lag)


WARM_PARTS: Mapping[str, WarmPart] = MappingProxyType(
    {
        # Some 30 g of relay, and the blades and plastic of its socket.
        "relay": WarmPart(
            steady=("coil", "suppression"),
            pulsed=("contacts", "socket"),
            k_per_w=20.0,
            j_per_k=30.0,
        ),
        # Some 6 g of brass in fuse, clips and crimps, and 3 g of plastic around them;
        # the wires lead as much heat away as the surface.
        "load_fuse": WarmPart(pulsed=("load_fuse",), k_per_w=25.0, j_per_k=7.0),
        # A housing of some 15 g with its pins and the ends of its wires.
        "load_connector": WarmPart(
            pulsed=("load_connector",), k_per_w=12.0, j_per_k=25.0
        ),
        # A corroded ring leads its heat into the frame no better than its current.
        "load_ground": WarmPart(
            pulsed=("load_ground", "ground_point"), k_per_w=10.0, j_per_k=25.0
        ),
    }
)
"""What a thermometer is held to, by the target of its test."""


def heat_w(columns: Columns, settled: Settled, part: WarmPart) -> Floats:
    """Heat that a part takes from its current: I²·R of its branches [W].

    Parameters
    ----------
    columns : Columns, shape (n_circuits, n_variants)
        Values of the circuits, as from ``columns_of``.
    settled : Settled
        Their operating points, shape (n_circuits, n_setups, n_variants, ...).

    Returns
    -------
    array, shape (n_circuits, n_setups, n_variants)
        Of pulses the mean: their root mean square is the mean current over √duty.
    """
    steady = sum((_heat(settled, name) for name in part.steady), np.zeros(1))
    pulsed = sum((_heat(settled, name) for name in part.pulsed), np.zeros(1))
    return np.asarray(steady + pulsed / columns["duty_frac"][:, None])


def _heat(settled: Settled, branch: str) -> Floats:
    ohm = settled.resistance[AT[branch]]
    # Nothing flows through an open, and nothing times inf would be nan.
    return settled.current(branch) ** 2 * np.where(np.isfinite(ohm), ohm, 0.0)
