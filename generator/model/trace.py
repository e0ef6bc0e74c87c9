"""A transient as it is recorded: times, currents and voltages."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """A transient as an oscilloscope with a current probe records it.

    Parameters
    ----------
    time_s : array, shape (n_points,)
        Time after switching [s], rising; 0 stands twice where something jumps, just
        before and just after.
    current_a : array, shape (n_points,)
        Current of the load [A]; of a coil the part that magnetises the core.
    voltage_v : array, shape (n_points,)
        Voltage against ground [V]: at the switched terminal of a coil, at the supply
        terminal of a load.
    final_a : float
        What the current settles to [A].
    """

    time_s: Floats
    current_a: Floats
    voltage_v: Floats
    final_a: float

    def __post_init__(self) -> None:
        if not len(self.time_s) == len(self.current_a) == len(self.voltage_v) >= 2:
            raise ValueError("a trace needs as many currents and voltages as times")
        for array in (self.time_s, self.current_a, self.voltage_v):
            array.flags.writeable = False

    @property
    def peak_v(self) -> float:
        """Largest voltage [V]."""
        return float(self.voltage_v.max())

    @property
    def peak_a(self) -> float:
        """Largest current [A]."""
        return float(self.current_a.max())

    @property
    def time_constant_s(self) -> float:
        """Time in which the current does all but 1/e of its way [s].

        The way leads to ``final_a``, from the peak where the current overshoots and
        else from the start. For one exponential this is its time constant.
        """
        overshoots = self.peak_a > self.final_a + 1e-3 * abs(self.final_a)
        start = int(self.current_a.argmax()) if overshoots else 0
        way = np.abs(self.current_a[start:] - self.final_a)
        passed_s = self.time_s[start:] - self.time_s[start]
        return _first_below(passed_s, way, float(way[0]) / math.e)

    def release_s(self, drop_out_a: float) -> float:
        """Time until the current is below the drop-out current [s]; inf if never."""
        return _first_below(self.time_s, np.abs(self.current_a), drop_out_a)


def _first_below(time_s: Floats, values: Floats, level: float) -> float:
    """When values first come down to a level, straight between points."""
    below = np.flatnonzero(values <= level)
    if not below.size:
        return math.inf
    after = int(below[0])
    if after == 0:
        return float(time_s[0])
    high, low = values[after - 1], values[after]
    share = (high - level) / (high - low)
    return float(time_s[after - 1] + share * (time_s[after] - time_s[after - 1]))
