"""Currents with their band, and displays of a clamp turned into amperes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from generator.model.instruments import CLAMP_1, CLAMP_10, CLAMP_100, VOLTMETER, Errors
from generator.writing.predictions import Prediction
from generator.writing.questions.question import (
    Question,
    choice_of,
    number_of,
    wrong,
)
from generator.writing.wording import short_text
from generator.writing.wrong_rules import wrong_numbers

if TYPE_CHECKING:
    from collections.abc import Iterator

    from generator.writing.exercise import Exercise
    from generator.writing.stream import Stream

__all__ = ["current_questions", "display_questions", "plain_number"]

_SLIPS = {"milliamperes_as_amperes": 1000.0, "ten_times": 10.0, "tenth": 0.1}
# A display is turned into amperes exactly; this leaves room for rounding.
_ROUNDING_FRAC = 0.02
# Between these a current may be read on either scale.
_EITHER_A = (8.0, CLAMP_100.range_a)


def plain_number(
    id_: str,
    texts: tuple[str, str],
    right: tuple[float, str, float],
    told: str,
) -> Prediction:
    """Ask for a number that a single sum gives.

    Parameters
    ----------
    id_ : str
    texts : pair of str
        Label and help.
    right : float, str, float
        The number, its unit, and how far from it is still right, as a fraction.
    told : str
        The sum.
    """
    value, unit, margin = right
    band = (value * (1 - margin), value * (1 + margin))
    slips = _SLIPS if unit == "A" else {"ten_times": 10.0, "tenth": 0.1}
    return Prediction(
        id=id_,
        label=texts[0],
        help=texts[1],
        unit=unit,
        value=value,
        band=band,
        misconceptions=wrong_numbers((value, band), {}, slips),
        right=told,
        wrong=told,
    )


def current_questions(exercise: Exercise) -> Iterator[Question]:
    """Ask for both currents, and for the ends of what the sheet allows the load."""
    control, load = exercise.predictions[:2]
    yield number_of(control)
    yield number_of(load)
    percent = exercise.specification.family.tolerance_percent.rated
    for word, sign in (("lowest", -1), ("highest", 1)):
        yield _edge(load, word, percent * sign)


def _edge(load: Prediction, word: str, percent: float) -> Question:
    """Ask for one end of the load's tolerance; the number without it is wrong."""
    edge = 1 + percent / 100
    amount = short_text(load.value, load.unit)
    asked = plain_number(
        f"{word}_load_current",
        (
            f"The {word} current that the load's own tolerance allows",
            f"The load current from above, with the ± {abs(percent):g} % of the sheet. "
            f"Right is what lies within {abs(percent) / 2:g} % of it.",
        ),
        (load.value * edge, load.unit, abs(percent) / 200),
        f"{amount} × {edge:g} is {short_text(load.value * edge, load.unit)}.",
    )
    return number_of(asked)


def display_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Ask for amperes from a display, a display from amperes, and the right scale."""
    load, display = exercise.predictions[1:3]
    yield number_of(_amperes(load.value * stream.uniform(0.6, 1.3)))
    yield number_of(display)
    control_a = exercise.predictions[0].value
    yield _scale("control_scale", "control current", control_a)
    if not _EITHER_A[0] <= load.value <= _EITHER_A[1]:
        yield _scale("load_scale", "load current", load.value)


def _amperes(current_a: float) -> Prediction:
    """Ask what current stands behind a display on the 10 mV/A scale."""
    text = VOLTMETER.display(current_a * CLAMP_10.scale_v_per_a, Errors())
    number, _, unit = text.partition(" ")
    shown_v = float(number) * (1e-3 if unit == "mV" else 1.0)
    amperes = round(shown_v / CLAMP_10.scale_v_per_a, 6)
    return plain_number(
        "amperes_of_display",
        (
            f"Amperes behind a display of {text}, clamp on its 10 mV/A scale",
            "Display divided by the scale.",
        ),
        (amperes, "A", _ROUNDING_FRAC),
        f"{text} ÷ 10 mV/A is {short_text(amperes, 'A')}.",
    )


def _scale(id_: str, what: str, current_a: float) -> Question:
    """Ask for the scale on which a current gives most digits and is in range."""
    clamps = (CLAMP_100, CLAMP_10, CLAMP_1)
    right = next(clamp for clamp in clamps if current_a <= clamp.range_a)
    amount = short_text(current_a, "A")
    others = [
        wrong(
            clamp.scale_text,
            f"Of {amount} it makes {_shown(current_a * clamp.scale_v_per_a)}, with "
            "fewer digits above the probe's noise.",
            "scale_too_coarse",
        )
        if clamp.range_a > right.range_a
        else wrong(
            clamp.scale_text, f"It follows {clamp.range_a:g} A at most: {amount} is OL."
        )
        for clamp in clamps
        if clamp is not right
    ]
    told = f"{amount} is in its range, and it gives the most millivolts."
    question = choice_of(
        id_,
        f"On which scale is the {what} read best?",
        (right.scale_text, told),
        others,
    )
    ranges = ", ".join(f"{c.scale_text} up to {c.range_a:g} A" for c in clamps)
    return replace(question, help=f"The clamp has the scales {ranges}.")


def _shown(volts: float) -> str:
    return short_text(volts, "V")
