"""Whether a student has a skill by now: a rule that everybody can count after.

A fixed number of the last tries is as good a rule as an elaborate model, and can be
shown (Pelánek and Řihák, "Analysis and design of mastery learning criteria", 2018,
from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from answer_keys.skills import SKILLS, skill_marks

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from answer_keys.results import GradedExercise, StudentResult

__all__ = ["LAST", "RULE", "Mastery", "history_of", "mastery_of"]

LAST = 5
"""So many tries are looked at."""

_NEEDED = 4
_GOOD = 0.8

RULE = (
    f"A skill is mastered with {_NEEDED} of the last {LAST} tries right and no hint "
    f"taken; a try is an exercise, and right is {100 * _GOOD:.0f} % of its marks."
)
"""The rule in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mastery:
    """How a student stands in one skill.

    Attributes
    ----------
    last : tuple of bool
        Whether each of the last tries was right without a hint, the newest last.
    percent : float or None
        Share of the marks in this set [%]; None where the set has none.
    """

    last: tuple[bool, ...]
    percent: float | None

    @property
    def is_mastered(self) -> bool:
        """Whether enough of the last tries were right."""
        return sum(self.last) >= _NEEDED

    @property
    def text(self) -> str:
        """The tries in words."""
        return f"{sum(self.last)} of the last {len(self.last)}"


def mastery_of(
    student: StudentResult, before: Mapping[str, Sequence[bool]]
) -> dict[str, Mastery]:
    """Tell how a student stands in every skill that was tried.

    Parameters
    ----------
    student : StudentResult
    before : mapping of str to sequence of bool
        Tries in earlier sets by skill, as `history_of` gives them.
    """
    tries = {skill: list(before.get(skill, ())) for skill in SKILLS}
    marks: dict[str, list[float]] = {skill: [0.0, 0.0] for skill in SKILLS}
    for one in student.exercises:
        for skill, share, out_of, is_right in _tries(one):
            tries[skill].append(is_right)
            marks[skill][0] += share * out_of
            marks[skill][1] += out_of
    return {
        skill: Mastery(
            last=tuple(tries[skill][-LAST:]),
            percent=100 * marks[skill][0] / marks[skill][1]
            if marks[skill][1]
            else None,
        )
        for skill in SKILLS
        if tries[skill]
    }


def _tries(one: GradedExercise) -> list[tuple[str, float, float, bool]]:
    """Give each skill tried in an exercise: its share, its marks, whether right."""
    found = []
    for skill, marks in skill_marks(one).items():
        out_of = math.fsum(mark.out_of for mark in marks)
        share = math.fsum(mark.mark for mark in marks) / out_of
        is_right = share >= _GOOD and not any(mark.hints for mark in marks)
        found.append((skill, share, out_of, is_right))
    return found


def history_of(mastery: Mapping[str, Mastery]) -> dict[str, tuple[bool, ...]]:
    """Give the last tries by skill, for the set that comes after."""
    return {skill: one.last for skill, one in mastery.items()}
