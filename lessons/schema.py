"""What a lesson file and a component family file may hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import product
from types import MappingProxyType
from typing import Annotated, Any, Literal, Self, TypeVar

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from answer_keys.checked_toml import Strict
from answer_keys.weights import DEFAULT_WEIGHTS, Weights
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.complaints import MANNERS, Manner, Symptom
from generator.model.parts import BLADE_FUSES_A, fuse_for
from generator.model.places import USUAL, PlaceId, UsualPlace
from generator.model.variant import (
    CoilState,
    CoilSupply,
    Drive,
    Fuses,
    Ground,
    LoadKind,
    Overload,
    Supply,
    Switch,
    Terminals,
    Upstream,
    Variant,
)


def _ordered(pair: tuple[float, float]) -> tuple[float, float]:
    if pair[0] > pair[1]:
        raise ValueError(
            f"the range falls. Write its lower end first, [{pair[1]:g}, {pair[0]:g}]"
        )
    return pair


def _known_fault(name: str) -> str:
    if name not in FAULTS:
        raise ValueError(f"{name!r} is no fault. Write some of {', '.join(FAULTS)}")
    return name


def _known_test(name: str) -> str:
    if name not in TESTS:
        raise ValueError(f"{name!r} is no test. Write some of {', '.join(TESTS)}")
    return name


def _or_all(known: Iterable[str]) -> BeforeValidator:
    """Let the word ``all`` stand for everything known."""
    return BeforeValidator(lambda given: list(known) if given == "all" else given)


_COMMON_FAULTS = [f.id for f in FAULTS.values() if not f.is_advanced]
_WITHOUT_MECHANISM = ("heater", "pulsed heater", "lamp bank")
# At 15 V it draws the ampere that a driver carries.
_LEAST_COIL_OHM = 15.0
_PREDICTED = ("control_current", "load_current")

Text = Annotated[str, Field(min_length=1, max_length=400)]
Texts = Annotated[tuple[Text, ...], Field(min_length=1)]
Slug = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{1,39}$")]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Range = Annotated[tuple[Positive, Positive], AfterValidator(_ordered)]
Factor = Annotated[float, Field(ge=1, allow_inf_nan=False)]
FactorRange = Annotated[tuple[Factor, Factor], AfterValidator(_ordered)]
Share = Annotated[float, Field(gt=0, le=1)]
Fraction = Annotated[float, Field(gt=0, lt=1)]
FractionRange = Annotated[tuple[Fraction, Fraction], AfterValidator(_ordered)]
Weight = Annotated[float, Field(ge=0, le=1000)]
ExampleName = Annotated[str, Field(pattern=r"^[a-z][a-z_]{1,19}$")]
FaultId = Annotated[str, AfterValidator(_known_fault)]
TestId = Annotated[str, AfterValidator(_known_test)]


ExerciseKind = Literal[
    "diagnosis",
    "branches",
    "currents",
    "display",
    "drops",
    "scope",
    "traces",
    "logs",
    "shares",
    "millivolts",
    "switches",
    "reasons",
    "write-up",
]
"""What an exercise asks: the diagnosis of its circuit, or questions about it."""

_T = TypeVar("_T")
Choices = Annotated[tuple[_T, ...], Field(min_length=1)]


class Names(Strict):
    """Designations to draw from: what the parts and vehicles are called."""

    control_fuse: Texts
    load_fuse: Texts
    relay: Texts
    load_connector: Texts = ("X11", "X12", "X17", "X24")
    module: Texts
    vehicle: Texts


class _ByComplaint(Strict):
    def of(self, symptom: Symptom) -> Any:  # noqa: ANN401 - each table its own kind
        """What the table holds for a complaint: keys of TOML have no blanks."""
        return getattr(self, symptom.replace(" ", "_"))


class Complaints(_ByComplaint):
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


def _printed(current_a: float) -> float:
    """A current with the two digits that a sheet prints, as they are drawn."""
    return float(f"{current_a:.2g}")


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
        tuple[Share, Share], AfterValidator(_ordered), Field(validate_default=True)
    ] = (1.0, 1.0)
    fuse_a: float | None = None
    armature_frac: FractionRange = (0.14, 0.20)
    friction_frac: FractionRange = (0.05, 0.10)
    speed_rad_s: Range = (240.0, 300.0)

    @field_validator("rated_a")
    @classmethod
    def _check_rated(cls, rated_a: tuple[float, float]) -> tuple[float, float]:
        fuse_for(_printed(rated_a[1]))
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
            fuse_for(_printed(info.data["rated_a"][1]), duty_frac[0])
        return duty_frac

    @field_validator("fuse_a")
    @classmethod
    def _check_fuse(cls, fuse_a: float, info: ValidationInfo) -> float:
        if not {"rated_a", "duty_frac"} <= info.data.keys():
            return fuse_a
        least_a = fuse_for(_printed(info.data["rated_a"][1]), info.data["duty_frac"][0])
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

    def safe(self, tests: Iterable[str]) -> tuple[str, ...]:
        """Those of some tests, by id, that may be done on this family."""
        return tuple(
            name for name in tests if not (self.no_jumper and TESTS[name].setup.jumper)
        )

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


class Variants(Strict):
    """Ways to build the circuit that a lesson draws from, each as likely."""

    fuses: Choices[Fuses] = ("two",)
    drive: Choices[Drive] = ("low side",)
    coil_supply: Choices[CoilSupply] = ("86",)
    terminals: Choices[Terminals] = (4,)
    upstream: Choices[Upstream] = ("bus bar",)
    supply: Choices[Supply] = ("charging",)
    overload: Choices[Overload] = ("limits",)
    ground: Choices[Ground] = ("own",)
    switch: Choices[Switch] = ("relay",)


class Example(Strict):
    """A circuit with a fault that the lesson's text talks about."""

    name: ExampleName
    family: Slug
    fault: FaultId
    symptom: Symptom | None = None
    variant: Variant = Variant()
    coil: CoilState = "workshop"


class Symptoms(_ByComplaint):
    """How often each kind of complaint is drawn, relative to the others."""

    does_nothing: Weight
    works_weakly: Weight
    never_stops: Weight
    comes_and_goes: Weight = 0
    runs_hot: Weight = 0
    upsets_the_module: Weight = 0

    @model_validator(mode="after")
    def _check_sum(self) -> Self:
        if sum(self.model_dump().values()) <= 0:
            raise ValueError("all weights are 0. Give one of the symptoms more")
        return self


class Lesson(Strict):
    """A lesson: what is taught, and which circuits and faults it may draw.

    ``number`` is its place in the course; lessons without one come last. ``kinds`` are
    taken in turn for its exercises. In a practice set the first diagnoses of each
    student are partly done, half of them at most: ``given_tests`` says how many planned
    tests each of these shows besides the predictions. The last diagnoses of each
    student, as many as are ``unlisted`` and never the first, have no list of tests:
    there the student sets up and measures. ``coil`` says how warm the coil may be; on a
    cold morning the load is as cold as the coil.
    """

    id: Slug
    title: Text
    aims: Texts
    families: Annotated[tuple[Slug, ...], Field(min_length=1)]
    faults: Annotated[tuple[FaultId, ...], Field(min_length=2), _or_all(_COMMON_FAULTS)]
    tests: Annotated[tuple[TestId, ...], Field(min_length=2), _or_all(TESTS)]
    supply_v: Range
    variants: Variants = Variants()
    coil: Choices[CoilState] = ("workshop",)
    symptoms: Symptoms
    rubric: Weights = DEFAULT_WEIGHTS
    examples: tuple[Example, ...] = ()
    number: Annotated[int, Field(ge=1, le=99)] = 99
    kinds: Choices[ExerciseKind] = ("diagnosis",)
    given_tests: tuple[Annotated[int, Field(ge=0, le=9)], ...] = (2, 0)
    unlisted: Annotated[int, Field(ge=0, le=9)] = 0

    @field_validator("tests")
    @classmethod
    def _check_tests(cls, tests: tuple[str, ...]) -> tuple[str, ...]:
        missing = [name for name in _PREDICTED if name not in tests]
        if missing:
            raise ValueError(
                f"students predict what {' and '.join(missing)} reads. Write it among "
                "the tests"
            )
        return tests
