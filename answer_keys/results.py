"""What grading found for a class: students, exercises and returned files."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from answer_keys.hand_in import HandIn
    from answer_keys.key_record import KeyRecord
    from answer_keys.marks import ExerciseMarks, StepMark
    from answer_keys.reading_path import Visit
    from workbook.progress import ExerciseProgress

__all__ = ["ClassResult", "GradedExercise", "Receipt", "StudentResult"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What became of one returned file.

    Attributes
    ----------
    name : str
    status : {"graded", "superseded", "refused"}
    student : str or None
        Where the file tells it and it belongs to this class.
    reason : str
        For a graded file, what the instructor should know of it, if anything.
    """

    name: str
    status: Literal["graded", "superseded", "refused"]
    student: str | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedExercise:
    """One exercise of one student with its marks."""

    record: KeyRecord
    progress: ExerciseProgress
    marks: ExerciseMarks
    path: tuple[Visit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudentResult:
    """One student with what was graded.

    Attributes
    ----------
    id, name : str
        From the roster.
    sheet : str
        File name of the student's sheet.
    hand_in : HandIn or None
        The one that counts; None where nothing came back.
    exercises : tuple of GradedExercise
    """

    id: str
    name: str
    sheet: str
    hand_in: HandIn | None = None
    exercises: tuple[GradedExercise, ...] = ()

    @property
    def steps(self) -> tuple[StepMark, ...]:
        """All step marks of all exercises."""
        return tuple(step for one in self.exercises for step in one.marks.steps)

    @property
    def total(self) -> float:
        """Marks of all exercises."""
        return math.fsum(step.mark for step in self.steps)

    @property
    def out_of(self) -> float:
        """Marks that all exercises carry."""
        return math.fsum(step.out_of for step in self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassResult:
    """A whole class."""

    set_id: str
    mode: str
    students: tuple[StudentResult, ...]
    receipts: tuple[Receipt, ...]

    @property
    def graded(self) -> tuple[StudentResult, ...]:
        """The students whose hand-in was graded."""
        return tuple(one for one in self.students if one.hand_in is not None)
