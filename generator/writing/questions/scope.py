"""A coil that is switched off, as a scope shows it: what it tells of the relay."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from generator.model.instruments import SCOPE, Errors
from generator.model.turn_off import SPIKE_LIMIT_V
from generator.model.turn_off_trace import turn_off_trace
from generator.writing.predictions import plain_number
from generator.writing.questions.question import Question, choice_of, number_of, wrong
from generator.writing.turn_off import TurnOff
from generator.writing.wording import short_text
from workbook.texts import _, later

if TYPE_CHECKING:
    from collections.abc import Iterator

    from generator.model.circuit import RelayCircuit
    from generator.writing.exercise import Exercise
    from generator.writing.predictions import Prediction
    from generator.writing.stream import Stream

__all__ = ["scope_questions"]

_MARGIN_FRAC = 0.1
# What lies across the coil, and what a scope shows of it.
_SHAPES = {
    later("a resistor"): later(
        "With a resistor the spike is some times the supply, and short."
    ),
    later("a diode"): later(
        "With a diode the terminal passes the supply by less than a volt."
    ),
    later("nothing"): later(
        "With nothing across it the coil drives the terminal to hundreds of volts."
    ),
}


def scope_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Show a turn-off of this relay, or of one without suppression, and ask of it."""
    circuit = exercise.specification.nominal
    if stream.integer(2):
        circuit = replace(circuit, suppression_ohm=math.inf, has_diode=False)
    probe = "86" if circuit.is_high_side else "85"
    height_v = float(np.ptp(turn_off_trace(circuit, probe).voltage_v))
    shown_v = SCOPE.shown(height_v, Errors())
    names = exercise.specification.names
    shown = TurnOff(circuit=circuit, names=names, shown_v=shown_v, is_asked=True)
    yield replace(number_of(_height(shown_v)), turn_off=shown)
    yield _across(_fitted(circuit))
    yield _allowed(shown_v)
    yield _reason()


def _fitted(circuit: RelayCircuit) -> str:
    if circuit.has_diode:
        return "a diode"
    return "a resistor" if math.isfinite(circuit.suppression_ohm) else "nothing"


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


def _across(fitted: str) -> Question:
    others = [
        wrong(_(name), _(told)) for name, told in _SHAPES.items() if name != fitted
    ]
    return choice_of(
        "across_coil",
        _("What lies across the coil of this relay?"),
        (_(fitted), _(_SHAPES[fitted])),
        others,
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


def _reason() -> Question:
    return choice_of(
        "why_suppression",
        _("Why does it matter what lies across the coil?"),
        (
            _("The driver in the module takes the spike, and so do its neighbours"),
            _(
                "The energy of the coil has to go somewhere: without suppression it "
                "goes through the driver."
            ),
        ),
        [
            wrong(
                _("Without it the coil draws too much while it is on"),
                _("While the coil is on, less lies beside it and it draws no more."),
            ),
            wrong(
                _("Without it the relay does not pull in"),
                _("Pulling in needs the coil's current, which flows without it too."),
            ),
            wrong(
                _("It does not matter as long as the relay switches"),
                _("It switches, and wears out the driver with each turn-off."),
            ),
        ],
    )
