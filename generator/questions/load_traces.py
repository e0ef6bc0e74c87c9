"""A load's current in time: how it starts, how much of it works, how long it is on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.model import edits
from generator.model.catalogue.faults import FAULTS
from generator.model.circuit import RelayCircuit
from generator.model.inrush import (
    HEAT_S_PER_K,
    NO_FAN_NMS2,
    Filament,
    Motor,
    Source,
    heater_inrush,
    lamp_inrush,
    motor_start,
)
from generator.model.instruments import CLAMP_1, CLAMP_10
from generator.model.trace import Trace
from generator.pictures.recording import clamped, recording_picture
from generator.pictures.scope_screen import ScopePicture
from generator.questions.question import Question
from generator.questions.read_off import by_scale, how_many, read_off, settled, verdict
from workbook.texts import _, later

_RUNS = later("It runs up to its speed")
_STANDS = later("It stands, held fast")
_HEAVY = later("It turns, but too heavily")
START_SIGNS: Mapping[str, str] = {
    _RUNS: later(
        "A motor that runs up falls from its peak to about what the sheet gives."
    ),
    _STANDS: later("A motor that stands keeps its peak until the fuse opens."),
    _HEAVY: later(
        "One that turns heavily falls from its peak, and settles far above the sheet."
    ),
}
"""What can be wrong as a motor starts, and what its current shows of each."""

_AS_SET = later("On as long as the sheet says")
_SHORT = later("On for too short a time")
_LONG = later("On for too long a time")
DUTY_SIGNS: Mapping[str, str] = {
    _AS_SET: later("Its time on over the whole period is the share of the sheet."),
    _SHORT: later("A smaller share of the period than the sheet gives is on."),
    _LONG: later("A larger share of the period than the sheet gives is on."),
}
"""What can be wrong with a load that is switched fast."""

LOAD_PATH = (
    *("supply", "upstream", "load_feed", "socket", "contacts", "load_wire"),
    *("load_connector", "load_ground", "ground_point"),
)
_LEAD_OHM = 0.010
_EQUAL_LOADS = 4
_START_S, _LAMP_S, _HEATER_S = 2.0, 0.3, 0.1
_BINDS = FAULTS["mechanism_binding"].severity
_PERIOD_S = (0.02, 0.05)
# How many times the share of the sheet a load is on, by what is wrong with it.
_TIMES_ON = {_AS_SET: 1.0, _SHORT: 0.6, _LONG: 1.45}
# A longer share of each period leaves no pause on the screen.
_MOST_ON_FRAC = 0.99
_SHARES = (0.01, 0.05, 0.1, 0.2, 0.4, 0.7, 1.0)
_PERIODS = 4


def series_ohm(circuit: RelayCircuit) -> float:
    """All resistance of the load's path outside the load, a lead for its fuse [Ω]."""
    ohms = [getattr(circuit, f"{name}_ohm") for name in LOAD_PATH]
    return math.fsum([_LEAD_OHM, *ohms])


def _source(circuit: RelayCircuit) -> Source:
    return Source(emf_v=circuit.supply_v, resistance_ohm=series_ohm(circuit))


def _screen(
    specification: Specification, trace: Trace, title: str
) -> tuple[ScopePicture, tuple[float, float]]:
    """A trace at the load fuse, with the current at its peak and at its end [A]."""
    # By the peak: a start goes far past what the load draws later.
    clamp = CLAMP_10 if trace.peak_a < CLAMP_10.range_a else CLAMP_1
    names, end_s = specification.names, float(trace.time_s[-1])
    place = _("at fuse {fuse}").format(fuse=names.load_fuse)
    # What a screen shows has to be in the words beside it, too: its shape, and its
    # peak.
    peak_s = float(trace.time_s[trace.current_a.argmax()])
    at = sorted({*(share * end_s for share in _SHARES), peak_s})
    picture = recording_picture(
        clamped(trace, clamp.scale_v_per_a, place),
        title.format(load=names.load),
        [float(f"{time:.2g}") for time in at],
    )
    return picture, (trace.peak_a, float(trace.current_a[-1]))


def _peak(current_a: float) -> Question:
    label = _("Peak of the current"), by_scale()
    return read_off("load_peak", label, (current_a, "A"))


def start_questions(specification: Specification, stream: Stream) -> Iterator[Question]:
    """Show a motor from standstill, sound, held fast or turning heavily."""
    nominal, case = specification.nominal, stream.choice(list(START_SIGNS))
    circuit = {
        _RUNS: nominal,
        _STANDS: replace(nominal, friction_nm=math.inf),
        _HEAVY: edits.bind(nominal, stream.uniform(*_BINDS)),
    }[case]
    motor = Motor(
        armature_ohm=circuit.load_ohm,
        constant_vs=circuit.motor_constant_vs,
        fan_nms2=max(circuit.fan_nms2, NO_FAN_NMS2),
        friction_nm=circuit.friction_nm,
    )
    trace = motor_start(_source(circuit), motor, _START_S)
    title = _("A sound relay switches the {load} on")
    picture, (peak_a, end_a) = _screen(specification, trace, title)
    yield replace(_peak(peak_a), picture=picture)
    # A motor that stands settles at its peak: there it is no mistake.
    rules = {"peak_for_settled": peak_a} if case != _STANDS else None
    yield settled("load_settled", end_a, rules)
    label = _("What does this trace say of the {load}?")
    names = specification.names
    yield verdict("load_verdict", label.format(load=names.load), case, START_SIGNS)


def lamp_questions(specification: Specification, stream: Stream) -> Iterator[Question]:
    """Show lamps from cold, some of them out perhaps."""
    nominal, out = specification.nominal, stream.integer(3)
    # Equal lamps side by side are one filament with that share of the power.
    share = 1 - out / _EQUAL_LOADS
    rated_w = nominal.rated_v * nominal.load_rated_a * share
    lamp = Filament(
        hot_ohm=nominal.rated_v / nominal.load_rated_a / share,
        hot_v=nominal.rated_v,
        heat_j_per_k=HEAT_S_PER_K * rated_w,
    )
    trace = lamp_inrush(_source(nominal), lamp, _LAMP_S)
    title = _("A sound relay switches the {load} on")
    picture, (peak_a, end_a) = _screen(specification, trace, title)
    yield replace(_peak(peak_a), picture=picture)
    yield settled("load_settled", end_a, {"peak_for_settled": peak_a})
    text = _("How many of the {count} equal lamps are out?")
    yield how_many("load_count", text.format(count=_EQUAL_LOADS), out)


def element_questions(
    specification: Specification, stream: Stream
) -> Iterator[Question]:
    """Show a heater of several elements, some of them open perhaps."""
    nominal, out = specification.nominal, stream.integer(3)
    hot_ohm = nominal.load_ohm * nominal.hot_frac / (1 - out / _EQUAL_LOADS)
    trace = heater_inrush(_source(nominal), hot_ohm, _HEATER_S)
    picture, (_peak_a, end_a) = _screen(
        specification, trace, _("A sound relay switches the {load} on")
    )
    yield replace(settled("load_settled", end_a), picture=picture)
    text = _("How many of the {count} equal heating elements are open?")
    yield how_many("load_count", text.format(count=_EQUAL_LOADS), out)


def pulse_questions(specification: Specification, stream: Stream) -> Iterator[Question]:
    """Show a heater that is switched fast; ask for its mean, and for its share."""
    nominal = specification.nominal
    most = max(1.0, _MOST_ON_FRAC / nominal.duty_frac)
    case = stream.choice([one for one, times in _TIMES_ON.items() if times <= most])
    duty = nominal.duty_frac * _TIMES_ON[case]
    period_s = float(f"{stream.uniform(*_PERIOD_S):.2g}")
    source = _source(nominal)
    # It runs, and so it is warm.
    hot_ohm = nominal.load_ohm * nominal.hot_frac
    on_a = source.emf_v / (source.resistance_ohm + hot_ohm)
    trace = _pulses(source, (on_a, duty), period_s)
    picture, _ends = _screen(specification, trace, _("The {load} runs"))
    yield replace(_peak(on_a), picture=picture)
    yield read_off(
        "load_mean",
        (
            _("What a meter behind the clamp shows as current, the mean"),
            _("Current while on, times the share of the period that it is on."),
        ),
        (on_a * duty, "A"),
        _("{amperes} × {share} % is {mean}.").format(
            amperes=short_text(on_a, "A"),
            share=f"{100 * duty:.0f}",
            mean=short_text(on_a * duty, "A"),
        ),
        {"pulse_for_mean": on_a},
    )
    label = _("By the sheet the {load} is on for {share} % of the time. It is:")
    yield verdict(
        "load_duty",
        label.format(
            load=specification.names.load,
            share=f"{100 * nominal.duty_frac:.0f}",
        ),
        case,
        DUTY_SIGNS,
    )


def _pulses(source: Source, on: tuple[float, float], period_s: float) -> Trace:
    """A current that is on for a share of each period."""
    (on_a, duty), starts = on, [n * period_s for n in range(_PERIODS)]
    times = [(t, t, t + duty * period_s, t + duty * period_s) for t in starts]
    current_a = np.array([0.0, on_a, on_a, 0.0] * _PERIODS + [0.0])
    return Trace(
        time_s=np.array([*np.concatenate(times), _PERIODS * period_s]),
        current_a=current_a,
        voltage_v=source.emf_v - source.resistance_ohm * current_a,
        final_a=0.0,
    )
