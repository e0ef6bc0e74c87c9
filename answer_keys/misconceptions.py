"""The catalogue of misconceptions: every wrong rule that is known by name.

A number is explained by the rule that gives it, a choice, a finding or a conclusion by
what it shows of the reasoning behind it. Keys, marks, reports and feedback name a
misconception by its id. That such rules are in use in the trade is common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from answer_keys.wrong_findings import WRONG_FINDINGS
from answer_keys.wrong_readings import WRONG_READINGS

Kind = Literal["number", "choice", "finding", "conclusion"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Misconception:
    """A wrong rule.

    Attributes
    ----------
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
        "That is calculated with the name of the system, 12 V or 24 V; a charging "
        "supply is higher.",
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
        "Calculate the coil's current from volts and ohms; compare it with the limit.",
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
        "Read on the sheet what a current stands for before you calculate with it.",
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

_CHOICES = (
    (
        "clamp_not_zeroed",
        "Clamp read without zeroing it",
        "a test with a clamp that shows something without current",
        "What the clamp shows without current is in every reading, and it creeps.",
        "Zero the clamp with its jaw empty and closed before each reading.",
    ),
    (
        "scale_too_coarse",
        "A small current read on a coarse scale",
        "a test of the control current on the 1 mV/A scale",
        "On this scale the current is a digit or two, less than the probe's own noise.",
        "Predict the display first, and take the scale on which it has three digits.",
    ),
    (
        "jaw_not_closed",
        "Clamp read with its jaw open",
        "a test with the wire in the mouth of the clamp",
        "An open jaw catches an unknown share of the current and other fields.",
        "Look at the jaw before the display: it has to be shut all the way.",
    ),
    (
        "both_wires_in_jaw",
        "Clamp closed around both wires",
        "a test with the wires to and from the load in the jaw",
        "The current that goes and the one that comes back cancel in the clamp.",
        "Part the loom and close the clamp around one wire only.",
    ),
    (
        "drop_while_off",
        "A voltage drop taken with the load off",
        "a test of a drop with no demand for the load",
        "Without current there is no drop, and open contacts have the supply across "
        "them in a sound relay too.",
        "Command the load on before you measure a drop, and see that current flows.",
    ),
    (
        "ohmmeter_on_live_part",
        "Ohmmeter put on a live part",
        "a test of a resistance with the part connected and commanded",
        "An ohmmeter divides by its own small current: on a live part its number "
        "means nothing, and meter and module can be damaged.",
        "Ohms only on a part that is switched off and taken out or unplugged.",
    ),
    (
        "same_thing_again",
        "Measured what a test before had told",
        "under every cause the reading follows from that of a test done before",
        "A test done before had given this reading away already.",
        "Before each test name a cause that it could rule out and that the tests "
        "before could not.",
    ),
    (
        "measured_after_proof",
        "Measured on after the proof",
        "minutes wasted = minutes of the test, when one repair was left",
        "The readings had left one repair only; a further test proves nothing more.",
        "After each reading count the causes that still fit, and stop at one repair.",
    ),
    (
        "nothing_to_tell",
        "A test whose reading was known beforehand",
        "all causes still possible give the same outcome",
        "All causes that were still possible give the same reading here.",
        "Before each test say what it reads under each cause that still fits; if that "
        "is the same, choose another.",
    ),
    (
        "drop_without_current",
        "A voltage drop sought where no current flows",
        "all causes still possible give no drop, for no current flows",
        "Without current nothing drops: a good and a poor section both read none.",
        "See first that current flows; where none does, look for the point at which "
        "the supply ends.",
    ),
    (
        "dear_for_cheap",
        "A long test where a short one tells the same",
        "a test of fewer minutes tells apart the same causes",
        "A test of fewer minutes would have told the same.",
        "Of tests that tell the same take the shortest: look before you unplug, and "
        "read before you take apart.",
    ),
    (
        "least_telling_first",
        "The test that splits the causes worst",
        "value after the test is the highest of all tests that tell anything",
        "Of all tests on offer this one leaves most of the work still to do.",
        "Look for the test that splits the likely causes in halves: in the middle of "
        "the path, not at its end.",
    ),
    (
        "part_before_proof",
        "A part replaced to see whether it helps",
        "a new relay is fitted while a test of fewer minutes leads further",
        "A new part tells only whether the old one was bad, and takes long; it can "
        "also hide a fault that will break the new part too.",
        "Prove with the clamp or the meter that a part is bad before you fit another.",
    ),
)
_CONCLUSIONS = (
    (
        "named_before_proof",
        "A part named before the proof",
        "causes of more than one repair fit all readings",
        "Causes that need other repairs still fitted the readings: this was a guess.",
        "Write down what else would read the same, and rule it out before you "
        "conclude.",
    ),
    (
        "ruled_out_cause",
        "A cause that the readings had ruled out",
        "the cause does not fit a reading that was taken",
        "One of your own readings cannot come from this cause.",
        "Go through your readings one by one before you conclude: the cause has to "
        "explain every one of them.",
    ),
    (
        "relay_though_cleared",
        "The relay replaced though readings cleared it",
        "correction is the relay, and no cause inside it fits the readings",
        "Your readings had cleared coil and contacts; a new relay changes nothing.",
        "Strike the relay off the list once its coil draws what it should and its "
        "contacts pass the current.",
    ),
    (
        "module_though_cleared",
        "The module replaced though readings cleared it",
        "correction is the module, and no cause inside it fits the readings",
        "Your readings had cleared the control module; a new one changes nothing.",
        "Prove supply, ground, inputs and output before you name a module, and let it "
        "come last.",
    ),
    (
        "load_though_cleared",
        "The load replaced though readings cleared it",
        "correction is the load, and no cause inside it fits the readings",
        "Your readings had cleared the load; a new one behaves the same.",
        "A load that draws its current when fed past the relay is good.",
    ),
    (
        "fuse_without_reason",
        "A fuse replaced without asking what opened it",
        "cause is the fuse, which is open, and another cause opened it",
        "The fuse is open because something drew too much; a new one opens again.",
        "Put a fused lead in place of the fuse and measure before you fit another.",
    ),
    (
        "repair_beside_cause",
        "A correction that does not mend the cause named",
        "correction is not the one that the named cause needs",
        "The correction mends another part than the cause that you named.",
        "Say cause and correction in one sentence: “this is broken, so I mend this”.",
    ),
)
MISCONCEPTIONS: Mapping[str, Misconception] = MappingProxyType(
    _of_kind("number", (*_NUMBERS, *WRONG_READINGS))
    | _of_kind("choice", _CHOICES)
    | _of_kind("finding", WRONG_FINDINGS)
    | _of_kind("conclusion", _CONCLUSIONS)
)
