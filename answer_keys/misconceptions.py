"""The catalogue of misconceptions: every wrong rule that is known by name.

A number is explained by the rule that gives it, a choice, a finding or a conclusion by
what it shows of the reasoning behind it. Keys, marks, reports and feedback name a
misconception by its id. That such rules are in use in the trade is common practice, no
source.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

__all__ = ["MISCONCEPTIONS", "Kind", "Misconception"]

Kind = Literal["number", "choice", "finding", "conclusion"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Misconception:
    """A wrong rule.

    Attributes
    ----------
    id : str
    title : str
        What was done, in a few words, for headings and tables.
    explanation : str
        What it is and why it is wrong, as told to the student.
    cure : str
        What to do or to practise.
    formula : str
        How its number comes about, in quantities of the specification sheet; of a
        choice, a finding or a conclusion, how it is recognised.
    """

    id: str
    kind: Kind
    title: str
    explanation: str
    cure: str
    formula: str


def _of_kind(kind: Kind, rows: Iterable[tuple[str, ...]]) -> dict[str, Misconception]:
    """Name the five texts of each row."""
    return {
        id_: Misconception(
            id=id_,
            kind=kind,
            title=title,
            formula=formula,
            explanation=explanation,
            cure=cure,
        )
        for id_, title, formula, explanation, cure in rows
    }


# id, title, formula, explanation, cure
_NUMBERS = (
    (
        "load_current_for_coil",
        "Load current given for the control circuit",
        "load current",
        "That is the current of the load circuit; the coil draws a small part of it.",
        "Trace both circuits on the diagram with two colours, and write each current "
        "beside its own fuse.",
    ),
    (
        "coil_ohms_for_load",
        "The coil's ohms used for the load",
        "supply voltage ÷ resistance between 85 and 86",
        "That is supply over the resistance of the coil: the current of the control "
        "circuit, not of the load.",
        "Before you divide, say which part the current flows through, and take the "
        "ohms of that part.",
    ),
    (
        "ohms_over_volts",
        "Ohms divided by volts",
        "resistance between 85 and 86 ÷ supply voltage",
        "That is ohms divided by volts; current is volts divided by ohms.",
        "Check with a guess first: more ohms must give less current.",
    ),
    (
        "volts_times_ohms",
        "Volts multiplied by ohms",
        "supply voltage × resistance between 85 and 86",
        "That is volts times ohms; current is volts divided by ohms.",
        "Check with a guess first: a coil of tens of ohms draws tenths of an ampere.",
    ),
    (
        "milliamperes_as_amperes",
        "Milliamperes written as amperes",
        "current in mA, with A behind it",
        "Those are milliamperes, written as amperes.",
        "Write the unit behind every number: 0.165 A is 165 mA.",
    ),
    (
        "ten_times",
        "Decimal point one place too far right",
        "right value × 10",
        "That is ten times too much: check the decimals.",
        "Do the sum once more with round numbers, and compare.",
    ),
    (
        "tenth",
        "Decimal point one place too far left",
        "right value ÷ 10",
        "That is a tenth of it: check the decimals.",
        "Do the sum once more with round numbers, and compare.",
    ),
    (
        "nominal_supply",
        "12 V taken for the supply",
        "12 V (24 V) ÷ resistance, or rated current × 12 V ÷ 13.5 V (24 V ÷ 27 V)",
        "That is reckoned with the name of the system, 12 V or 24 V; a charging supply "
        "is higher.",
        "Read the supply voltage from the sheet, and on a vehicle measure it first.",
    ),
    (
        "half_supply",
        "A 24 V vehicle taken for a 12 V one",
        "half the supply voltage ÷ resistance, or half the current",
        "That is half of it, as from the supply of a 12 V vehicle; this is a 24 V one.",
        "Read the supply voltage on the sheet before every sum.",
    ),
    (
        "fuse_rating_as_current",
        "The fuse's rating taken for the current",
        "rating of the load fuse",
        "That is the rating of the fuse: what it carries at most, not what the load "
        "draws.",
        "Take the current from the load; the fuse is chosen larger by a quarter or "
        "more.",
    ),
    (
        "driver_limit_as_current",
        "The driver's limit taken for the current",
        "limit of the driver",
        "That is the limit of the driver: it acts in an overload only, and a sound "
        "coil draws far less.",
        "Reckon the coil's current from volts and ohms, and compare it with the limit.",
    ),
    (
        "suppression_in_series",
        "The suppression resistor added in series",
        "supply voltage ÷ (resistance between 85 and 86 + suppression resistor)",
        "That adds the suppression resistor to the coil; it lies beside the coil, and "
        "the resistance between 85 and 86 has it in already.",
        "Follow the current on the diagram: where it can go two ways, the parts are "
        "in parallel, and the whole has fewer ohms than either.",
    ),
    (
        "cold_motor",
        "Cold ohms used for a motor that runs",
        "supply voltage ÷ resistance of the load, cold",
        "That is supply over the cold resistance: a motor that turns makes a voltage "
        "of its own against the supply, and draws far less.",
        "Use the rated current of the sheet; cold ohms tell the current of a motor "
        "that stands.",
    ),
    (
        "cold_filament",
        "Cold ohms used for a lamp that glows",
        "supply voltage ÷ resistance of the load, cold",
        "That is supply over the cold resistance: a filament that glows has many "
        "times as many ohms, and only the first instant draws so much.",
        "Use the rated current of the sheet; cold ohms tell the inrush.",
    ),
    (
        "pulse_for_mean",
        "The current of a pulse given for the mean",
        "supply voltage ÷ resistance of the load, cold",
        "That is the current of a pulse: the load is on for a part of the time, and "
        "the clamp shows the mean.",
        "Multiply the current of a pulse by the share of the time that the load is on.",
    ),
    (
        "mean_taken_twice",
        "The share of the time taken twice",
        "rated current × share of the time that the load is on",
        "That takes the share of the time a second time: the rated current is the "
        "mean already.",
        "Read on the sheet what a current stands for before you reckon with it.",
    ),
    (
        "power_for_current",
        "Watts given for amperes",
        "supply voltage × rated current",
        "That is volts times amperes: the power of the load in watts.",
        "Name the quantity before the number; watts divided by volts give amperes.",
    ),
    (
        "clamp_scale_1",
        "Clamp read as if it gave 1 mV/A",
        "current in A, with mV behind it",
        "That is the current's own number with mV behind it, as on a scale of 1 mV/A: "
        "amperes times the scale give millivolts.",
        "Read the scale that the clamp is set to, and multiply by it.",
    ),
    (
        "clamp_scale_10",
        "Clamp scale off by ten: 10 for 100 mV/A",
        "current × 10 mV/A",
        "That is the display on the 10 mV/A scale.",
        "Say the scale aloud before the sum: on 100 mV/A, 1 A is 100 mV.",
    ),
    (
        "clamp_scale_100",
        "Clamp scale off by ten: 100 for 10 mV/A",
        "current × 100 mV/A",
        "That is the display on the 100 mV/A scale.",
        "Say the scale aloud before the sum: on 10 mV/A, 1 A is 10 mV.",
    ),
    (
        "clamp_scale_1000",
        "Milliamperes read as millivolts",
        "current in mA, with mV behind it",
        "That is the current in mA with mV behind it, as on a scale of 1 V/A; this "
        "clamp gives a tenth of it.",
        "On 100 mV/A, 10 mA is 1 mV: divide milliamperes by ten.",
    ),
    (
        "millivolts_as_volts",
        "Millivolts written as volts",
        "display in mV, with V behind it",
        "Those are millivolts, called volts.",
        "Look for the small m on the display and write it down with the number.",
    ),
)

MISCONCEPTIONS: Mapping[str, Misconception] = MappingProxyType(
    _of_kind("number", _NUMBERS)
)
