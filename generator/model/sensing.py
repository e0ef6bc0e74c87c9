"""A switch without contacts: a high-side switch that measures its own current.

It gives out a small current, the load's over a fixed ratio, which a resistor makes a
voltage of. Against too much it limits, shuts off and stays off until it is commanded
anew; then its sense pin stands at a level of its own. It may pulse a load, whose power
is then set by the share of each period that it is on.

References
----------
Data sheet BTS 6143 D: proportional load current sense with a defined fault signal,
short-circuit protection with latch, 10 mΩ, 75 A limit (read). Application report
SLVAG11: an open load and a short to the supply look alike while the switch is off; on,
the small sense current tells (read). Ratios of such switches lie between some thousand
and some ten thousand (from memory). Data sheet TPS1HB08-Q1, "High-frequency, low
duty-cycle current sensing": 5 % of a period of 4 ms are 0.2 ms, in which the sense
signal has to settle (read).
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SmartSwitch:
    """``ratio`` is load current over sense current, which flows in ``sense_ohm``.

    The ratio of a real one is good to some ten percent, less at small currents.
    """

    ratio: float
    sense_ohm: float

    def sense_v(self, load_a: float) -> float:
        """Voltage at the sense pin [V].

        Examples
        --------
        >>> SmartSwitch(ratio=10_000.0, sense_ohm=1000.0).sense_v(12.0)
        1.2
        """
        return load_a / self.ratio * self.sense_ohm

    def load_a(self, sense_v: float) -> float:
        """Load current from the voltage at the sense pin [A]."""
        return sense_v / self.sense_ohm * self.ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulses:
    """A resistive load that is on for ``share_frac`` of each period.

    It draws ``on_a`` from ``supply_v`` while on, and nothing in the pauses.

    References
    ----------
    P. Horowitz and W. Hill, The Art of Electronics, exercise 1.21: a fuse follows the
    mean of the current's square (read in a discussion of it).

    Examples
    --------
    >>> pulses = Pulses(share_frac=0.25, on_a=12.0, supply_v=14.0)
    >>> pulses.mean_a, pulses.mean_v, pulses.heating_a
    (3.0, 3.5, 6.0)
    """

    share_frac: float
    on_a: float
    supply_v: float

    @property
    def mean_a(self) -> float:
        """What a clamp shows [A]."""
        return self.on_a * self.share_frac

    @property
    def mean_v(self) -> float:
        """What a voltmeter shows at the output [V]."""
        return self.supply_v * self.share_frac

    @property
    def heating_a(self) -> float:
        """Root mean square of the current: what heats fuse and wire [A]."""
        return self.on_a * math.sqrt(self.share_frac)
