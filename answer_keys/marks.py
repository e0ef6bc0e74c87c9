"""Marks: one record a graded step, one an exercise."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["ExerciseMarks", "StepMark"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepMark:
    """The mark of one thing that a student did.

    Attributes
    ----------
    step : str
        The step of the rubric.
    item : str
        Id of the prediction, test, or the step itself.
    title : str
        The item in words.
    mark, out_of : float
    reason : str
        Why, as a plain sentence for the student.
    misconception : str
        Id of the wrong rule that explains the number, or empty.
    minutes_wasted : float
        Of a test choice, against the plan.
    answer : str
        What the student answered, in words or as typed; empty where nothing was, or
        where the item is the answer.
    hints : int
        Hints taken for a choice.
    """

    step: str
    item: str
    title: str
    mark: float
    out_of: float
    reason: str
    misconception: str = ""
    minutes_wasted: float = 0.0
    answer: str = ""
    hints: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseMarks:
    """The marks of one exercise.

    Attributes
    ----------
    exercise : int
    steps : tuple of StepMark
        In the order of the rubric's steps.
    """

    exercise: int
    steps: tuple[StepMark, ...]

    @property
    def mark(self) -> float:
        """Marks of the whole exercise."""
        return math.fsum(step.mark for step in self.steps)

    @property
    def out_of(self) -> float:
        """Marks that the exercise carries."""
        return math.fsum(step.out_of for step in self.steps)
