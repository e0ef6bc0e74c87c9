"""What the file of a component family may hold."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, ValidationInfo, field_validator

from answer_keys.checked_toml import Strict
from generator.model.circuit import rounded
from generator.model.complaints import MANNERS, Manner, Symptom
from generator.model.parts import BLADE_FUSES_A, fuse_for
from generator.model.places import USUAL, PlaceId, UsualPlace
from generator.model.variant import LoadKind, Supply
from lessons.fields import (
    ByComplaint,
    Choices,
    FactorRange,
    FractionRange,
    Positive,
    Range,
    Share,
    Slug,
    Text,
    Texts,
    ordered,
)

_WITHOUT_MECHANISM = ("heater", "pulsed heater", "lamp bank")
# At 15 V it draws the ampere that a driver carries.
_LEAST_COIL_OHM = 15.0


class Names(Strict):
    """Designations to draw from: what the parts and vehicles are called."""

    control_fuse: Texts
    load_fuse: Texts
    relay: Texts
    load_connector: Texts = ("X11", "X12", "X17", "X24")
    module: Texts
    vehicle: Texts


class Complaints(ByComplaint):
    """What the operator says, by what the circuit does.

    What fits only causes that need shaking or warmth, or leave all silent, is apart.
    """

    does_nothing: Texts
    works_weakly: Texts
    never_stops: Texts
    comes_and_goes: Texts
    runs_hot: Texts
    upsets_the_module: Texts
    only_moved: tuple[Text, ...] = ()
    only_warm: tuple[Text, ...] = ()
    only_silent: tuple[Text, ...] = ()

    def said(self, symptom: Symptom) -> tuple[tuple[Manner | None, str], ...]:
        """All words for a complaint, each with the manner of the causes that it fits.

        What fits every cause has none.
        """
        return (
            *((None, text) for text in self.of(symptom)),
            *(
                (manner, text)
                for manner in MANNERS.get(symptom, ())
                for text in getattr(self, f"only_{manner}")
            ),
        )


class PlaceSheet(Strict):
    """Where a place of the machine is, how long it takes to reach, what can hurt."""

    where: Text
    minutes: Range
    risk: Annotated[str, Field(max_length=400)] = ""


class PlaceSheets(Strict):
    """The places of a machine that lie elsewhere than is usual."""

    battery: PlaceSheet | None = None
    fuse_box: PlaceSheet | None = None
    scan_tool: PlaceSheet | None = None
    relay: PlaceSheet | None = None
    relay_pins: PlaceSheet | None = None
    module: PlaceSheet | None = None
    load: PlaceSheet | None = None
    ground: PlaceSheet | None = None

    def of(self, place: PlaceId) -> PlaceSheet | UsualPlace:
        """What is said of a place, here or of any machine."""
        own: PlaceSheet | None = getattr(self, place)
        return own or USUAL[place]


class Ranges(Strict):
    """Ranges that nominal values are drawn from, in SI units.

    ``rated_a`` is the load current at 13.5 V, or at 27 V in a 24 V vehicle; ``fuse_a``
    the rating of its fuse, else the smallest that is large enough; ``load_wire_m`` is
    of a wire from relay to load longer than feed and ground. The last three are
    for motors: armature drop over that voltage, friction over torque, speed.
    """

    rated_a: Range
    coil_ohm: Range
    suppression: Choices[Literal["resistor", "diode"]] = ("resistor",)
    suppression_ohm: Choices[Positive]
    wire_area_mm2: Choices[Positive]
    wire_length_m: Range
    load_wire_m: Range | None = None
    hot_frac: FactorRange
    duty_frac: Annotated[
        tuple[Share, Share], AfterValidator(ordered), Field(validate_default=True)
    ] = (1.0, 1.0)
    fuse_a: float | None = None
    armature_frac: FractionRange = (0.14, 0.20)
    friction_frac: FractionRange = (0.05, 0.10)
    speed_rad_s: Range = (240.0, 300.0)

    @field_validator("rated_a")
    @classmethod
    def _check_rated(cls, rated_a: tuple[float, float]) -> tuple[float, float]:
        fuse_for(rounded(rated_a[1], 2))
        return rated_a

    @field_validator("coil_ohm")
    @classmethod
    def _check_coil(
        cls, coil_ohm: tuple[float, float], info: ValidationInfo
    ) -> tuple[float, float]:
        system_v = (info.context or {}).get("system_v", 12)
        least_ohm = 2 * _LEAST_COIL_OHM if system_v == 24 else _LEAST_COIL_OHM
        if coil_ohm[0] < least_ohm:
            raise ValueError(
                f"a coil of {coil_ohm[0]:g} Ω would draw more than the 1 A of the "
                f"driver. Write {least_ohm:g} Ω or more"
            )
        return coil_ohm

    @field_validator("duty_frac")
    @classmethod
    def _check_duty(
        cls, duty_frac: tuple[float, float], info: ValidationInfo
    ) -> tuple[float, float]:
        is_pulsed = (info.context or {}).get("kind") == "pulsed heater"
        if is_pulsed and duty_frac[1] == 1.0:
            raise ValueError("a pulsed heater pauses. Write a range of shares below 1")
        if "rated_a" in info.data:
            fuse_for(rounded(info.data["rated_a"][1], 2), duty_frac[0])
        return duty_frac

    @field_validator("fuse_a")
    @classmethod
    def _check_fuse(cls, fuse_a: float, info: ValidationInfo) -> float:
        if not {"rated_a", "duty_frac"} <= info.data.keys():
            return fuse_a
        least_a = fuse_for(
            rounded(info.data["rated_a"][1], 2), info.data["duty_frac"][0]
        )
        large = [a for a in BLADE_FUSES_A if a >= least_a]
        if fuse_a not in large:
            raise ValueError(
                "a fuse carries three quarters of its rating for ever. "
                f"Write one of {', '.join(f'{a:g}' for a in large)}"
            )
        return fuse_a


class Tolerances(Strict):
    """Tolerances that the specification sheet states, in percent."""

    rated: Annotated[float, Field(gt=0, le=20)]
    coil: Annotated[float, Field(gt=0, le=20)]
    resistance: Annotated[float, Field(gt=0, le=20)]


_AGAINST: Mapping[Supply, tuple[str, ...]] = MappingProxyType(
    {
        "charging": ("engine stopped", "engine off"),
        "battery only": ("engine running", "engine above", "supply above"),
    }
)
"""Words of enable inputs that are never present with a supply."""


class Family(Strict):
    """An invented component family: one load with its circuit's ranges and names.

    ``secure`` says how what the load moves or heats is made safe before an output test
    or a jumper drives it past its interlocks. Where ``no_jumper`` stands, it holds or
    frees what can kill: then no test may bridge the relay. ``hindrance`` is what most
    often keeps the work of a sound load small, as a noun with its place.
    ``supply`` says with which its enable inputs can all be present. Where
    ``needs_heat`` stands, they want a hot machine, which no night outside leaves.
    """

    id: Slug
    kind: LoadKind
    system_v: Literal[12, 24] = 12
    load: Text
    work: Text
    mechanism: Annotated[Text | None, Field(validate_default=True)] = None
    enable: Texts
    secure: Text | None = None
    hindrance: Text = "dirt"
    no_jumper: bool = False
    needs_heat: bool = False
    supply: Annotated[Choices[Supply], Field(validate_default=True)] = (
        "charging",
        "battery only",
    )
    names: Names
    complaint: Complaints
    places: PlaceSheets = PlaceSheets()
    ranges: Ranges
    tolerance_percent: Tolerances

    @field_validator("mechanism")
    @classmethod
    def _check_mechanism(
        cls, mechanism: str | None, info: ValidationInfo
    ) -> str | None:
        kind = info.data.get("kind", "heater")
        if kind not in _WITHOUT_MECHANISM and mechanism is None:
            raise ValueError(f"a {kind} moves something. Write what, as its mechanism")
        return mechanism

    @field_validator("no_jumper")
    @classmethod
    def _check_secured(cls, no_jumper: bool, info: ValidationInfo) -> bool:
        if no_jumper and not info.data.get("secure"):
            raise ValueError(
                "what no jumper may free is driven by output tests all the same. Write "
                "how it is held, as secure"
            )
        return no_jumper

    @field_validator("supply")
    @classmethod
    def _check_supply(
        cls, supply: tuple[Supply, ...], info: ValidationInfo
    ) -> tuple[Supply, ...]:
        for each, text in product(supply, info.data.get("enable", ())):
            if any(words in text for words in _AGAINST[each]):
                other = next(name for name in _AGAINST if name != each)
                raise ValueError(
                    f"the input {text!r} is never present with the supply {each!r}. "
                    f'Write supply = ["{other}"], or other words in enable'
                )
        return supply
