"""Inrush: the current of a load from the moment its contacts close.

Closed form for a heater and a winding. A motor and a filament follow nonlinear
equations, which are integrated (LSODA of ODEPACK, through SciPy).

References
----------
P. C. Sen, "Principles of Electric Machines and Power Electronics", ch. 4: the
permanent-magnet motor, U = R·i + L·di/dt + k·ω and J·dω/dt = k·i - drag (from memory).
OpenStax, "University Physics Volume 2", example 9.6: a tungsten filament of 0.350 Ω
at 20 °C has 4.8 Ω at 2850 °C, temperature coefficient 4.5e-3 per kelvin.
OpenStax, "University Physics Volume 2", section 14.4: the current of an RL circuit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.model.parts import running_emf
from generator.model.trace import Trace

Floats = NDArray[np.float64]

_POINTS = 1200
_ZERO_DEGC_K = 273.15
TUNGSTEN_PER_K = 4.5e-3
"""Rise of the resistance of tungsten about 20 °C [1/K] (OpenStax, as above)."""
HEAT_S_PER_K = 5e-5
"""What a filament stores per kelvin, for each watt (common practice, no source)."""
NO_FAN_NMS2 = 1e-12
"""Of a pump, for `Motor` needs a fan: this takes no torque at any speed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What feeds a load: an emf [V] behind all resistance outside the load [Ω]."""

    emf_v: float
    resistance_ohm: float = 0.0

    def __post_init__(self) -> None:
        if not self.emf_v > 0 or self.resistance_ohm < 0:
            raise ValueError("emf_v must be above 0 and resistance_ohm not below")


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """A permanent-magnet motor and what it drives.

    ``constant_vs`` is k [V·s], ``inertia_kgm2`` rotor and fan together (as a rule
    those of a cooler fan of 12 V; common practice, no source), ``fan_nms2`` the torque
    of the fan over the square of its speed, above 0, and ``friction_nm`` a constant
    torque; ``inf`` is a seized rotor. A constant load is friction with a negligible
    fan.
    """

    armature_ohm: float
    inductance_h: float = 2e-4
    constant_vs: float
    inertia_kgm2: float = 2e-3
    fan_nms2: float
    friction_nm: float = 0.0

    def __post_init__(self) -> None:
        values = (
            self.armature_ohm,
            self.inductance_h,
            self.constant_vs,
            self.inertia_kgm2,
            self.fan_nms2,
        )
        if not all(value > 0 for value in values) or self.friction_nm < 0:
            raise ValueError(f"a motor needs values above 0, not {values}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Filament:
    """One incandescent lamp, or a bank of equal ones in parallel as one.

    ``hot_ohm`` is the resistance at ``hot_v`` in balance, when the filament is at
    ``hot_degc``. Cold it has about a tenth of that. Its heat goes off as radiation,
    with the fourth power of the temperature. ``heat_j_per_k`` sets how fast it warms:
    about 0.05 mJ/K for every watt of the lamp (common practice, no source).
    """

    hot_ohm: float
    hot_v: float
    heat_j_per_k: float
    hot_degc: float = 2400.0
    ambient_degc: float = 20.0

    def __post_init__(self) -> None:
        if not min(self.hot_ohm, self.hot_v, self.heat_j_per_k) > 0:
            raise ValueError("a filament needs values above 0")
        if not self.hot_degc > self.ambient_degc > -_ZERO_DEGC_K:
            raise ValueError("hot_degc must be above ambient_degc")

    def resistance(self, temperature_degc: Floats) -> Floats:
        """Resistance at a temperature [Ω]: linear, with tungsten's coefficient."""
        factor = 1 + TUNGSTEN_PER_K * (temperature_degc - 20.0)
        return self.hot_ohm * factor / (1 + TUNGSTEN_PER_K * (self.hot_degc - 20.0))

    def radiated(self, temperature_degc: Floats) -> Floats:
        """Power that goes off as radiation, less what comes from around [W]."""
        hot, cold, now = (
            (np.asarray(t) + _ZERO_DEGC_K) ** 4
            for t in (self.hot_degc, self.ambient_degc, temperature_degc)
        )
        return np.asarray(self.hot_v**2 / self.hot_ohm * (now - cold) / (hot - cold))


def heater_inrush(source: Source, heater_ohm: float, duration_s: float) -> Trace:
    """Current of a heater: at once what it stays.

    Examples
    --------
    >>> heater_inrush(Source(emf_v=12.0), 0.8, 0.1).peak_a
    15.0
    """
    time = np.array([0.0, 0.0, duration_s])
    final_a = source.emf_v / (source.resistance_ohm + heater_ohm)
    return new_trace(source, time, np.array([0.0, final_a, final_a]), final_a)


def winding_rise(
    source: Source, winding_ohm: float, inductance_h: float, duration_s: float
) -> Trace:
    """Current of a solenoid: it rises as (U/R)·(1 - exp(-t·R/L)).

    The inductance is taken as constant; that of a real solenoid grows as the plunger
    moves in, which shows as a dip in the rise.

    Examples
    --------
    >>> trace = winding_rise(Source(emf_v=2.0), 4.0, 4.0, 8.0)
    >>> round(trace.time_constant_s, 3), round(trace.final_a, 3)
    (1.0, 0.5)
    """
    total_ohm = source.resistance_ohm + winding_ohm
    final_a = source.emf_v / total_ohm
    time = np.linspace(0.0, duration_s, _POINTS)
    current = -final_a * np.expm1(-time * total_ohm / inductance_h)
    return new_trace(source, time, current, final_a)


def motor_start(source: Source, motor: Motor, duration_s: float | None = None) -> Trace:
    """Current of a motor from standstill: up to nearly stall, then down as it turns.

    Parameters
    ----------
    duration_s : float, optional
        Length of the trace [s]; left out, eight mechanical time constants
        ``inertia·R/k²``.
    """
    total_ohm = source.resistance_ohm + motor.armature_ohm
    k, drag = motor.constant_vs, motor.fan_nms2

    def slope(_: float, state: Sequence[float]) -> list[float]:
        current, speed = state
        volts = source.emf_v - total_ohm * current - k * speed
        torque = k * current - drag * speed * abs(speed) - motor.friction_nm
        # Friction holds, it does not drive backwards.
        held = speed <= 0 and torque < 0
        return [
            volts / motor.inductance_h,
            0.0 if held else torque / motor.inertia_kgm2,
        ]

    # Speed comes up with about one such constant, so that e^-8, 0.03 %, is left to
    # rise.
    end_s = duration_s or 8 * motor.inertia_kgm2 * total_ohm / k**2
    # The current rises in the electrical time constant, long before the rotor moves.
    time = _times(motor.inductance_h / total_ohm, end_s)
    current = _integrated(slope, [0.0, 0.0], time)[0]
    return new_trace(source, time, current, _running_a(source, motor))


def _running_a(source: Source, motor: Motor) -> float:
    """Current of a motor that runs steadily, or is held by friction [A]."""
    total_ohm = np.array(source.resistance_ohm + motor.armature_ohm)
    back_v = running_emf(
        np.array(source.emf_v),
        total_ohm,
        np.array(motor.constant_vs),
        (np.array(motor.fan_nms2), np.array(motor.friction_nm)),
    )
    return float((source.emf_v - back_v) / total_ohm)


def lamp_inrush(source: Source, lamp: Filament, duration_s: float) -> Trace:
    """Current of a lamp from cold: at once its peak, then down as it warms."""

    def power(temperature_degc: Floats) -> Floats:
        ohms = lamp.resistance(temperature_degc)
        amps = source.emf_v / (ohms + source.resistance_ohm)
        return np.asarray(amps**2 * ohms - lamp.radiated(temperature_degc))

    def slope(_: float, state: Sequence[float]) -> list[float]:
        return [float(power(np.asarray(state[0]))) / lamp.heat_j_per_k]

    time = _times(duration_s / 1e3, duration_s)
    temperature = _integrated(slope, [lamp.ambient_degc], time)[0]
    ohms = source.resistance_ohm + lamp.resistance(temperature)
    balance = source.resistance_ohm + lamp.resistance(np.array(_balance_degc(power)))
    # Time 0 stands twice: no current before the contacts close, and all of it just
    # after.
    current = np.concatenate([[0.0], source.emf_v / ohms])
    final_a = float(source.emf_v / balance)
    return new_trace(source, np.concatenate([[0.0], time]), current, final_a)


def _balance_degc(power: Callable[[Floats], Floats]) -> float:
    """Temperature at which a filament warms no more, by bisection [°C]."""
    # Just above where the straight law of `resistance` would have no ohms left (-202
    # °C), and far above where tungsten melts.
    low, high = -200.0, 1e4
    for _ in range(60):
        middle = (low + high) / 2
        warms = power(np.array(middle)) > 0
        low, high = (middle, high) if warms else (low, middle)
    return low


def _times(fast_s: float, end_s: float) -> Floats:
    """Times from 0 that show what happens within ``fast_s`` and within ``end_s``."""
    first = min(fast_s / 50, end_s / 2)
    # Steps that grow show the fast beginning, even ones the slow rest.
    rising = np.geomspace(first, end_s, _POINTS)
    return np.unique(np.concatenate([np.linspace(0.0, end_s, _POINTS), rising]))


def _integrated(
    slope: Callable[[float, Sequence[float]], list[float]],
    start: list[float],
    time_s: Floats,
) -> Floats:
    """Integrate a stiff system over the times given, shape (n_states, n_times)."""
    # Only those who look at transients wait for SciPy.
    from scipy.integrate import solve_ivp

    end_s = float(time_s[-1])
    found = solve_ivp(
        slope,
        (0.0, end_s),
        start,
        method="LSODA",
        t_eval=time_s.clip(0.0, end_s),
        rtol=1e-8,
        atol=1e-10,
    )
    # LSODA counts what is not a number as a success.
    if not (found.success and np.isfinite(found.y).all()):
        raise ArithmeticError(f"the transient cannot be integrated: {found.message}")
    return np.asarray(found.y, dtype=float)


def new_trace(source: Source, time_s: Floats, current_a: Floats, end_a: float) -> Trace:
    """A current with the voltage that its source has left at the load."""
    voltage = source.emf_v - source.resistance_ohm * current_a
    return Trace(time_s=time_s, current_a=current_a, voltage_v=voltage, final_a=end_a)
