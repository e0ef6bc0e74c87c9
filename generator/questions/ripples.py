"""The ripple on a motor's current: its speed, its bars and its brushes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.model.commutation import Running, ripple_trace, ripples_a_turn
from generator.model.inrush import Source
from generator.model.instruments import CLAMP_10
from generator.model.trace import Trace
from generator.pictures.recording import recording_picture
from generator.pictures.scope_screen import Curve
from generator.questions.question import Question
from generator.questions.read_off import read_off, verdict
from workbook.texts import _, later

_ALIKE = later("All bars make good contact")
_BAR = later("One bar makes a bad contact")
_LIFT = later("The brushes lift now and then")
_WORN = later("The brushes press unevenly")
SIGNS: Mapping[str, str] = {
    _ALIKE: later("Bars that are alike give ripples that are alike."),
    _BAR: later(
        "A bad bar lets the current dip each time that it passes a brush: at even "
        "distances, twice a turn where there are two brushes."
    ),
    _LIFT: later("Brushes that stick let the current break off at uneven distances."),
    _WORN: later(
        "Worn brushes under a tired spring press otherwise on each bar: heights are "
        "uneven, and nothing breaks off."
    ),
}
"""What can be wrong with a commutator, and what the ripple shows of each."""

# Bars of motors of some hundred watts, their inductance, and what a bad contact adds
# (common practice, no source).
_BARS = (8, 10, 12, 14)
_INDUCTANCE_H = 2e-4
_BAD_OHM, _LIFTED_OHM = (0.8, 1.6), 40.0
# Ohms of worn brushes, over those of the whole path.
_WORN_FRAC = (0.0, 0.05)
_FEWEST, _MOST = 22, 34


def ripple_questions(
    specification: Specification, stream: Stream, series_ohm: float
) -> Iterator[Question]:
    """Show a running motor's ripple; ask for its speed and what it tells."""
    names = specification.names
    bars, case = stream.choice(_BARS), stream.choice(list(SIGNS))
    motor = _running(specification, stream, (bars, series_ohm))
    count = _FEWEST + stream.integer(_MOST - _FEWEST + 1)
    path_ohm = motor.source.resistance_ohm + motor.resistance_ohm
    extra = _extra(case, (bars, count), path_ohm, stream)
    trace = ripple_trace(motor, extra)
    curve = _screen(trace, names.load_fuse)
    title = _("The {load} runs").format(load=names.load)
    note = _note(extra, trace)
    asked = replace(
        _speed(motor, (bars, count)),
        picture=recording_picture(curve, title, (), note),
    )
    yield asked
    label = _("What do these ripples say of the motor?")
    yield verdict("ripple_verdict", label, case, SIGNS)


def _running(
    specification: Specification, stream: Stream, built: tuple[int, float]
) -> Running:
    """The motor of the circuit at its drawn speed, more or less loaded."""
    nominal = specification.nominal
    bars, series_ohm = built
    armature_ohm = nominal.load_ohm * nominal.hot_frac
    drop_v = nominal.load_rated_a * stream.uniform(0.85, 1.15)
    # What the current leaves of the supply.
    emf_v = nominal.supply_v - drop_v * (series_ohm + armature_ohm)
    return Running(
        source=Source(emf_v=nominal.supply_v, resistance_ohm=series_ohm),
        resistance_ohm=armature_ohm,
        inductance_h=_INDUCTANCE_H,
        emf_v=emf_v,
        speed_rad_s=emf_v / nominal.motor_constant_vs,
        ripples=ripples_a_turn(bars),
    )


def _extra(
    case: str, counts: tuple[int, int], path_ohm: float, stream: Stream
) -> tuple[float, ...]:
    """What stands in the path during each ripple besides the motor [Ω]."""
    bars, count = counts
    if case == _ALIKE:
        return (0.0,) * count
    if case == _WORN:
        pressed = (stream.uniform(*_WORN_FRAC) for _ripple in range(count))
        return tuple(path_ohm * frac for frac in pressed)
    if case == _BAR:
        # Bars are even in number, so that the bad one meets the two brushes at even
        # distances.
        bad, first = stream.uniform(*_BAD_OHM), stream.integer(bars // 2)
        return tuple(bad if n % (bars // 2) == first else 0.0 for n in range(count))
    lifted = set(_uneven(count, stream))
    return tuple(_LIFTED_OHM if n in lifted else 0.0 for n in range(count))


def _uneven(count: int, stream: Stream) -> Sequence[int]:
    """Four places, each at another distance from the one before."""
    # Neighbours at 3, 5 and 8 ripples: no distance follows itself, as a bad bar's does.
    gaps = stream.shuffled((3, 5, 8))
    first = 1 + stream.integer(count - sum(gaps) - 2)
    return [first + sum(gaps[:n]) for n in range(4)]


def _screen(trace: Trace, fuse: str) -> Curve:
    scale = CLAMP_10.scale_v_per_a
    place = _("at fuse {fuse}").format(fuse=fuse)
    label = _("Clamp {place}, {scale} mV/A")
    return Curve(
        time_s=trace.time_s,
        values=trace.current_a * scale,
        label=label.format(place=place, scale=f"{scale * 1000:g}"),
        unit="V",
        time_label=later("Time ({unit})"),
        is_zoomed=True,
    )


def _note(extra: Sequence[float], trace: Trace) -> str:
    """Say in words what an eye counts."""
    end = short_text(float(trace.time_s[-1]), "s")
    text = _("From left to right there are {count} ripples in {time}.")
    counted = text.format(count=len(extra), time=end)
    if all(extra):
        uneven = _("Their heights are uneven, and none dips deeply.")
        return f"{counted} {uneven}"
    deep = [str(n) for n, ohm in enumerate(extra, start=1) if ohm]
    if not deep:
        alike = _("All are alike.")
        return f"{counted} {alike}"
    which = _("These dip deeply: {numbers}.").format(numbers=", ".join(deep))
    return f"{counted} {which}"


def _speed(motor: Running, counts: tuple[int, int]) -> Question:
    bars, count = counts
    rpm = 60 * motor.speed_rad_s / (2 * math.pi)
    label = _("Speed of the motor; it has {bars} bars, two poles and two brushes")
    told = _("{count} ripples take {time}, and {bars} of them are one turn: {speed}.")
    return read_off(
        "motor_speed",
        (
            label.format(bars=bars),
            _("Count ripples, take their time, and let one turn have a ripple a bar."),
        ),
        (rpm, "rpm"),
        told.format(
            count=count,
            time=short_text(count * motor.ripple_s, "s"),
            bars=bars,
            speed=short_text(rpm, "rpm"),
        ),
        {"ripple_for_turn": rpm * bars},
    )
