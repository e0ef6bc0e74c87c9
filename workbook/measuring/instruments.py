"""What the displays of meter, clamp probe and scope say, from their data; pure.

As on the instructor's machine: limits of ±(% of reading + counts) hold a rectangular
distribution, u = a/√3 (JCGM 100:2008, 4.3.7, from memory).
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from workbook.record.bench import (
    ClampData,
    Instruments,
    MeterData,
    MeterRange,
    ScopeData,
)
from workbook.record.set_up import AUTO, SetUp

_SQRT3 = math.sqrt(3.0)
OVER = "OL"


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """Where in its limits an instrument happens to be; each from -1 to 1."""

    gain: float = 0.0
    counts: float = 0.0
    zero: float = 0.0
    noise: float = 0.0


def errors_at(hand: Instruments, code: str) -> Errors:
    """Errors of a reading: the same for the same student and set-up."""
    digest = hashlib.sha256(f"{hand.noise_key} {code}".encode()).digest()
    # Six bytes are 48 bits: from 0 to 2, less 1.
    noise = int.from_bytes(digest[:6]) / 2**47 - 1
    return Errors(**dict(hand.errors), noise=noise)


def meter_of(hand: Instruments, set_up: SetUp) -> MeterData:
    """The meter of a set-up, with the one range that was chosen where one was."""
    meter = hand.volts
    if set_up.instrument == "ohms":
        points = {set_up.plus, set_up.minus}
        meter = hand.milliohms if points <= {*hand.milliohm_points} else hand.ohms
    chosen = tuple(one for one in meter.ranges if set_up.range in (AUTO, one.id))
    return replace(meter, ranges=chosen) if chosen else meter


def clamp_of(hand: Instruments, set_up: SetUp) -> ClampData:
    """The clamp on its scale; zeroed, nothing is left over."""
    clamp = next(each for each in hand.clamps if each.id == set_up.scale)
    left = clamp.left_over_a if set_up.zero == "not zeroed" else 0.0
    return replace(clamp, left_over_a=left)


def range_for(meter: MeterData, value: float) -> MeterRange | None:
    """Lowest range that holds a value, or None above the last."""
    return next((one for one in meter.ranges if abs(value) <= one.end), None)


def meter_u(meter: MeterData, value: float) -> float:
    """Standard uncertainty of a reading in the base unit; 0 where there is none."""
    if not math.isfinite(value):
        return 0.0
    step = (range_for(meter, value) or meter.ranges[-1]).step
    return (abs(value) * meter.accuracy_frac + meter.accuracy_counts * step) / _SQRT3


def clamp_u(clamp: ClampData, volts: MeterData, current_a: float) -> float:
    """Standard uncertainty of a current read with probe and meter [A]."""
    limit = abs(current_a) * clamp.accuracy_frac + clamp.zero_a
    on_meter = meter_u(volts, current_a * clamp.scale_v_per_a) / clamp.scale_v_per_a
    return math.hypot(limit / _SQRT3, clamp.noise_a / _SQRT3, on_meter)


def scope_u(scope: ScopeData, value_v: float) -> float:
    """Standard uncertainty of an amplitude [V]."""
    full_v = next((r for r in scope.range_v if value_v <= r), scope.range_v[-1])
    return full_v * (scope.accuracy_frac + 1 / 2.0**scope.bits) / _SQRT3


def shown_value(chosen: MeterRange, value: float) -> str:
    """Write a value as the display shows it in a range."""
    # In decimals: a half that is no binary fraction would be rounded to either side.
    steps = (Decimal(repr(value)) / Decimal(repr(chosen.step))).quantize(
        Decimal(1), ROUND_HALF_UP
    )
    step = (Decimal(repr(chosen.step)) / Decimal(repr(chosen.unit_si))).normalize()
    # A plain zero: no display shows minus nothing.
    return f"{steps * step + Decimal(0):f} {chosen.unit}"


def meter_display(meter: MeterData, value: float, errors: Errors) -> str:
    """What a meter shows; ``OL`` above its last range."""
    if not math.isfinite(value):
        return OVER
    shown = value * (1 + errors.gain * meter.accuracy_frac)
    chosen = range_for(meter, shown)
    if chosen is None:
        return OVER
    shown += errors.counts * meter.accuracy_counts * chosen.step
    return shown_value(chosen, shown)


def live_display(meter: MeterData, ohm: float, volts: float, errors: Errors) -> str:
    """What an ohmmeter shows on a part with a voltage across it."""
    for chosen in meter.ranges:
        # An ohmmeter takes any voltage for that of its own test current.
        seen = ohm + volts / chosen.test_a
        if 0 <= seen <= chosen.end:
            seen *= 1 + errors.gain * meter.accuracy_frac
            return shown_value(
                chosen, seen + errors.counts * meter.accuracy_counts * chosen.step
            )
    return OVER


def clamp_display(
    clamp: ClampData, volts: MeterData, current_a: float, errors: Errors
) -> str:
    """What the meter shows behind a clamp probe; ``OL`` above the probe's range."""
    if abs(current_a) > clamp.range_a:
        return OVER
    caught_a = current_a * (1 + errors.gain * clamp.accuracy_frac)
    off_a = errors.zero * clamp.zero_a + errors.noise * clamp.noise_a
    out_v = clamp.scale_v_per_a * (caught_a + off_a + clamp.left_over_a)
    return meter_display(volts, out_v, errors)


def scope_shown_v(scope: ScopeData, value_v: float, errors: Errors) -> float:
    """Amplitude that the screen shows [V]."""
    full_v = next((r for r in scope.range_v if value_v <= r), scope.range_v[-1])
    step_v = full_v / 2.0**scope.bits
    off_v = errors.gain * scope.accuracy_frac * full_v
    return max(0.0, step_v * round((value_v + off_v) / step_v))
