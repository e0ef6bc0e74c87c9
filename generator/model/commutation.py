"""The ripple on a motor's current: one hump for each bar that passes the brushes.

Between two bars the voltage of the armature follows the top of a sine, so that its
current, behind resistance and inductance, is in closed form piece by piece. A bar with
a bad contact brings its resistance into the path while a brush stands on it: once at
each of two brushes, so twice a turn.

References
----------
A. E. Fitzgerald, C. Kingsley, S. D. Umans, "Electric Machinery", ch. 7: the voltage
of a commutator winding (from memory). Ripples a turn: bars, and twice the bars where
their number is odd (two poles); for three bars read at precisionmicrodrives.com,
"Using DC motor commutation spikes to measure motor speed", which counts six.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.model.inrush import Source, new_trace
from generator.model.trace import Trace

_POINTS_A_RIPPLE = 24


def ripples_a_turn(bars: int, poles: int = 2) -> int:
    """Ripples of one turn: the least common multiple of bars and poles.

    Examples
    --------
    >>> ripples_a_turn(12), ripples_a_turn(3), ripples_a_turn(28, poles=4)
    (12, 6, 28)
    """
    return math.lcm(bars, poles)


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A motor at a steady speed, and what feeds it.

    ``emf_v`` is the mean of its voltage, ``ripples`` how many there are in a turn.
    """

    source: Source
    resistance_ohm: float
    inductance_h: float
    emf_v: float
    speed_rad_s: float
    ripples: int

    def __post_init__(self) -> None:
        if not min(self.inductance_h, self.emf_v, self.speed_rad_s) > 0:
            raise ValueError("inductance_h, emf_v and speed_rad_s must be above 0")

    @property
    def ripple_s(self) -> float:
        """How long one ripple takes [s]."""
        return 2 * math.pi / self.speed_rad_s / self.ripples


def ripple_trace(motor: Running, extra_ohm: Sequence[float]) -> Trace:
    """Current of a running motor, one ripple after the other.

    Parameters
    ----------
    extra_ohm : sequence of float
        What stands in the path during each ripple besides the motor's own resistance.

    Returns
    -------
    Trace
        From the steady state without any; ``final_a`` is its mean.
    """
    step_s = motor.ripple_s / _POINTS_A_RIPPLE
    steps = [n * step_s for n in range(_POINTS_A_RIPPLE)]
    # Of a sound motor: so the first of the extra resistance shows against what was
    # before.
    start_a = _steady_a(_Ripple.of(motor, 0.0), motor.ripple_s)
    currents = []
    for ohm in extra_ohm:
        ripple = _Ripple.of(motor, ohm)
        currents += [ripple.current(start_a, t) for t in steps]
        # An inductance lets no current jump: each ripple begins where the last one
        # ended.
        start_a = ripple.current(start_a, motor.ripple_s)
    total_ohm = motor.source.resistance_ohm + motor.resistance_ohm
    mean_a = (motor.source.emf_v - motor.emf_v) / total_ohm
    time_s = np.array([n * step_s for n in range(len(currents))])
    return new_trace(motor.source, time_s, np.array(currents), mean_a)


@dataclass(frozen=True, slots=True)
class _Ripple:
    """One stretch: i(t) = driven(t) + (i0 - driven(0))·exp(-rate·t)."""

    steady_a: float
    swing_a: float
    speed: float
    late_rad: float
    rate: float

    @classmethod
    def of(cls, motor: Running, extra_ohm: float) -> _Ripple:
        ohm = motor.source.resistance_ohm + motor.resistance_ohm + extra_ohm
        # The sine goes through one half turn with as many ripples as a turn has halved.
        half_rad = math.pi / motor.ripples
        # A cosine averages sin(h) / h from -h to h: with this top the mean is
        # ``emf_v``.
        top_v = motor.emf_v * half_rad / math.sin(half_rad)
        reactance = motor.speed_rad_s * motor.inductance_h
        return cls(
            motor.source.emf_v / ohm,
            top_v / math.hypot(ohm, reactance),
            motor.speed_rad_s,
            # It begins half a ripple before its top, and the current lags behind by the
            # winding.
            half_rad + math.atan2(reactance, ohm),
            ohm / motor.inductance_h,
        )

    def driven(self, time_s: float) -> float:
        angle = self.speed * time_s - self.late_rad
        return self.steady_a - self.swing_a * math.cos(angle)

    def current(self, start_a: float, time_s: float) -> float:
        left = math.exp(-self.rate * time_s)
        return self.driven(time_s) + (start_a - self.driven(0.0)) * left


def _steady_a(ripple: _Ripple, span_s: float) -> float:
    """Current that a ripple begins and ends with [A]: each stretch is linear in it."""
    left = math.exp(-ripple.rate * span_s)
    return (ripple.driven(span_s) - ripple.driven(0.0) * left) / (1 - left)
