"""Electrical behaviour of single parts: relay coil, driver, motor, wire, fuse.

References
----------
IEC 60228, conductors of insulated cables: resistance of copper by cross-section.
P. C. Sen, "Principles of Electric Machines and Power Electronics", ch. 4: the
permanent-magnet motor, V = R·I + k·ω and T = k·I (from memory).
"""

from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "COPPER_OHM_MM2_PER_M",
    "LIMITER_OHM",
    "LoadKind",
    "running_emf",
    "wire_resistance",
]

Floats = NDArray[np.float64]
LoadKind = Literal["heater", "fan motor", "solenoid valve"]

# Volume resistivity of annealed copper (100 % IACS) at 20 °C: 1/58 Ω·mm²/m.
COPPER_OHM_MM2_PER_M = 1 / 58
# A driver in current limiting behaves as a current source with this slope.
LIMITER_OHM = 1.0e4


def wire_resistance(length_m: float, area_mm2: float) -> float:
    """Resistance of a copper wire at 20 °C [Ω].

    Examples
    --------
    >>> round(wire_resistance(1.0, 1.5) * 1000, 2)
    11.49
    """
    return COPPER_OHM_MM2_PER_M * length_m / area_mm2


def running_emf(
    source_v: Floats,
    series_ohm: Floats,
    constant_vs: Floats,
    drag: tuple[Floats, Floats],
) -> Floats:
    """Back-EMF at which a permanent-magnet motor runs steadily on a source.

    The torque k·I meets friction T and the fan's c·ω²; with I = (U - k·ω)/R the
    speed is the positive root of c·ω² + (k²/R)·ω - (k·U/R - T) = 0, or 0 where
    friction holds the rotor.

    Parameters
    ----------
    source_v, series_ohm : array
        Source voltage U [V] and all resistance in the loop, armature included [Ω].
    constant_vs : array
        Motor constant k [V·s].
    drag : pair of arrays
        Fan coefficient c [N·m·s²], above 0, and friction torque T [N·m].

    Returns
    -------
    array
        k·ω [V].
    """
    fan_nms2, friction_nm = drag
    damping = constant_vs**2 / series_ohm
    spare = np.maximum(constant_vs * source_v / series_ohm - friction_nm, 0.0)
    # The root in the form that loses no digits when c is small.
    speed = 2 * spare / (damping + np.sqrt(damping**2 + 4 * fan_nms2 * spare))
    return np.asarray(constant_vs * speed)
