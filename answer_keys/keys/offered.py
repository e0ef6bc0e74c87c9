"""What a student's exercises offer to choose from, as the key tells it; no answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import msgspec

from workbook.record.bench import Bench
from workbook.record.circuit import Section


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A number that is asked for, a statement, a cause or a correction."""

    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedTest:
    """A test with its words."""

    id: str
    title: str
    outcomes: tuple[str, ...]
    statements: tuple[Offer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedQuestion:
    """A question with its words."""

    id: str
    kind: str
    unit: str = ""
    options: tuple[Offer, ...] = ()
    lines: tuple[Offer, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedCause:
    """Where a cause lies: it decides what a reading could prove."""

    sections: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedCauses:
    """All causes of a complaint."""

    faults: tuple[OfferedCause, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedExercise:
    """An exercise, small enough that a room keeps those of all its students.

    Where more than its list can be set up, all that decides such a reading is there.
    """

    exercise: int
    title: str
    predictions: tuple[Offer, ...]
    verification: Offer | None
    tests: tuple[OfferedTest, ...]
    causes: tuple[Offer, ...]
    corrections: tuple[Offer, ...]
    questions: tuple[OfferedQuestion, ...]
    sections: tuple[Section, ...] = ()
    reasoning: OfferedCauses = OfferedCauses(faults=())
    bench: Bench | None = None

    def test(self, wanted: str) -> OfferedTest:
        """Find a test."""
        return next(test for test in self.tests if test.id == wanted)


Offered = Mapping[int, OfferedExercise]
"""Of one student, by number."""

_OFFERED = msgspec.json.Decoder(tuple[OfferedExercise, ...])


def offered_read(text: bytes) -> Offered:
    """Read records of a key as far as they offer something."""
    return {one.exercise: one for one in _OFFERED.decode(text)}
