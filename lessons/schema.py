"""What a lesson file and a component family file may hold."""

from collections.abc import Iterable
from typing import Annotated, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    field_validator,
    model_validator,
)

from generator.model.catalogue import TESTS
from generator.model.faults import FAULTS
from generator.model.parts import LoadKind

__all__ = ["Complaints", "Family", "Lesson", "Names", "Ranges", "Rubric", "Tolerances"]


def _ordered(pair: tuple[float, float]) -> tuple[float, float]:
    if pair[0] > pair[1]:
        raise ValueError(
            f"the range is [{pair[0]:g}, {pair[1]:g}]; the lower end comes first"
        )
    return pair


def _known_fault(name: str) -> str:
    if name not in FAULTS:
        raise ValueError(f"{name!r} is no fault; allowed are {', '.join(FAULTS)}")
    return name


def _known_test(name: str) -> str:
    if name not in TESTS:
        raise ValueError(f"{name!r} is no test; allowed are {', '.join(TESTS)}")
    return name


def _or_all(known: Iterable[str]) -> BeforeValidator:
    """Let the word ``all`` stand for everything known."""
    return BeforeValidator(lambda given: list(known) if given == "all" else given)


_PREDICTED = ("control_current", "load_current")

Text = Annotated[str, Field(min_length=1, max_length=400)]
Texts = Annotated[tuple[Text, ...], Field(min_length=1)]
Slug = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{1,39}$")]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Range = Annotated[tuple[Positive, Positive], AfterValidator(_ordered)]
Fraction = Annotated[float, Field(gt=0, lt=1)]
FractionRange = Annotated[tuple[Fraction, Fraction], AfterValidator(_ordered)]
Weight = Annotated[float, Field(ge=0, le=1000)]
FaultId = Annotated[str, AfterValidator(_known_fault)]
TestId = Annotated[str, AfterValidator(_known_test)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Names(_Strict):
    """Designations to draw from: what the parts and vehicles are called."""

    control_fuse: Texts
    load_fuse: Texts
    relay: Texts
    module: Texts
    vehicle: Texts


class Complaints(_Strict):
    """What the operator says, by what the circuit does."""

    does_nothing: Texts
    works_weakly: Texts
    never_stops: Texts


class Ranges(_Strict):
    """Ranges that nominal values are drawn from, in SI units.

    ``rated_a`` is the load current at 13.5 V; the last three are for fan motors.
    """

    rated_a: Annotated[Range, Field(description="A")]
    coil_ohm: Range
    suppression_ohm: Annotated[tuple[Positive, ...], Field(min_length=1)]
    wire_area_mm2: Annotated[tuple[Positive, ...], Field(min_length=1)]
    wire_length_m: Range
    hot_frac: Range
    armature_frac: FractionRange | None = None
    friction_frac: FractionRange | None = None
    speed_rad_s: Range | None = None


class Tolerances(_Strict):
    """Tolerances that the specification sheet states, in percent."""

    rated: Annotated[float, Field(gt=0, le=20)]
    coil: Annotated[float, Field(gt=0, le=20)]
    resistance: Annotated[float, Field(gt=0, le=20)]


class Family(_Strict):
    """An invented component family: one load with its circuit's ranges and names."""

    id: Slug
    kind: LoadKind
    load: Text
    work: Text
    mechanism: Text | None = None
    enable: Texts
    names: Names
    complaint: Complaints
    ranges: Ranges
    tolerance_percent: Tolerances

    @model_validator(mode="after")
    def _check_kind(self) -> Self:
        motor = (
            self.ranges.armature_frac,
            self.ranges.friction_frac,
            self.ranges.speed_rad_s,
        )
        if self.kind == "fan motor" and None in motor:
            raise ValueError(
                "a fan motor needs ranges.armature_frac, ranges.friction_frac and "
                "ranges.speed_rad_s"
            )
        if self.kind != "heater" and self.mechanism is None:
            raise ValueError(f"a {self.kind} needs a mechanism")
        return self


class Symptoms(_Strict):
    """How often each kind of complaint is drawn, relative to the others."""

    does_nothing: Weight
    works_weakly: Weight
    never_stops: Weight

    @model_validator(mode="after")
    def _check_sum(self) -> Self:
        if self.does_nothing + self.works_weakly + self.never_stops <= 0:
            raise ValueError("one of the symptoms needs a weight above 0")
        return self


class Rubric(_Strict):
    """Weights of the steps of one exercise."""

    predictions: Weight
    choices: Weight
    findings: Weight
    cause: Weight
    correction: Weight
    verification: Weight


class Lesson(_Strict):
    """A lesson: what is taught, and which circuits and faults it may draw."""

    id: Slug
    title: Text
    aims: Texts
    families: Annotated[tuple[Slug, ...], Field(min_length=1)]
    faults: Annotated[tuple[FaultId, ...], Field(min_length=2), _or_all(FAULTS)]
    tests: Annotated[tuple[TestId, ...], Field(min_length=2), _or_all(TESTS)]
    supply_v: Range
    symptoms: Symptoms
    rubric: Rubric

    @field_validator("tests")
    @classmethod
    def _check_tests(cls, tests: tuple[str, ...]) -> tuple[str, ...]:
        missing = [name for name in _PREDICTED if name not in tests]
        if missing:
            raise ValueError(
                f"{' and '.join(missing)} must be among the tests: students predict "
                "what it reads"
            )
        return tests
