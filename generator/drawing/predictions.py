"""What a student predicts, the band that counts as right, and known wrong rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from generator.drawing.wording import short_text
from generator.drawing.wrong_rules import (
    Band,
    WrongNumber,
    wrong_control_currents,
    wrong_load_currents,
    wrong_numbers,
)
from generator.model.circuit import SHEET_DEGC, RelayCircuit, rounded
from generator.model.instruments import CLAMP_10, CLAMP_100
from workbook.texts import _, later


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundCurrents:
    """Currents at both fuses of the sound circuit [A], each with its expected band.

    At a fuse that both circuits share, the load's is the current of both; where a smart
    switch feeds the load, nothing flows in a control circuit.
    """

    control: tuple[float, Band]
    load: tuple[float, Band]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """A number asked of the student, in the base unit, with its expected band.

    ``test`` is the one whose reading is asked after the repair, by id.
    Its texts are in the language that was spoken as it was made.
    """

    id: str
    label: str
    help: str
    unit: str
    value: float
    band: Band
    misconceptions: tuple[WrongNumber, ...]
    right: str
    wrong: str
    test: str = ""

    @property
    def is_clear(self) -> bool:
        """Whether no wrong rule comes near the right band or another wrong rule."""
        # Sorted by their lower ends, bands that meet are neighbours.
        bands = sorted([self.band, *(m.band for m in self.misconceptions)])
        return all(low[1] < high[0] for low, high in pairwise(bands))


def _band_text(band: Band, unit: str = "A") -> str:
    low, high = (short_text(end, unit) for end in band)
    return _("{low} to {high}").format(low=low, high=high)


# Slips in a current that was calculated rightly, by the factor they bring in.
_CURRENT_SLIPS = {"milliamperes_as_amperes": 1000.0, "ten_times": 10.0, "tenth": 0.1}
# Slips in turning a current into a display on the 100 mV/A and the 10 mV/A scale.
_SLIPS_AT_100 = {
    "clamp_scale_1": 0.01,
    "clamp_scale_10": 0.1,
    "clamp_scale_1000": 10.0,
    "millivolts_as_volts": 1000.0,
}
_SLIPS_AT_10 = {
    "clamp_scale_1": 0.1,
    "clamp_scale_100": 10.0,
    "millivolts_as_volts": 1000.0,
}


def plain_number(
    id_: str,
    texts: tuple[str, str],
    right: tuple[float, str, float],
    told: str,
    rules: Mapping[str, float] | None = None,
) -> Prediction:
    """Ask for a number that a single sum gives.

    Parameters
    ----------
    texts : pair of str
        Label and help.
    right : float, str, float
        The number, its unit, and how far from it is still right, as a fraction.
    told : str
        The sum.
    rules : mapping of str to float, optional
        What wrong rules of thought give.
    """
    value, unit, margin = right
    band = (value * (1 - margin), value * (1 + margin))
    slips = _CURRENT_SLIPS if unit == "A" else {"ten_times": 10.0, "tenth": 0.1}
    return Prediction(
        id=id_,
        label=texts[0],
        help=texts[1],
        unit=unit,
        value=value,
        band=band,
        misconceptions=wrong_numbers((value, band), rules or {}, slips),
        right=told,
        wrong=told,
    )


def new_predictions(
    nominal: RelayCircuit, currents: SoundCurrents
) -> tuple[Prediction, ...]:
    """Ask for both currents and for the clamp's display at the control fuse.

    Without a relay there is one current, and its display at the load fuse.
    """
    if nominal.is_smart:
        return _load_current(nominal, currents), _load_display(nominal, currents)
    return (
        _control_current(nominal, currents),
        _load_current(nominal, currents),
        _control_display(nominal, currents),
    )


def _prediction(
    id_: str,
    words: Mapping[str, str],
    right: tuple[float, Band, str],
    numbers: Mapping[str, str],
    wrong: tuple[Mapping[str, float], Mapping[str, float]],
) -> Prediction:
    """Ask for a number in the words of a table.

    Parameters
    ----------
    right : float, band, str
        The number, its band and its unit.
    numbers : mapping of str to str
        What stands in the words that are said to an answer.
    wrong : pair of mappings of str to float
        Numbers of wrong rules of thought, and factors of slips.
    """
    (value, band, unit), (rules, slips) = right, wrong
    said = {name: _(text) for name, text in words.items()}
    return Prediction(
        id=id_,
        label=said["label"],
        help=said["help"],
        unit=unit,
        value=value,
        band=band,
        misconceptions=wrong_numbers((value, band), rules, slips),
        right=said["right"].format(**numbers),
        wrong=said["wrong"].format(**numbers),
    )


def _control_current(nominal: RelayCircuit, currents: SoundCurrents) -> Prediction:
    value, band = currents.control
    together = 1 / (1 / nominal.coil_ohm + 1 / nominal.suppression_ohm)
    wrong = wrong_control_currents(nominal, currents.load[0])
    label = (
        later("Control current in the wire to the coil with the relay commanded on")
        if nominal.is_fuse_shared
        else later("Control current at its fuse with the relay commanded on")
    )
    sheet_ohm = 1 / (1 / nominal.sheet_coil_ohm + 1 / nominal.suppression_ohm)
    # Of the numbers as they are told, so that the sum can be done again.
    quotient_a = round(nominal.supply_v, 1) / rounded(together, 3)
    numbers = {
        "volts": f"{nominal.supply_v:.1f} V",
        "ohms": short_text(together, "Ω"),
        "sheet": short_text(sheet_ohm, "Ω"),
        "quotient": short_text(quotient_a, "A"),
        "degc": f"{nominal.coil_degc:g} °C",
        "amperes": short_text(value, "A"),
        "band": _band_text(band),
    }
    is_as_on_sheet = nominal.coil_degc == SHEET_DEGC
    words = _COIL_AS_ON_SHEET if is_as_on_sheet else _COIL_COLD_OR_WARM
    words = {"label": label, **words}
    right = (value, band, "A")
    return _prediction("coil_current", words, right, numbers, (wrong, _CURRENT_SLIPS))


_COIL_AS_ON_SHEET = {
    "help": later("Supply voltage and the resistance between terminals 85 and 86."),
    "right": later(
        "{volts} ÷ {ohms} is {quotient}, and wires and driver leave about {amperes} "
        "of it; with its tolerances a sound circuit reads {band}."
    ),
    "wrong": later(
        "Current is volts divided by ohms: {volts} ÷ {ohms} is {quotient}, and wires "
        "and driver leave about {amperes} of it; a sound circuit reads {band}."
    ),
}
_COIL_COLD_OR_WARM = {
    "help": later(
        "Supply voltage and the resistance between terminals 85 and 86 at the coil's "
        "temperature: copper changes by 0.39 % for each degree from that of the sheet."
    ),
    "right": later(
        "At {degc} the {sheet} of the sheet are {ohms}: {volts} ÷ {ohms} is "
        "{quotient}, and wires and driver leave about {amperes} of it; with its "
        "tolerances a sound circuit reads {band}."
    ),
    "wrong": later(
        "Current is volts divided by ohms, and at {degc} the {sheet} of the sheet are "
        "{ohms}: {volts} ÷ {ohms} is {quotient}, and wires and driver leave about "
        "{amperes} of it; a sound circuit reads {band}."
    ),
}


def _load_current(nominal: RelayCircuit, currents: SoundCurrents) -> Prediction:
    value, band = currents.load
    wrong = wrong_load_currents(nominal, currents.control[0])
    rated = f"{nominal.load_rated_a:g} A", f"{nominal.rated_v:g} V"
    numbers = {
        "rated": _("{amperes} at {volts}").format(amperes=rated[0], volts=rated[1]),
        "volts": f"{nominal.supply_v:.1f} V",
        "amperes": short_text(value, "A"),
        "band": _band_text(band),
    }
    words = _WITH_CONTROL if nominal.is_fuse_shared else _LOAD_ALONE
    right = (value, band, "A")
    asked = _prediction("load_current", words, right, numbers, (wrong, _CURRENT_SLIPS))
    hint, told = _cold_winding(nominal)
    return replace(
        asked,
        help=asked.help + hint,
        right=asked.right + told,
        wrong=asked.wrong + told,
    )


def _cold_winding(nominal: RelayCircuit) -> tuple[str, str]:
    """What is said, before and after, of a load that a night outside has draw more."""
    if not nominal.is_cold_winding:
        return "", ""
    rated_ohm = nominal.rated_v / nominal.load_rated_a
    lost_ohm = nominal.sheet_load_ohm - nominal.load_ohm
    hint = _(
        "That is of a load that was at 20 °C before: its winding is copper, as the "
        "coil's, and the cold has taken ohms of it, too."
    )
    told = _(
        "At {degc} its winding has {lost} less than at 20 °C: at work some {now} "
        "instead of {rated}, so that more current flows."
    ).format(
        degc=f"{nominal.coil_degc:g} °C",
        lost=short_text(lost_ohm, "Ω"),
        now=short_text(rated_ohm - lost_ohm, "Ω"),
        rated=short_text(rated_ohm, "Ω"),
    )
    return f" {hint}", f" {told}"


def is_cold_winding_sure(nominal: RelayCircuit, currents: SoundCurrents) -> bool:
    """Whether the cold may be taken off the ohms at work as a share of them, too.

    That takes off too much: the heat of a winding gives it the same ohms as ever.
    """
    most_a = currents.load[1][1]
    rated_a = nominal.load_rated_a * nominal.supply_v / nominal.rated_v
    return not nominal.is_cold_winding or rated_a / nominal.load_cold_frac <= most_a


_LOAD_ALONE = {
    "label": later("Load current at its fuse with the load running"),
    "help": later(
        "The rated current on the specification sheet, at this supply voltage."
    ),
    "right": later(
        "{rated} is about {amperes} at the fuse; with its tolerances a sound circuit "
        "reads {band}."
    ),
    "wrong": later(
        "The sheet gives {rated}; at {volts}, less the drop in the wires, that is "
        "about {amperes}. A sound circuit reads {band}."
    ),
}
_WITH_CONTROL = {
    "label": later("Both currents at the fuse with the load running"),
    "help": later(
        "The rated current on the specification sheet, at this supply voltage plus the "
        "control current."
    ),
    "right": later(
        "{rated} plus the control current is about {amperes} at the fuse; with its "
        "tolerances a sound circuit reads {band}."
    ),
    "wrong": later(
        "The sheet gives {rated}; at {volts}, less the drop in the wires plus the "
        "control current, that is about {amperes}. A sound circuit reads {band}."
    ),
}


def _control_display(nominal: RelayCircuit, currents: SoundCurrents) -> Prediction:
    label = (
        later("Meter display behind the clamp in the wire to the coil, 100 mV/A scale")
        if nominal.is_fuse_shared
        else later("Meter display behind the clamp at the control fuse, 100 mV/A scale")
    )
    words = {
        "label": label,
        "help": later("Control current times the scale; on 100 mV/A, 10 mA is 1 mV."),
        "right": later("{amperes} × 100 mV/A is {display}."),
        "wrong": later(
            "{amperes} × 100 mV/A is {display}; a sound circuit shows {band}."
        ),
    }
    scale = CLAMP_100.scale_v_per_a
    wrong = {"load_current_for_coil": currents.load[0] * scale}, _SLIPS_AT_100
    return _display("control_display", words, (currents.control, scale), wrong)


def _load_display(nominal: RelayCircuit, currents: SoundCurrents) -> Prediction:
    words = {
        "label": later(
            "Meter display behind the clamp at the load fuse, 10 mV/A scale"
        ),
        "help": later("Load current times the scale; on 10 mV/A, 1 A is 10 mV."),
        "right": later("{amperes} × 10 mV/A is {display}."),
        "wrong": later(
            "{amperes} × 10 mV/A is {display}; a sound circuit shows {band}."
        ),
    }
    return at_load_fuse("load_display", words, nominal, currents)


def at_load_fuse(
    id_: str, words: Mapping[str, str], nominal: RelayCircuit, currents: SoundCurrents
) -> Prediction:
    """Ask for the display of a clamp at the fuse of the load."""
    scale = CLAMP_10.scale_v_per_a
    amperes = wrong_load_currents(nominal, currents.control[0])
    wrong = {name: wrong_a * scale for name, wrong_a in amperes.items()}
    return _display(id_, words, (currents.load, scale), (wrong, _SLIPS_AT_10))


def _display(
    id_: str,
    words: Mapping[str, str],
    at: tuple[tuple[float, Band], float],
    wrong: tuple[Mapping[str, float], Mapping[str, float]],
) -> Prediction:
    """Ask for the display of a clamp at a current, with its band, on a scale [V/A]."""
    (current, (low, high)), scale = at
    value, band = current * scale, (low * scale, high * scale)
    numbers = {
        "amperes": short_text(current, "A"),
        "display": short_text(value, "V"),
        "band": _band_text(band, "V"),
    }
    return _prediction(id_, words, (value, band, "V"), numbers, wrong)
