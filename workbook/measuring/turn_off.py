"""The spike of a coil that is switched off, in closed form, in plain Python.

The coil with core loss, stray capacitance and resistor is linear in its current and its
voltage: v(t) = A·exp(s·t) + B·exp(f·t), which turns where its slope is 0.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping

NO_CURRENT_A = 1e-3
"""A coil current that is cut off and is below this drives no spike [A]."""


def spike_v(
    cut_a: float, value: Mapping[str, float], constants: Mapping[str, float]
) -> float:
    """How far a coil drives its end past where it rests [V], by the current cut off."""
    if not cut_a > NO_CURRENT_A:
        return 0.0
    bare = _undershoot(cut_a, value, constants)
    if not value["has_diode"]:
        return bare
    return min(bare, constants["diode_v"] + constants["diode_ohm"] * cut_a)


def _undershoot(
    start_a: float, value: Mapping[str, float], constants: Mapping[str, float]
) -> float:
    # Pull-in takes the same ampere-turns in every relay of a frame, so turns go with 1
    # over its current; inductance and core loss go with the square of the turns.
    square = (constants["coil_pull_in_a"] / value["pull_in_a"]) ** 2
    loss_ohm = constants["coil_loss_ohm"] * square
    inductance_h = constants["coil_inductance_h"] * square
    stray_f, coil_ohm = constants["coil_stray_f"], value["coil_ohm"]
    # The core loss lies beside the inductance, behind the copper: together they divide
    # what drives the inductance. Rates of the two states, current and voltage, in 1/s.
    share = loss_ohm / (loss_ohm + coil_ohm)
    across_s = 1 / (coil_ohm + loss_ohm) + 1 / value["suppression_ohm"]
    damping, leak = share * coil_ohm / inductance_h, across_s / stray_f
    determinant = damping * leak + share**2 / (inductance_h * stray_f)
    fast = _fast_rate(-(damping + leak) / 2, determinant)
    slow = determinant / fast
    # Until the driver opens the steady current has its whole drop in the copper.
    start_v = start_a * coil_ohm
    slope = -share * start_a / stray_f - leak * start_v
    first = (slope - fast * start_v) / (slow - fast)
    second = start_v - first
    gap = slow - fast
    turn_s = (cmath.log(-fast * second / (slow * first)) / gap).real
    if not turn_s > 0:
        # One that rings turns twice a period; the logarithm may give a turn before 0.
        turn_s += 2 * math.pi / abs(gap.imag)
    low = first * cmath.exp(slow * turn_s) + second * cmath.exp(fast * turn_s)
    return -low.real


def _fast_rate(half: float, determinant: float) -> complex:
    """The faster of two rates by their mean and their product [1/s]."""
    root = cmath.sqrt(half * half - determinant)
    # Critical damping has one rate only: a millionth beside it has two.
    least = 1e-6 * abs(half)
    return half - (least if abs(root) < least else root)
