"""A switch without contacts: a high-side switch that measures its own current.

It gives out a small current, the load's over a fixed ratio, which a resistor makes a
voltage of. Against too much it limits, shuts off and stays off until it is commanded
anew; then its sense pin stands at a level of its own.

References
----------
Data sheet BTS 6143 D: proportional load current sense with a defined fault signal,
short-circuit protection with latch, 10 mΩ, 75 A limit (read). Application report
SLVAG11: an open load and a short to the supply look alike while the switch is off; on,
the small sense current tells (read). Ratios of such switches lie between some thousand
and some ten thousand (from memory).
"""

from __future__ import annotations

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
