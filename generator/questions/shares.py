"""One fuse, many loads: differences with their uncertainty, and counting by current."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.model.circuit import RelayCircuit
from generator.model.instruments import CLAMP_10, CLAMP_100, Clamp, Errors
from generator.questions.question import Question, shown_v
from generator.questions.read_off import how_many, read_off, verdict
from workbook.texts import _, later

_DRAWS = later("The coil draws its current")
_NOTHING = later("The coil draws nothing")
_OTHER = later("Another load has switched meanwhile")
_LOST = later("Nothing: it is lost in the others' current")
SIGNS: Mapping[str, str] = {
    _DRAWS: later(
        "Off, on and off again: the step up and the step down are the coil's current."
    ),
    _NOTHING: later(
        "Off, on and off again read the same: the command changes nothing."
    ),
    _OTHER: later(
        "Off again differs from off: something else has switched, so repeat."
    ),
    _LOST: later(
        "One percent of the others' current is more than the coil takes altogether."
    ),
}
"""What three readings at a shared fuse can show of one coil."""

_OTHERS_A, _MANY_A, _SWITCHED_A = (0.4, 2.2), (45.0, 70.0), (0.5, 1.1)
_EQUAL_LOADS = (3, 4, 6)
# Under many amperes what charging and other loads do moves a reading meanwhile.
_WANDERS_FRAC = (0.005, 0.009)
_TRAILER_FRAC = (0.55, 0.95)
# A clamp's noise moves two readings by a count or two.
_NOISE = (-1.0, 1.0)


def share_questions(specification: Specification, stream: Stream) -> Iterator[Question]:
    """Ask for one coil's share of a fuse, what it proves, and for equal shares."""
    nominal = specification.nominal
    coil_a = nominal.supply_v * (1 / nominal.coil_ohm + 1 / nominal.suppression_ohm)
    # Its own stream, so that all other numbers of the exercise stay what they were.
    can_sink = nominal.is_low_side
    at_ground = can_sink and stream.aside("module ground").integer(2) == 1
    yield from _difference(coil_a, _AT_GROUND if at_ground else _AT_FUSE, stream)
    yield _three_readings(specification, coil_a, stream)
    yield _counted(specification, stream)
    yield _trailer(nominal, stream)


def _amperes(display: str, clamp: Clamp) -> float:
    return shown_v(display) / clamp.scale_v_per_a


_AT_FUSE = {
    "label": later(
        "The coil's current: behind the clamp, 100 mV/A, {off} with the coil off, {on} "
        "with it on"
    ),
    "help": later(
        "The fuse feeds a module and several coils. The difference of both readings, "
        "divided by the scale, is the one coil."
    ),
}
# A low-side driver's coil comes back through its module, whose own current does so all
# the time.
_AT_GROUND = {
    "label": later(
        "The coil's current: clamp around its module's ground wire, 100 mV/A, {off} "
        "with the coil off, {on} with it on"
    ),
    "help": later(
        "Through the module's ground flows its own current, and that of all coils that "
        "it pulls to ground. The difference of both readings, divided by the scale, is "
        "the one coil."
    ),
}


def _difference(
    coil_a: float, words: Mapping[str, str], stream: Stream
) -> Iterator[Question]:
    """Ask for the difference of two readings and its uncertainty."""
    others_a = stream.uniform(*_OTHERS_A)
    off, on = (CLAMP_100.display(a, Errors()) for a in (others_a, others_a + coil_a))
    step_a = _amperes(on, CLAMP_100) - _amperes(off, CLAMP_100)
    told = _("{on} less {off} is the coil's part: {amperes}.")
    yield read_off(
        "coil_share",
        (
            _(words["label"]).format(off=off, on=on),
            _(words["help"]),
        ),
        (step_a, "A"),
        told.format(on=on, off=off, amperes=short_text(step_a, "A")),
        {"total_for_difference": _amperes(on, CLAMP_100)},
    )
    # Rounded as they are told, before they are added.
    limits = [float(f"{CLAMP_100.limit(a):.2g}") for a in (others_a, others_a + coil_a)]
    # Two readings a moment apart differ as if each had limits of its own.
    both_a = math.hypot(*limits)
    label = _(
        "Uncertainty of that difference; the readings are good to ± {off} and ± {on}"
    )
    texts = [short_text(limit, "A") for limit in limits]
    told = _("√({off}² + {on}²) is {both}.")
    yield read_off(
        "share_uncertainty",
        (
            label.format(off=texts[0], on=texts[1]),
            _("Root of the sum of the squares: neither knows of the other."),
        ),
        (both_a, "A"),
        told.format(off=texts[0], on=texts[1], both=short_text(both_a, "A")),
        {"uncertainty_of_one": limits[1]},
    )


def _three_readings(
    specification: Specification, coil_a: float, stream: Stream
) -> Question:
    case = stream.choice(list(SIGNS))
    # What is lost is lost on the scale that the large current needs.
    clamp = CLAMP_10 if case == _LOST else CLAMP_100
    others_a = stream.uniform(*(_MANY_A if case == _LOST else _OTHERS_A))
    step_a = 0.0 if case == _NOTHING else coil_a
    # Another load came on between the first reading and the second, and stayed.
    later_a = others_a + (stream.uniform(*_SWITCHED_A) if case == _OTHER else 0.0)
    if case == _LOST:
        # Else the step of the coil would stand there, clear of the meter's counts.
        step_a += others_a * stream.aside("wanders").uniform(*_WANDERS_FRAC)
    shown = [
        clamp.display(a, Errors(noise=stream.uniform(*_NOISE)))
        for a in (others_a, later_a + step_a, later_a)
    ]
    label = _(
        "At another vehicle's fuse, {scale}: off {first}, on {on}, off again {last}. "
        "The sheet gives {amperes} for the coil of {relay}. What do the three show?"
    )
    asked = label.format(
        scale=clamp.scale_text,
        first=shown[0],
        on=shown[1],
        last=shown[2],
        amperes=short_text(coil_a, "A"),
        relay=specification.names.relay,
    )
    return verdict("share_verdict", asked, case, SIGNS)


def _counted(specification: Specification, stream: Stream) -> Question:
    nominal = specification.nominal
    count, out = stream.choice(_EQUAL_LOADS), stream.integer(3)
    each_a = nominal.load_rated_a / count
    shown = CLAMP_10.display(each_a * (count - out), Errors())
    label = _(
        "{count} equal loads behind one fuse take {amperes} together. The clamp, "
        "10 mV/A, shows {display}. How many are out?"
    )
    asked = label.format(
        count=count, amperes=short_text(nominal.load_rated_a, "A"), display=shown
    )
    return how_many("shares_out", asked, out)


def _trailer(nominal: RelayCircuit, stream: Stream) -> Question:
    """Ask for what a trailer draws of the fuse that it shares with its tractor."""
    own_a = float(f"{nominal.load_rated_a / 2:.2g}")
    trailer_a = own_a * stream.uniform(*_TRAILER_FRAC)
    shown = CLAMP_10.display(own_a + trailer_a, Errors())
    part_a = _amperes(shown, CLAMP_10) - own_a
    label = _(
        "The trailer's share: the rear lights draw {own} alone; with the trailer "
        "plugged in, the clamp at their fuse shows {display}, 10 mV/A"
    )
    told = _("{display} ÷ 10 mV/A is both together; less {own} it is {amperes}.")
    return read_off(
        "trailer_share",
        (
            label.format(own=short_text(own_a, "A"), display=shown),
            _("What came with the trailer."),
        ),
        (part_a, "A"),
        told.format(
            display=shown,
            own=short_text(own_a, "A"),
            amperes=short_text(part_a, "A"),
        ),
        {"total_for_difference": own_a + part_a},
    )
