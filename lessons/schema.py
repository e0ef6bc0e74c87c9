"""What a lesson file may hold."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    field_validator,
    model_validator,
)

from answer_keys.checked_toml import Strict
from answer_keys.weights import DEFAULT_WEIGHTS, Weights
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.complaints import Symptom
from generator.model.variant import (
    CoilState,
    CoilSupply,
    Drive,
    Fuses,
    Ground,
    Overload,
    Supply,
    Switch,
    Terminals,
    Upstream,
    Variant,
)
from lessons.family import Family
from lessons.fields import ByComplaint, Choices, Range, Slug, Text, Texts


def _known_fault(name: str) -> str:
    if name not in FAULTS:
        raise ValueError(f"{name!r} is no fault. Write some of {', '.join(FAULTS)}")
    return name


def _known_test(name: str) -> str:
    if name not in TESTS:
        raise ValueError(f"{name!r} is no test. Write some of {', '.join(TESTS)}")
    return name


def _or_all(known: Iterable[str]) -> BeforeValidator:
    """Let the word ``all``, alone or in a list, stand for everything known."""

    def named(given: object) -> object:
        if given != "all" and not isinstance(given, list):
            return given
        each = [given] if given == "all" else given
        return [name for one in each for name in (known if one == "all" else [one])]

    return BeforeValidator(named)


_COMMON_FAULTS = [f.id for f in FAULTS.values() if not f.is_advanced]
_PREDICTED = ("control_current", "load_current")

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


class Variants(Strict):
    """Ways to build the circuit that a lesson draws from.

    Each value of a row is as likely as the others; one that stands there twice counts
    twice.
    """

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


class Symptoms(ByComplaint):
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

    def tests_on(self, family: Family) -> tuple[str, ...]:
        """Those of its tests, by id, that may be done on a family."""
        return tuple(
            name
            for name in self.tests
            if not (family.no_jumper and TESTS[name].setup.jumper)
        )
