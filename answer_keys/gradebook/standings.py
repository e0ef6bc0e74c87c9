"""What counts for each student and each returned file: set by hand, and late; pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from msgspec.structs import replace

from answer_keys.marking.marks import ExerciseMarks, StepMark

Status = Literal["graded", "superseded", "undecided", "refused", "unread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What became of one returned file.

    Attributes
    ----------
    status : {"graded", "superseded", "undecided", "refused", "unread"}
        Undecided is what is no continuation of the hand-in that counts, until the
        instructor chooses; unread what was not even looked at.
    student : str or None
        Where the file tells it and it belongs to this class.
    reason : str
        For a graded file, what the instructor should know of it, if anything.
    code : str
        Short for the file among those of its student, where it can be graded.
    """

    name: str
    status: Status
    student: str | None = None
    reason: str = ""
    code: str = ""


OVERRIDE = "override"
"""The item of a mark that the instructor set by hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A step's mark as the instructor set it by hand.

    Attributes
    ----------
    mark : float or None
        None takes an earlier one back.
    out_of : float
        What the step carries, where no machine has marked anything of it, such as
        lines that were written.
    """

    student: str
    exercise: int
    step: str
    mark: float | None
    out_of: float = 0.0
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Which hand-in counts for a student, and the mark that follows.

    Attributes
    ----------
    counts : {"last", "best", "first"}
        The rule that chose it.
    late_days : int
        Days begun since the deadline.
    deducted_percent : float
        Of the marks, for being late.
    mark, out_of : float
        With what was set by hand, less what is deducted.
    """

    student: str
    hand_in_sha256: str
    counts: str
    late_days: int
    deducted_percent: float
    mark: float
    out_of: float


def new_standing(
    student: str,
    hand_in_sha256: str,
    total: tuple[float, float],
    *,
    counts: str,
    late: tuple[int, float] = (0, 0.0),
) -> Standing:
    """Build a standing.

    ``total`` is the mark and what it is out of, ``late`` days begun and percent
    deducted.
    """
    days, percent = late
    mark, out_of = total
    return Standing(
        student=student,
        hand_in_sha256=hand_in_sha256,
        counts=counts,
        late_days=days,
        deducted_percent=percent,
        mark=mark * (1 - percent / 100),
        out_of=out_of,
    )


def with_overrides(
    exercises: Iterable[ExerciseMarks], overrides: Sequence[Override]
) -> tuple[ExerciseMarks, ...]:
    """Add to the steps of exercises what leads to the marks set by hand.

    Every mark that was computed stays; one more row carries the difference.
    """
    return tuple(
        replace(one, steps=(*one.steps, *_set_by_hand(one, overrides)))
        for one in exercises
    )


def _set_by_hand(
    one: ExerciseMarks, overrides: Iterable[Override]
) -> Iterator[StepMark]:
    for override in overrides:
        if override.exercise == one.exercise and override.mark is not None:
            computed = [m for m in one.steps if m.step == override.step]
            is_marked = any(mark.out_of for mark in computed)
            yield StepMark(
                step=override.step,
                item=OVERRIDE,
                title="Set by your instructor",
                mark=override.mark - math.fsum(mark.mark for mark in computed),
                # What the step carries is in its own rows already, where a machine
                # marked it.
                out_of=0.0 if is_marked else override.out_of,
                reason=override.reason,
            )
