"""What the gradebook holds of a class, beside its answer key."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from answer_keys.marked import Span
    from answer_keys.marks import ExerciseMarks, StepMark
    from answer_keys.receipts import Receipt

__all__ = [
    "ClassResult",
    "GradedExercise",
    "Outline",
    "StudentResult",
    "TestOutline",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class TestOutline:
    """A test as reports name it, with what it takes."""

    __test__ = False  # not a test of pytest's

    id: str
    title: str
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """What reports need of an exercise: its key is a thousand times as large.

    Attributes
    ----------
    lesson, vehicle, kind, family : str
    fault : str
        Id of the planted one.
    cause : str
        That fault in words.
    has_questions : bool
        Whether questions were asked in place of a diagnosis.
    done, planned : tuple of TestOutline
        The tests that the student chose, in no order, and those of the plan.
    chances : tuple of str
        Misconceptions that the student's steps could have shown, each as often.
    """

    lesson: str
    vehicle: str
    kind: str
    family: str
    fault: str
    cause: str
    has_questions: bool
    done: tuple[TestOutline, ...]
    planned: tuple[TestOutline, ...]
    chances: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedExercise:
    """One exercise of one student with its marks.

    Attributes
    ----------
    outline : Outline
    marks : ExerciseMarks
    span : (datetime.datetime, datetime.datetime) or None
        From when to when it was worked on, by the student's clock; None where the
        hand-in has no times of it.
    """

    outline: Outline
    marks: ExerciseMarks
    span: Span | None = None

    def of_step(self, step: str) -> tuple[StepMark, ...]:
        """Give the marks of one step of the rubric."""
        return tuple(one for one in self.marks.steps if one.step == step)

    @property
    def choices(self) -> tuple[tuple[TestOutline, StepMark], ...]:
        """The tests done, in their order, each with the mark of its choice."""
        tests = {test.id: test for test in self.outline.done}
        marks = self.of_step("choices")
        return tuple((tests[one.item], one) for one in marks if one.item in tests)

    @property
    def named_cause(self) -> str:
        """The cause named, in words; empty where none was."""
        return next((one.answer for one in self.of_step("cause")), "")

    @property
    def is_cause_right(self) -> bool:
        """Whether the cause named counts."""
        return math.fsum(one.mark for one in self.of_step("cause")) > 0

    @property
    def worst(self) -> StepMark | None:
        """The step that lost the most marks."""
        lost = {one.out_of - one.mark: one for one in self.marks.steps}
        most = max(lost, default=0.0)
        return lost[most] if most > 0 else None

    @property
    def is_started(self) -> bool:
        """Whether the student did anything here."""
        return bool(self.choices) or any(one.answer for one in self.marks.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class StudentResult:
    """One student with what was graded.

    Attributes
    ----------
    id, name : str
        From the roster.
    sheet : str
        File name of the student's sheet.
    file : str or None
        The returned file that counts; None where nothing came back.
    late_days : int
        Days begun since the deadline.
    deducted_percent : float
        Of all marks, for being late.
    graded_at : datetime.datetime or None
        When the marks that count were recorded.
    exercises : tuple of GradedExercise
    """

    id: str
    name: str
    sheet: str
    file: str | None = None
    late_days: int = 0
    deducted_percent: float = 0.0
    graded_at: datetime | None = None
    exercises: tuple[GradedExercise, ...] = ()

    @property
    def steps(self) -> tuple[StepMark, ...]:
        """All step marks of all exercises."""
        return tuple(step for one in self.exercises for step in one.marks.steps)

    @property
    def total(self) -> float:
        """Marks of all exercises, less what is deducted for being late."""
        marks = math.fsum(step.mark for step in self.steps)
        return marks * (1 - self.deducted_percent / 100)

    @property
    def out_of(self) -> float:
        """Marks that all exercises carry."""
        return math.fsum(step.out_of for step in self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassResult:
    """A whole class.

    ``history`` holds the last tries in earlier sets by student and skill.
    """

    set_id: str
    mode: str
    students: tuple[StudentResult, ...]
    receipts: tuple[Receipt, ...]
    history: Mapping[str, Mapping[str, tuple[bool, ...]]]

    @property
    def graded(self) -> tuple[StudentResult, ...]:
        """The students whose hand-in was graded."""
        return tuple(one for one in self.students if one.file is not None)
