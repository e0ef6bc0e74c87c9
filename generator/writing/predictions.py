"""What a student predicts, the band that counts as right, and known wrong rules."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from generator.model.instruments import CLAMP_10, CLAMP_100
from generator.writing.wording import short_text
from generator.writing.wrong_rules import (
    WrongNumber,
    wrong_control_currents,
    wrong_load_currents,
    wrong_numbers,
)

if TYPE_CHECKING:
    from generator.model.circuit import RelayCircuit
    from generator.model.diagnostics import Scale

__all__ = ["Prediction", "new_predictions", "new_verification"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """A number asked of the student, in the base unit, with its expected band."""

    id: str
    label: str
    help: str
    unit: str
    value: float
    band: tuple[float, float]
    misconceptions: tuple[WrongNumber, ...]
    right: str
    wrong: str

    @property
    def is_clear(self) -> bool:
        """Whether no wrong rule comes near the right band or another wrong rule."""
        bands = sorted([self.band, *(m.band for m in self.misconceptions)])
        return all(low[1] < high[0] for low, high in pairwise(bands))


def _amperes(value: float) -> str:
    return short_text(value, "A")


def _band_text(band: tuple[float, float], unit: str = "A") -> str:
    return f"{short_text(band[0], unit)} to {short_text(band[1], unit)}"


# Slips in a current that was reckoned rightly, by the factor they bring in.
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


def new_predictions(
    nominal: RelayCircuit, control: tuple[float, Scale], load: tuple[float, Scale]
) -> tuple[Prediction, ...]:
    """Ask for both currents and for the clamp's display at the control fuse.

    Parameters
    ----------
    nominal : RelayCircuit
        The sound circuit.
    control, load : pair of float and Scale
        Current of the sound circuit at each fuse [A] and the scale of its test.
    """
    return (
        _control_current(nominal, control, load[0]),
        _load_current(nominal, load, control[0]),
        _control_display(nominal, control, load[0]),
    )


def _control_place(nominal: RelayCircuit) -> str:
    """Where the clamp reads the control current alone."""
    return "in the wire to the coil" if nominal.is_fuse_shared else "at its fuse"


def _control_current(
    nominal: RelayCircuit, control: tuple[float, Scale], load_a: float
) -> Prediction:
    value, band = control[0], _band_of(control)
    supply = nominal.supply_v
    together = 1 / (1 / nominal.coil_ohm + 1 / nominal.suppression_ohm)
    wrong = wrong_control_currents(nominal, load_a)
    return Prediction(
        id="coil_current",
        label=f"Control current {_control_place(nominal)} with the relay commanded on",
        help="Supply voltage and the resistance between terminals 85 and 86.",
        unit="A",
        value=value,
        band=band,
        misconceptions=wrong_numbers((value, band), wrong, _CURRENT_SLIPS),
        right=f"{supply:.1f} V ÷ {together:.0f} Ω is about {_amperes(value)}; "
        f"with its tolerances a sound circuit reads {_band_text(band)}.",
        wrong=f"Current is volts divided by ohms: {supply:.1f} V ÷ {together:.0f} Ω is "
        f"about {_amperes(value)}; a sound circuit reads {_band_text(band)}.",
    )


def _load_current(
    nominal: RelayCircuit, load: tuple[float, Scale], control_a: float
) -> Prediction:
    value, band = load[0], _band_of(load)
    supply = nominal.supply_v
    wrong = wrong_load_currents(nominal, control_a)
    rated = f"{nominal.load_rated_a:g} A at {nominal.rated_v:g} V"
    what, more = "Load current at its fuse", ""
    if nominal.is_fuse_shared:
        what, more = "Both currents at the fuse", " plus the control current"
    return Prediction(
        id="load_current",
        label=f"{what} with the load running",
        help="The rated current on the specification sheet, at this supply voltage"
        f"{more}.",
        unit="A",
        value=value,
        band=band,
        misconceptions=wrong_numbers((value, band), wrong, _CURRENT_SLIPS),
        right=f"{rated}{more} is about {_amperes(value)} at the fuse; "
        f"with its tolerances a sound circuit reads {_band_text(band)}.",
        wrong=f"The sheet gives {rated}; at {supply:.1f} V, less the drop in the "
        f"wires{more}, that is about {_amperes(value)}. A sound circuit reads "
        f"{_band_text(band)}.",
    )


def _control_display(
    nominal: RelayCircuit, control: tuple[float, Scale], load_a: float
) -> Prediction:
    current, (low, high) = control[0], _band_of(control)
    where = "at the control fuse"
    if nominal.is_fuse_shared:
        where = _control_place(nominal)
    scale = CLAMP_100.scale_v_per_a
    value, band = current * scale, (low * scale, high * scale)
    wrong = {"load_current_for_coil": load_a * scale}
    return Prediction(
        id="control_display",
        label=f"Meter display behind the clamp {where}, 100 mV/A scale",
        help="Control current times the scale; on 100 mV/A, 10 mA is 1 mV.",
        unit="V",
        value=value,
        band=band,
        misconceptions=wrong_numbers((value, band), wrong, _SLIPS_AT_100),
        right=f"{_amperes(current)} × 100 mV/A is {short_text(value, 'V')}.",
        wrong=f"{_amperes(current)} × 100 mV/A is {short_text(value, 'V')}; a sound "
        f"circuit shows {_band_text(band, 'V')}.",
    )


def new_verification(
    nominal: RelayCircuit, load: tuple[float, Scale], control_a: float
) -> Prediction:
    """Ask what the meter will show at the fuse of the load after the repair.

    Parameters
    ----------
    nominal : RelayCircuit
        The sound circuit.
    load : pair of float and Scale
        Its current at that fuse [A], of both circuits where they share it, and the
        scale of the test.
    control_a : float
        Control current of the sound circuit [A].
    """
    current, (low, high) = load[0], _band_of(load)
    scale = CLAMP_10.scale_v_per_a
    value, band = current * scale, (low * scale, high * scale)
    wrong = {
        name: amperes * scale
        for name, amperes in wrong_load_currents(nominal, control_a).items()
    }
    fuse, what, drawn = "load fuse", "Load current", "the load draws"
    if nominal.is_fuse_shared:
        fuse, what = "shared fuse", "Load current plus control current"
        drawn = "load and coil together draw"
    return Prediction(
        id="load_display_after_repair",
        label=f"Meter display behind the clamp at the {fuse} after the repair, "
        "10 mV/A scale",
        help=f"{what} of the sound circuit times the scale.",
        unit="V",
        value=value,
        band=band,
        misconceptions=wrong_numbers((value, band), wrong, _SLIPS_AT_10),
        right=f"{_amperes(current)} × 10 mV/A is {short_text(value, 'V')}, and "
        "that reading proves the repair.",
        wrong=f"After the repair {drawn} {_amperes(current)} again: × 10 mV/A "
        f"is {short_text(value, 'V')}, anything from "
        f"{_band_text(band, 'V')}.",
    )


def _band_of(pair: tuple[float, Scale]) -> tuple[float, float]:
    band = pair[1].band
    if band is None:
        raise ValueError("a current test always has an expected band")
    return band
