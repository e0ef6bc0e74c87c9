"""A vehicle at rest: when it sleeps, what it takes then, and what keeps it awake."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.model.circuit import RelayCircuit
from generator.model.resting import (
    MOST_ASLEEP_A,
    Step,
    days_left,
    log_of,
    mean_a,
)
from generator.pictures.recording import recording_picture
from generator.pictures.scope_screen import Curve, ScopePicture
from generator.questions.question import Question, choice_of, wrong
from generator.questions.read_off import read_off, verdict
from workbook.texts import _, later

_SLEEPS = later("Nothing: it sleeps as it should")
_MODULE = later("A module that does not fall asleep")
_RELAY = later("A relay whose coil stays on")
_WAKES = later("Something that wakes it each time")
SIGNS: Mapping[str, str] = {
    _SLEEPS: later(
        "Below {most} and steady is a vehicle that sleeps (common practice)."
    ),
    _MODULE: later(
        "A steady excess far above what a coil draws is a module that is awake."
    ),
    _RELAY: later(
        "A steady excess as large as the coil's current is a coil that is on."
    ),
    _WAKES: later("Steps that come back at even times are something that wakes it."),
}
"""What can draw from a battery at rest, and what a log shows of each."""

# Common practice, no source: how vehicles fall asleep, and which batteries they have.
_LOCKED_A, _LOCKED_MIN = (3.5, 8.0), 2
_DOZING_A, _SLEEP_MIN = (0.8, 1.6), (12, 38)
_ASLEEP_A, _AWAKE_FRAC = (0.016, 0.034), (3.0, 6.0)
_WAKE_A, _WAKE_EVERY_MIN, _WAKE_MIN = (0.7, 1.5), (10, 12, 15), (1, 2, 3)
_CAPACITY_AH, _USED_FRAC = (60.0, 80.0, 100.0, 140.0), 0.5
_LOG_MIN, _REST_MIN, _PULLING_MIN = 60, 60, 12
_FUSES = ("F81", "F82", "F84", "F85")
_EXCESS_A, _SMALL_A = (0.25, 0.7), (0.003, 0.012)


def log_questions(specification: Specification, stream: Stream) -> Iterator[Question]:
    """Show logs of a battery's current, and ask for sleep, mean, days and cause."""
    nominal = specification.nominal
    case = stream.choice(list(SIGNS))
    asleep_a = stream.uniform(*_ASLEEP_A)
    yield _sleep(specification, stream)
    steps, drawn_a = _resting(case, nominal, (asleep_a, stream))
    yield replace(
        _mean(drawn_a, asleep_a),
        picture=_picture(steps, _REST_MIN, _("Battery current, an hour after locking")),
    )
    yield _days(drawn_a, stream.choice(_CAPACITY_AH))
    signs = {name: _(sign) for name, sign in SIGNS.items()}
    most = short_text(MOST_ASLEEP_A, "A")
    signs[_SLEEPS] = signs[_SLEEPS].format(most=most)
    label = _(
        "The coil of {relay} draws {amperes} by the sheet. What does this log show?"
    )
    coil = short_text(coil_current_a(nominal), "A")
    names = specification.names
    asked = label.format(relay=names.relay, amperes=coil)
    yield verdict("log_verdict", asked, case, signs)
    yield _pulled(asleep_a, stream)


def coil_current_a(nominal: RelayCircuit) -> float:
    """Current of the coil and what lies beside it, by the sheet [A]."""
    together_s = 1 / nominal.coil_ohm + 1 / nominal.suppression_ohm
    return nominal.supply_v * together_s


def _sleep(specification: Specification, stream: Stream) -> Question:
    """Ask when the vehicle fell asleep."""
    low, high = _SLEEP_MIN
    sleep_min = low + stream.integer(high - low + 1)
    steps = (
        Step(start_min=0, current_a=stream.uniform(*_LOCKED_A)),
        Step(start_min=_LOCKED_MIN, current_a=stream.uniform(*_DOZING_A)),
        Step(start_min=sleep_min, current_a=stream.uniform(*_ASLEEP_A)),
    )
    title = _("Battery current of {vehicle}, from when it is locked")
    title = title.format(vehicle=specification.names.vehicle)
    question = read_off(
        "sleep_min",
        (
            _("Time from locking until the vehicle is asleep"),
            _("Where the last step down leads to a few tens of milliamperes."),
        ),
        (float(sleep_min), "min"),
    )
    return replace(question, picture=_picture(steps, _LOG_MIN, title))


def _resting(
    case: str, nominal: RelayCircuit, drawn: tuple[float, Stream]
) -> tuple[tuple[Step, ...], float]:
    """Steps of the log at rest, and the mean current [A]."""
    asleep_a, stream = drawn
    coil_a = coil_current_a(nominal)
    if case == _WAKES:
        return _waking(asleep_a, stream)
    excess_a = {
        _SLEEPS: 0.0,
        _RELAY: coil_a,
        _MODULE: coil_a * stream.uniform(*_AWAKE_FRAC),
    }[case]
    steady_a = asleep_a + excess_a
    return (Step(start_min=0, current_a=steady_a),), steady_a


def _waking(asleep_a: float, stream: Stream) -> tuple[tuple[Step, ...], float]:
    awake_a = stream.uniform(*_WAKE_A)
    every, lasts = stream.choice(_WAKE_EVERY_MIN), stream.choice(_WAKE_MIN)
    starts = range(0, _REST_MIN, every)
    steps = tuple(
        step
        for start in starts
        for step in (
            Step(start_min=start, current_a=asleep_a),
            # Waking ends each period, and periods fill the hour: its mean is that of
            # one.
            Step(start_min=start + every - lasts, current_a=awake_a),
        )
    )
    return steps, mean_a(asleep_a, awake_a, lasts / every)


def _picture(steps: tuple[Step, ...], end_min: float, title: str) -> ScopePicture:
    time_min, current_a = log_of(steps, end_min)
    curve = Curve(
        time_s=time_min,
        values=current_a,
        label=_("Clamp around the battery cable"),
        unit="A",
        time_label=later("Time ({unit})"),
        time_unit="min",
    )
    # The middle of each level: at a step there are two currents at once.
    middles = [
        (step.start_min + end) / 2
        for step, end in zip(
            steps, [*(s.start_min for s in steps[1:]), end_min], strict=True
        )
    ]
    corners = _("Steps after {minutes} min.").format(
        minutes=", ".join(f"{step.start_min:g}" for step in steps[1:])
    )
    return recording_picture(curve, title, middles, corners if steps[1:] else "")


def _mean(drawn_a: float, asleep_a: float) -> Question:
    # Only where neither number passes for the other.
    rules = {"rest_without_wakes": asleep_a} if drawn_a > 1.5 * asleep_a else {}
    return read_off(
        "rest_mean",
        (
            _("Mean current that this battery gives at rest"),
            _("What comes back counts with its share of the time."),
        ),
        (drawn_a, "A"),
        rules=rules,
    )


def _days(drawn_a: float, capacity_ah: float) -> Question:
    days = days_left(capacity_ah, _USED_FRAC, drawn_a)
    label = _("Time until half of its {capacity} Ah is used, at that mean")
    told = _("{half} Ah ÷ {amperes} ÷ 24 is {days}.")
    return read_off(
        "days_left",
        (
            label.format(capacity=f"{capacity_ah:g}"),
            _("Ampere-hours divided by amperes are hours; 24 of them are a day."),
        ),
        (days, "d"),
        told.format(
            half=f"{capacity_ah * _USED_FRAC:g}",
            amperes=short_text(drawn_a, "A"),
            days=short_text(days, "d"),
        ),
        {"hours_for_days": 24 * days, "whole_battery": days / _USED_FRAC},
    )


def _pulled(asleep_a: float, stream: Stream) -> Question:
    """Ask which of four fuses that were pulled one by one feeds the excess."""
    order = stream.shuffled(_FUSES)
    culprit = stream.choice(order)
    excess_a = stream.uniform(*_EXCESS_A)
    falls = {fuse: stream.uniform(*_SMALL_A) for fuse in order} | {culprit: excess_a}
    # Each fuse takes something, so that only the size of a fall tells the one.
    current_a = asleep_a + sum(falls.values())
    steps = [Step(start_min=0, current_a=current_a)]
    for number, fuse in enumerate(order, start=1):
        current_a -= falls[fuse]
        steps.append(Step(start_min=2 * number, current_a=current_a))
    pulled = "; ".join(
        _("{fuse} after {minutes} min").format(fuse=fuse, minutes=2 * number)
        for number, fuse in enumerate(order, start=1)
    )
    told = _("As {fuse} came out, the current fell by {amperes}.")
    because = {
        fuse: told.format(fuse=fuse, amperes=short_text(fall, "A"))
        for fuse, fall in falls.items()
    }
    question = choice_of(
        "excess_fuse",
        _("On another vehicle fuses are pulled and stay out. Which feeds the excess?"),
        (culprit, because[culprit]),
        [wrong(fuse, because[fuse]) for fuse in sorted(order) if fuse != culprit],
    )
    title = _("Fuses pulled: {pulled}").format(pulled=pulled)
    picture = _picture(tuple(steps), _PULLING_MIN, title)
    return replace(question, help=title, picture=picture)
