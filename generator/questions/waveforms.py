"""A coil that is switched off, as a scope shows it: what it tells of the relay."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from generator.drawing.exercise import Exercise
from generator.drawing.predictions import Prediction, plain_number
from generator.drawing.stream import Stream
from generator.drawing.turn_off import TurnOff
from generator.drawing.wording import short_text
from generator.model.instruments import SCOPE, Errors
from generator.model.scales import SPIKE_LIMIT_V
from generator.model.turn_off import turn_off_trace
from generator.pictures.scope import turn_off_picture
from generator.questions.question import Question, choice_of, number_of, wrong
from generator.questions.read_off import verdict
from generator.questions.reasons import TURN_OFF, reason_question
from workbook.texts import _, later

# A trace is read off squares, to half a square at best.
_MARGIN_FRAC = 0.1
_RESISTOR, _DIODE = later("a resistor"), later("a diode")
# What lies across the coil, and what a scope shows of it.
_SHAPES = {
    _RESISTOR: later("With a resistor the spike is some times the supply, and short."),
    _DIODE: later("With a diode the terminal rises less than a volt above the supply."),
    later("nothing"): later(
        "With nothing across it the coil drives the terminal to hundreds of volts."
    ),
}


def scope_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Show a turn-off of this relay with something across it, or nothing, and ask."""
    nominal, family = exercise.specification.nominal, exercise.specification.family
    # A diode would conduct where its relay is fed at 85.
    fitting = [one for one in _SHAPES if one != _DIODE or not nominal.is_fed_at_85]
    across = stream.choice(fitting)
    resistor_ohm = stream.choice(family.ranges.suppression_ohm)
    circuit = replace(
        nominal,
        has_diode=across == _DIODE,
        suppression_ohm=resistor_ohm if across == _RESISTOR else math.inf,
    )
    probe = "86" if circuit.is_high_side else "85"
    height_v = float(np.ptp(turn_off_trace(circuit, probe).voltage_v))
    # A scope without errors still reads in its steps.
    shown_v = SCOPE.shown(height_v, Errors())
    names = exercise.specification.source_names
    shown = TurnOff(circuit=circuit, names=names, shown_v=shown_v, is_asked=True)
    yield replace(number_of(_height(shown_v)), picture=turn_off_picture(shown))
    asked = _("What lies across the coil of this relay?")
    yield verdict("across_coil", asked, across, _SHAPES)
    yield _allowed(shown_v)
    yield reason_question(TURN_OFF, stream)


def _height(shown_v: float) -> Prediction:
    help_ = _(
        "Squares of the grid from bottom to top of the trace, times the volts of one. "
        "Right is what lies within {percent} %."
    )
    told = _("From lowest to highest the trace spans {volts}.")
    return plain_number(
        "turn_off_height",
        (
            _("Height of the trace from lowest to highest"),
            help_.format(percent=f"{100 * _MARGIN_FRAC:g}"),
        ),
        (shown_v, "V", _MARGIN_FRAC),
        told.format(volts=short_text(shown_v, "V")),
    )


def _allowed(shown_v: float) -> Question:
    """Ask whether the height is what the sheet allows."""
    yes = _("Yes, it stays below what the sheet allows")
    no = _("No, it is higher than the sheet allows")
    is_allowed = shown_v <= SPIKE_LIMIT_V
    right, other = (yes, no) if is_allowed else (no, yes)
    text = (
        _("{volts} is no more than {most} V.")
        if is_allowed
        else _("{volts} is more than {most} V.")
    )
    told = text.format(volts=short_text(shown_v, "V"), most=f"{SPIKE_LIMIT_V:g}")
    return choice_of(
        "as_sheet_allows",
        _("Is this turn-off as the sheet allows?"),
        (right, told),
        [wrong(other, told)],
    )
