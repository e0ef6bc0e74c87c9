"""Electrical behaviour of single parts: relay coil, driver, motor, wire, fuse.

References
----------
IEC 60228, conductors of insulated cables: resistance of copper by cross-section.
P. C. Sen, "Principles of Electric Machines and Power Electronics", ch. 4: the
permanent-magnet motor, V = R·I + k·ω and T = k·I (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from generator.model.circuit import copper_factor

Floats = NDArray[np.float64]

# Load ratings are given at this voltage in a 12 V vehicle, as on the sheets of the
# trade; at twice that in a 24 V vehicle.
RATED_V = 13.5
# Volume resistivity of annealed copper (100 % IACS) at 20 °C: 1/58 Ω·mm²/m.
COPPER_OHM_MM2_PER_M = 1 / 58
# Opening times of blade fuses by current over rating [s] (SAE J1284 and ISO 8820-3,
# from memory; the longest time at 110 % is not limited).
FUSE_GATES: Mapping[float, tuple[float, float]] = MappingProxyType(
    {
        1.1: (360_000.0, math.inf),
        1.35: (0.75, 600.0),
        2.0: (0.15, 5.0),
        3.5: (0.08, 0.5),
        6.0: (0.03, 0.1),
    }
)
# Blade-fuse ratings [A] (ISO 8820-3 type C, from memory).
BLADE_FUSES_A = (2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)
CONTROL_FUSE_A = 5.0
"""Rating of every control fuse, and of the fuse of a lead in its place [A]."""
FUSE_USE_FRAC = 0.75
"""Share of its rating that a fuse carries for ever, at 25 °C (circuitprotection.ca,
fuseology)."""
# A driver in current limiting behaves as a current source with this slope.
LIMITER_OHM = 1.0e4
WARMING_STEPS = 50
# Far above rated power a part burns out rather than warming on.
MOST_HEAT_FRAC = 4.0
# How NumPy rounds the powers of an array depends on the processor.
_raised = np.frompyfunc(math.pow, 2, 1)


def wire_resistance(
    length_m: float, area_mm2: float, temperature_degc: float = 20.0
) -> float:
    """Resistance of a copper wire [Ω].

    Parameters
    ----------
    length_m : float
        Length [m].
    area_mm2 : float
        Nominal cross-section [mm²].
    temperature_degc : float
        Temperature of the conductor [°C].

    Examples
    --------
    >>> round(wire_resistance(1.0, 1.5) * 1000, 2)
    11.49
    """
    warm = copper_factor(temperature_degc)
    return COPPER_OHM_MM2_PER_M * length_m / area_mm2 * warm


def fuse_gate(current_frac: float) -> tuple[float, float]:
    """Shortest and longest time that a blade fuse takes to open [s].

    Parameters
    ----------
    current_frac : float
        Current over the rating.

    Returns
    -------
    tuple of float
        Of the highest gate that the current reaches; ``(inf, inf)`` below the first.
    """
    # Gates rise in the order in which they stand, so that the last one is the highest.
    reached = [times for gate, times in FUSE_GATES.items() if current_frac >= gate]
    return reached[-1] if reached else (math.inf, math.inf)


def heating_current(total_a: Floats, load_a: Floats, duty_frac: Floats) -> Floats:
    """Current that heats a fuse, its root mean square [A].

    A load that is switched fast draws its mean over the duty while it is on, whose
    square is so mean²/duty on average; what else flows does so all the time.

    Parameters
    ----------
    total_a, load_a : array
        Mean current through the fuse, and that of the load in it [A].
    duty_frac : array
        Share of the time that the load is on.

    References
    ----------
    OpenStax, University Physics 2, 15.4: the root mean square is what heats (from
    memory).

    Examples
    --------
    >>> round(float(heating_current(17.0, 17.0, 0.576)), 1)
    22.4
    """
    pulses = load_a**2 * (1 / duty_frac - 1)
    return np.asarray(np.sqrt(total_a**2 + pulses))


def fuse_for(load_a: float, duty_frac: float = 1.0) -> float:
    """Rating of the smallest blade fuse that three quarters of suffice [A].

    Parameters
    ----------
    load_a : float
        Rated current of the load, its mean where it is switched fast [A].
    duty_frac : float
        Share of the time that it is on.

    Raises
    ------
    ValueError
        Where no blade fuse is large enough.

    Examples
    --------
    >>> fuse_for(14.0), fuse_for(14.0, 0.6)
    (20.0, 25.0)
    """
    # Pulses of a mean current heat like mean / sqrt(duty), as `heating_current` tells.
    needed_a = load_a / math.sqrt(duty_frac) / FUSE_USE_FRAC
    if needed_a > BLADE_FUSES_A[-1]:
        raise ValueError(
            f"a load of {load_a:g} A needs a fuse of {needed_a:g} A; the largest blade "
            f"fuse has {BLADE_FUSES_A[-1]:g} A"
        )
    return next(rating_a for rating_a in BLADE_FUSES_A if rating_a >= needed_a)


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
        Fan coefficient c [N·m·s²], 0 for a pump, and friction torque T [N·m].

    Returns
    -------
    array
        k·ω [V].
    """
    fan_nms2, friction_nm = drag
    damping = constant_vs**2 / series_ohm
    # What is left at standstill to turn it with: none where friction holds, or is
    # ``inf``.
    spare = np.maximum(constant_vs * source_v / series_ohm - friction_nm, 0.0)
    # The root in the form that loses no digits when c is small.
    speed = 2 * spare / (damping + np.sqrt(damping**2 + 4 * fan_nms2 * spare))
    return np.asarray(constant_vs * speed)


def working_resistance(
    source_v: Floats, series_ohm: Floats, value: Mapping[str, Floats]
) -> Floats:
    """Resistance at which a winding, a mat or a filament settles on a source [Ω].

    A winding or mat rises from cold by its share of rated power; a filament follows a
    power of its voltage, and never falls below cold. Found by iteration, which
    contracts: resistance rises more slowly than what heats it.

    Parameters
    ----------
    source_v, series_ohm : array
        Source voltage [V] and resistance in series with the load [Ω].
    value : mapping of arrays
        ``load_ohm`` cold [Ω], ``hot_frac`` of rated over cold, ``rated_v`` [V],
        ``load_rated_a`` [A], ``lamp_exponent`` (0 where it is no lamp), ``duty_frac``
        (below 1 where it is switched fast; the result then draws the mean current).

    References
    ----------
    A. M. Agrawal and H. Menon, "Light bulb exponent-rules for the classroom",
    IEEE Trans. Education 54, 2011: filament current goes with about the 0.55th power
    of voltage, so resistance with about the 0.45th (from memory).
    """
    # What is on for a share of the time draws, on average, as one of more ohms would.
    cold, hot = value["load_ohm"] / value["duty_frac"], value["hot_frac"]
    rise = hot - 1
    rated_w = value["rated_v"] * value["load_rated_a"]
    is_lamp = value["lamp_exponent"] > 0
    exponent = value["lamp_exponent"][is_lamp]
    resistance = cold * hot
    for _ in range(WARMING_STEPS):
        voltage = source_v * resistance / (series_ohm + resistance)
        power_frac = np.minimum(voltage**2 / resistance / rated_w, MOST_HEAT_FRAC)
        target = cold * (1 + rise * power_frac)
        if exponent.size:
            glow = _raised((voltage / value["rated_v"])[is_lamp], exponent)
            target[is_lamp] = cold[is_lamp] * np.maximum(1.0, hot[is_lamp] * glow)
        # Half of the way: a winding would overshoot, for more ohms heat it less. In
        # `WARMING_STEPS` the slowest, a lamp behind 20 Ω, is settled to 1e-13 (tried).
        resistance = (resistance + target) / 2
    return np.asarray(resistance)
