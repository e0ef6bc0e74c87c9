"""Marks: one record a graded step, one an exercise."""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct, json
from msgspec.structs import replace

from workbook.texts import _


class StepMark(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """The mark of one thing that a student did.

    As judged it is out of its weight beside the other items of its step; `split` then
    shares out what the step carries.

    Attributes
    ----------
    step : str
        The step of the rubric; empty as judged.
    item : str
        Id of the prediction, test, or the step itself.
    title : str
        The item in words.
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

    step: str = ""
    item: str
    title: str
    mark: float
    out_of: float
    reason: str
    misconception: str = ""
    minutes_wasted: float = 0.0
    answer: str = ""
    hints: int = 0


def no_test(step: str, title: str) -> StepMark:
    """Give nothing for a step that needs tests where none was done."""
    return StepMark(
        item=step, title=title, mark=0.0, out_of=1.0, reason=_("No test was done.")
    )


def split(step: str, out_of: float, items: Sequence[StepMark]) -> Iterator[StepMark]:
    """Share out what a step of the rubric carries over its items, by their weights."""
    # Where a person reads all that was asked there is nothing to share out.
    whole = math.fsum(one.out_of for one in items) or 1.0
    for one in items:
        share = one.mark / one.out_of if one.out_of else 0.0
        own = out_of * one.out_of / whole
        yield replace(one, step=step, mark=own * share, out_of=own)


class ExerciseMarks(Struct, frozen=True, kw_only=True):
    """The marks of one exercise.

    Attributes
    ----------
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


_MARKS = json.Decoder(tuple[ExerciseMarks, ...])


def marks_packed(exercises: Sequence[ExerciseMarks]) -> bytes:
    """Pack marks: zlib of JSON, in which is left out what a step has not."""
    # The quickest level, as of journals: reasons repeat each other, so that they take a
    # fifth of their room already.
    return zlib.compress(json.encode(exercises), level=1)


def marks_text(packed: bytes) -> bytes:
    """Unpack the JSON of marks; older gradebooks have it as it is.

    Raises
    ------
    zlib.error
        Where it is neither.
    """
    return packed if packed.startswith(b"[") else zlib.decompress(packed)


def marks_in(packed: bytes) -> tuple[ExerciseMarks, ...]:
    """Read marks that `marks_packed` has packed.

    Raises
    ------
    zlib.error, msgspec.DecodeError
        Where it is anything else.

    Examples
    --------
    >>> marks_in(marks_packed([ExerciseMarks(exercise=1, steps=())]))
    (ExerciseMarks(exercise=1, steps=()),)
    """
    return _MARKS.decode(marks_text(packed))


def total_of(exercises: Iterable[ExerciseMarks]) -> tuple[float, float]:
    """Add up the marks of exercises, and what they carry."""
    steps = [step for one in exercises for step in one.steps]
    return math.fsum(s.mark for s in steps), math.fsum(s.out_of for s in steps)
