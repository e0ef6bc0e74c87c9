"""Currents with their band, and displays of a clamp turned into amperes."""

from __future__ import annotations

from collections.abc import Iterator

from generator.drawing.exercise import Exercise
from generator.drawing.predictions import Prediction, plain_number
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.drawing.wrong_rules import wrong_numbers
from generator.model.circuit import SHEET_DEGC, copper_factor
from generator.model.instruments import (
    CLAMP_1,
    CLAMP_10,
    CLAMP_100,
    VOLTMETER,
    Clamp,
    Errors,
)
from generator.questions.question import (
    Option,
    Question,
    choice_of,
    number_of,
    shown_v,
    wrong,
)
from workbook.texts import _, later

# A display is turned into amperes exactly; this leaves room for rounding.
_ROUNDING_FRAC = 0.02
# Between these a current may be read on either scale.
_EITHER_A = (8.0, CLAMP_100.range_a)
_CLAMPS = (CLAMP_100, CLAMP_10, CLAMP_1)
# A coil on a cold morning, and one in use [°C].
_COIL_DEGC = (-20, -10, 60, 80)
# Room for rounding, and for counting the resistor beside the coil as copper, too.
_COIL_FRAC = 0.03
# Both ends of the load's tolerance: id, label, sign.
_EDGES = (
    (
        "lowest_load_current",
        later("The lowest current that the load's own tolerance allows"),
        -1,
    ),
    (
        "highest_load_current",
        later("The highest current that the load's own tolerance allows"),
        1,
    ),
)


def current_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Ask for both currents, the coil's cold or warm, and the ends of the load's."""
    control, load = exercise.predictions[:2]
    yield number_of(control)
    yield number_of(load)
    yield number_of(_at_temperature(exercise, stream.choice(_COIL_DEGC)))
    percent = exercise.specification.family.tolerance_percent.rated
    for id_, label, sign in _EDGES:
        yield _edge(load, (id_, _(label)), percent * sign)


def _at_temperature(exercise: Exercise, degc: int) -> Prediction:
    """Ask for the control current with the coil colder or warmer than on the sheet."""
    nominal = exercise.specification.nominal
    factor, coil_ohm = copper_factor(degc), nominal.sheet_coil_ohm
    beside = 1 / nominal.suppression_ohm
    now = nominal.supply_v * (1 / (coil_ohm * factor) + beside)
    sheet = nominal.supply_v * (1 / coil_ohm + beside)
    # With the change of resistance taken the wrong way round: 1 - x in place of 1 + x.
    turned = nominal.supply_v * (1 / (coil_ohm * (2 - factor)) + beside)
    band = (now * (1 - _COIL_FRAC), now * (1 + _COIL_FRAC))
    told = _(
        "Copper has 0.39 % more ohms for each degree: the coil has {factor} times "
        "those of the sheet, and the current is about {amperes}."
    ).format(factor=f"{factor:.2f}", amperes=short_text(now, "A"))
    return Prediction(
        id="current_at_temperature",
        label=_("Control current with the coil at {degc} °C").format(degc=degc),
        help=_(
            "The sheet gives the ohms at {degc} °C; copper changes by 0.39 % for each "
            "degree."
        ).format(degc=f"{SHEET_DEGC:g}"),
        unit="A",
        value=now,
        band=band,
        misconceptions=wrong_numbers(
            (now, band),
            {"coil_temperature_ignored": sheet, "coil_temperature_reversed": turned},
            {"milliamperes_as_amperes": 1000.0},
        ),
        right=told,
        wrong=told,
    )


def _edge(load: Prediction, asked: tuple[str, str], percent: float) -> Question:
    """Ask for one end of the load's tolerance; the number without it is wrong."""
    id_, label = asked
    edge = 1 + percent / 100
    help_ = _(
        "The load current from above, with the ± {percent} % of the sheet. Right is "
        "what lies within {half} % of it."
    ).format(percent=f"{abs(percent):g}", half=f"{abs(percent) / 2:g}")
    told = _("{amperes} × {factor} is {product}.").format(
        amperes=short_text(load.value, load.unit),
        factor=f"{edge:g}",
        product=short_text(load.value * edge, load.unit),
    )
    # Half of the tolerance: the number without it, in the middle, is outside.
    right = load.value * edge, load.unit, abs(percent) / 200
    return number_of(plain_number(id_, (label, help_), right, told))


def display_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Ask for amperes from a display, a display from amperes, and the right scale."""
    load, display = exercise.predictions[1:3]
    yield number_of(_amperes(load.value * stream.uniform(0.6, 1.3)))
    yield number_of(display)
    control_a = exercise.predictions[0].value
    question = _("On which scale is the control current read best?")
    yield _scale("control_scale", question, control_a)
    if not _EITHER_A[0] <= load.value <= _EITHER_A[1]:
        question = _("On which scale is the load current read best?")
        yield _scale("load_scale", question, load.value)
    other_a = float(f"{stream.choice(_CLAMPS).range_a * stream.uniform(0.3, 0.75):.2g}")
    question = _("On which scale is a current of {amperes} read best?")
    text = question.format(amperes=short_text(other_a, "A"))
    yield _scale("other_scale", text, other_a)


def _amperes(current_a: float) -> Prediction:
    """Ask what current stands behind a display on the 10 mV/A scale."""
    text = VOLTMETER.display(current_a * CLAMP_10.scale_v_per_a, Errors())
    # Off the digits that are shown, without the last bits of a quotient.
    amperes = round(shown_v(text) / CLAMP_10.scale_v_per_a, 6)
    label = _("Amperes behind a display of {display}, clamp on its 10 mV/A scale")
    told = _("{display} ÷ 10 mV/A is {amperes}.")
    return plain_number(
        "amperes_of_display",
        (label.format(display=text), _("Display divided by the scale.")),
        (amperes, "A", _ROUNDING_FRAC),
        told.format(display=text, amperes=short_text(amperes, "A")),
    )


def _scale(id_: str, label: str, current_a: float) -> Question:
    """Ask for the scale on which a current gives most digits and is in range."""
    # The finest comes first.
    right = next(clamp for clamp in _CLAMPS if current_a <= clamp.range_a)
    told = _("{amperes} is in its range, and it gives the most millivolts.")
    return choice_of(
        id_,
        label,
        (_scale_text(right), told.format(amperes=short_text(current_a, "A"))),
        [
            _other_scale(clamp, current_a, is_coarse=clamp.range_a > right.range_a)
            for clamp in _CLAMPS
            if clamp is not right
        ],
    )


def _scale_text(clamp: Clamp) -> str:
    """Return a scale with its range: all of them as long."""
    text = _("{scale} up to {most} A")
    return text.format(scale=clamp.scale_text, most=f"{clamp.range_a:g}")


def _other_scale(clamp: Clamp, current_a: float, *, is_coarse: bool) -> Option:
    """Say why a current is not read best on a scale."""
    amperes = short_text(current_a, "A")
    if is_coarse:
        text = _(
            "Of {amperes} it makes {display}, with fewer digits above the probe's "
            "noise."
        )
        display = short_text(current_a * clamp.scale_v_per_a, "V")
        told = text.format(amperes=amperes, display=display)
        return wrong(_scale_text(clamp), told, "scale_too_coarse")
    text = _("It follows {most} A at most: {amperes} is OL.")
    most = f"{clamp.range_a:g}"
    return wrong(_scale_text(clamp), text.format(most=most, amperes=amperes))
