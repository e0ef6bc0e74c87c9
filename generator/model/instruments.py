"""Meter, clamp probe and scope: what the display says, and how far it may be off.

References
----------
JCGM 100:2008, "Guide to the expression of uncertainty in measurement", 4.3.7: limits
±a without further knowledge are a rectangular distribution, u = a/√3 (from memory).
Accuracies, zero offsets, noise and the test currents of the ohmmeter are those of
ordinary shop tools (common practice, no source); a clamp with 100 mV/A gives 1 mV for
10 mA.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

_SQRT3 = math.sqrt(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """One range of a meter: its end, its smallest step and the unit shown.

    ``end`` and ``step`` are in the base unit (V or Ω), ``unit`` is worth ``unit_si``.
    An ohmmeter drives ``test_a`` through what it measures [A].
    """

    end: float
    step: float
    unit: str
    unit_si: float
    test_a: float = 0.0

    @property
    def id(self) -> str:
        """Its end in mV or mΩ: a whole number, alike in all languages."""
        return f"{self.end * 1000:.0f}"

    def text(self, value: float) -> str:
        """Write a value as the display shows it in this range."""
        # In decimals, of the digits as they print: in binary a half may lie just below
        # a half.
        steps = (Decimal(repr(value)) / Decimal(repr(self.step))).quantize(
            Decimal(1), ROUND_HALF_UP
        )
        step = (Decimal(repr(self.step)) / Decimal(repr(self.unit_si))).normalize()
        # A plain zero: no display shows minus nothing.
        return f"{steps * step + Decimal(0):f} {self.unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """Where in its limits an instrument happens to be; each from -1 to 1.

    ``gain`` is a share of the percentage of reading, ``counts`` of the counts, ``zero``
    of the zero offset of a clamp probe and ``noise`` of its noise.
    """

    gain: float = 0.0
    counts: float = 0.0
    zero: float = 0.0
    noise: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A digital meter with ranges in ascending order and ±(fraction + counts)."""

    ranges: tuple[Range, ...]
    accuracy_frac: float
    accuracy_counts: int

    def range_for(self, value: float) -> Range | None:
        """Lowest range that holds a value, or None above the last."""
        return next((r for r in self.ranges if abs(value) <= r.end), None)

    def limit(self, value: float) -> float:
        """Largest error of a reading in the base unit: ±(% of reading + counts).

        Examples
        --------
        >>> round(VOLTMETER.limit(12.0), 3)
        0.09
        """
        step = (self.range_for(value) or self.ranges[-1]).step
        return abs(value) * self.accuracy_frac + self.accuracy_counts * step

    def standard_uncertainty(self, value: float) -> float:
        """Standard uncertainty of a reading in the base unit: limit over √3."""
        return self.limit(value) / _SQRT3

    def display(self, value: float, errors: Errors) -> str:
        """What the meter shows; ``OL`` above its last range.

        Examples
        --------
        >>> VOLTMETER.display(0.0164, Errors())
        '16.40 mV'
        """
        shown = value * (1 + errors.gain * self.accuracy_frac)
        # A meter ranges by what it takes in, its gain error too; counts come after
        # that.
        chosen = self.range_for(shown)
        if chosen is None:
            return "OL"
        shown += errors.counts * self.accuracy_counts * chosen.step
        return chosen.text(shown)

    def display_live(self, ohm: float, volts: float, errors: Errors) -> str:
        """What an ohmmeter shows on a part with a voltage across it.

        It divides all voltage between its leads by its own test current, so that it
        shows R + U/I in the first range that holds this; ``OL`` where none does, or
        where the voltage is against its own.

        Examples
        --------
        >>> [OHMMETER.display_live(78.0, volts, Errors()) for volts in (0.0, 0.2, 14.0)]
        ['78.0 Ω', '278.0 Ω', 'OL']
        """
        # Each range has a test current of its own, so that a voltage is other ohms in
        # each.
        for chosen in self.ranges:
            seen = ohm + volts / chosen.test_a
            if 0 <= seen <= chosen.end:
                seen *= 1 + errors.gain * self.accuracy_frac
                return chosen.text(
                    seen + errors.counts * self.accuracy_counts * chosen.step
                )
        return "OL"


@dataclass(frozen=True, slots=True, kw_only=True)
class Clamp:
    """A clamp probe: amperes in, volts out, read on a meter.

    ``zero_a`` limits what is left of the offset after zeroing, ``noise_a`` how far the
    reading swings; ``range_a`` is the largest current that it follows [A]. A probe that
    was not zeroed has ``left_over_a`` in every reading [A]; one whose jaw is not closed
    catches ``jaw_frac`` of the current.
    """

    scale_v_per_a: float
    accuracy_frac: float
    zero_a: float
    range_a: float
    noise_a: float = 0.0
    left_over_a: float = 0.0
    jaw_frac: float = 1.0

    @property
    def id(self) -> str:
        """Its scale in mV/A."""
        return f"{self.scale_v_per_a * 1000:g}"

    @property
    def scale_text(self) -> str:
        """Scale in the words on the probe, such as ``100 mV/A``."""
        return f"{self.id} mV/A"

    def limit(self, current_a: float) -> float:
        """Largest error of the probe alone, its noise left out [A]."""
        return abs(current_a) * self.accuracy_frac + self.zero_a

    def standard_uncertainty(self, current_a: float) -> float:
        """Standard uncertainty of a current read with probe and meter [A].

        Probe, its noise and the meter know nothing of each other: their uncertainties
        add as squares (JCGM 100:2008, 5.1.2, eq. 10, from memory).
        """
        meter_v = VOLTMETER.standard_uncertainty(current_a * self.scale_v_per_a)
        return math.hypot(
            self.limit(current_a) / _SQRT3,
            self.noise_a / _SQRT3,
            meter_v / self.scale_v_per_a,
        )

    def output_v(self, current_a: float, errors: Errors) -> float:
        """Output of the probe [V]."""
        caught_a = current_a * self.jaw_frac * (1 + errors.gain * self.accuracy_frac)
        off_a = errors.zero * self.zero_a + errors.noise * self.noise_a
        return self.scale_v_per_a * (caught_a + off_a + self.left_over_a)

    def display(self, current_a: float, errors: Errors) -> str:
        """What the meter shows behind the probe; ``OL`` above the probe's range.

        Examples
        --------
        >>> CLAMP_100.display(0.165, Errors())
        '16.50 mV'
        """
        if abs(current_a) > self.range_a:
            return "OL"
        return VOLTMETER.display(self.output_v(current_a, errors), errors)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sense:
    """A smart switch as it measures its own current, shown by the scan tool.

    ``least_a`` is what it can tell from nothing [A], ``step_a`` the last digit.
    """

    accuracy_frac: float
    least_a: float
    step_a: float

    def standard_uncertainty(self, current_a: float) -> float:
        """Standard uncertainty of a current [A]: limit over √3."""
        return (abs(current_a) * self.accuracy_frac + self.step_a / 2) / _SQRT3

    def display(self, current_a: float, errors: Errors) -> str:
        """What the scan tool shows; nothing where that is too little to tell.

        Examples
        --------
        >>> SENSE.display(10.0, Errors(gain=-1.0)), SENSE.display(0.2, Errors())
        ('8.0 A', '0.0 A')
        """
        shown_a = current_a * (1 + errors.gain * self.accuracy_frac)
        if shown_a < self.least_a:
            shown_a = 0.0
        return f"{round(shown_a / self.step_a) * self.step_a:.1f} A"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """An oscilloscope behind its probe: ranges in ascending order [V], read in steps.

    ``range_v`` is what fills the screen from bottom to top; accuracy is a share of
    that, and its steps are those of a converter with so many ``bits``.
    """

    range_v: tuple[float, ...]
    accuracy_frac: float
    bits: int

    def range_for(self, value_v: float) -> float:
        """Lowest range that holds a value, or the last [V]."""
        return next((r for r in self.range_v if value_v <= r), self.range_v[-1])

    def limit(self, value_v: float) -> float:
        """Largest error of an amplitude [V].

        Examples
        --------
        >>> round(SCOPE.limit(300.0), 2)
        13.56
        """
        return self.range_for(value_v) * (self.accuracy_frac + 1 / 2.0**self.bits)

    def standard_uncertainty(self, value_v: float) -> float:
        """Standard uncertainty of an amplitude [V]: limit over √3."""
        return self.limit(value_v) / _SQRT3

    def shown(self, value_v: float, errors: Errors) -> float:
        """Amplitude that the screen shows [V]; none is below nothing."""
        full_v = self.range_for(value_v)
        step_v = full_v / 2.0**self.bits
        off_v = errors.gain * self.accuracy_frac * full_v
        return max(0.0, step_v * round((value_v + off_v) / step_v))

    def display(self, value_v: float, errors: Errors) -> str:
        """What stands under the screen.

        Examples
        --------
        >>> SCOPE.display(286.4, Errors())
        'Peak to peak 286 V'
        """
        return f"Peak to peak {self.shown(value_v, errors):.3g} V"


# Shop meters of 6,000 counts.
VOLTMETER = Meter(
    ranges=(
        Range(end=0.06, step=1e-5, unit="mV", unit_si=1e-3),
        Range(end=0.6, step=1e-4, unit="mV", unit_si=1e-3),
        Range(end=6.0, step=1e-3, unit="V", unit_si=1.0),
        Range(end=60.0, step=1e-2, unit="V", unit_si=1.0),
    ),
    accuracy_frac=0.005,
    accuracy_counts=3,
)
# Its three counts, and up to half an ohm of its two leads (common practice, no source).
OHMMETER = Meter(
    ranges=(
        Range(end=600.0, step=0.1, unit="Ω", unit_si=1.0, test_a=1e-3),
        Range(end=6e3, step=1.0, unit="kΩ", unit_si=1e3, test_a=1e-4),
        Range(end=6e4, step=10.0, unit="kΩ", unit_si=1e3, test_a=1e-5),
    ),
    accuracy_frac=0.008,
    accuracy_counts=8,
)
# With four leads none of their ohms are in the reading (common practice, no source).
MILLIOHMMETER = Meter(
    ranges=(
        Range(end=6.0, step=1e-3, unit="Ω", unit_si=1.0, test_a=1e-2),
        Range(end=60.0, step=1e-2, unit="Ω", unit_si=1.0, test_a=1e-2),
    ),
    accuracy_frac=0.008,
    accuracy_counts=3,
)


def ohmmeter_for(part: str) -> Meter:
    """Meter for the resistance of a part: a load has too few ohms for a plain one."""
    return MILLIOHMMETER if part == "load" else OHMMETER


# The rise above what lies beside a part, by a contact probe or infrared on a dull
# surface: 2 K and 2 % (makers' sheets say ±2 K or 2 % for a temperature; from memory).
THERMOMETER = Meter(
    ranges=(Range(end=500.0, step=0.1, unit="K", unit_si=1.0),),
    accuracy_frac=0.02,
    accuracy_counts=20,
)


CLAMP_100 = Clamp(
    scale_v_per_a=0.1, accuracy_frac=0.01, zero_a=0.002, range_a=10.0, noise_a=0.001
)
CLAMP_10 = Clamp(
    scale_v_per_a=0.01, accuracy_frac=0.01, zero_a=0.02, range_a=100.0, noise_a=0.01
)
CLAMP_1 = Clamp(
    scale_v_per_a=0.001, accuracy_frac=0.01, zero_a=0.5, range_a=1000.0, noise_a=0.2
)
# The ratio of load current to sense current is good to some 10 to 25 % (data sheets of
# such switches in general terms, from memory), and tells little at small currents.
SENSE = Sense(accuracy_frac=0.20, least_a=0.3, step_a=0.1)
# Eight divisions of 2 V to 200 V behind a 100:1 probe (common practice, no source).
SCOPE = Scope(
    range_v=(16.0, 40.0, 80.0, 160.0, 400.0, 800.0, 1600.0),
    accuracy_frac=0.03,
    bits=8,
)
