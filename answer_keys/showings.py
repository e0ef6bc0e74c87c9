"""Which misconceptions a student shows again and again, and which by a slip.

A wrong rule that is held shows nearly whenever it can; a slip or a guess hits upon it
now and then. So its showings are counted against the chances that there were.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from answer_keys.misconceptions import MISCONCEPTIONS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from answer_keys.marks import StepMark
    from answer_keys.misconceptions import Misconception
    from answer_keys.results import GradedExercise, StudentResult

__all__ = ["Showing", "showings_of"]

# Who guesses hits upon a wrong rule one time in five at the most: about so many are on
# offer. What that would bring in less than one case of twenty is no guess.
_GUESSED_FRAC = 0.2
_SELDOM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Showing:
    """A misconception that a student has shown.

    Attributes
    ----------
    misconception : Misconception
    shown, chances : int
        How often it was shown, and could have been.
    example : StepMark
    """

    misconception: Misconception
    shown: int
    chances: int
    example: StepMark

    @property
    def is_held(self) -> bool:
        """Whether it comes back too often for slips and guesses.

        One showing is never enough.
        """
        from scipy.special import bdtrc

        by_chance = bdtrc(self.shown - 1, self.chances, _GUESSED_FRAC)
        return bool(by_chance < _SELDOM)


def showings_of(student: StudentResult) -> tuple[Showing, ...]:
    """Give the misconceptions that a student has shown, the most frequent first."""
    chances: Counter[str] = Counter()
    shown: Counter[str] = Counter()
    examples: dict[str, StepMark] = {}
    for one in student.exercises:
        chances.update(one.outline.chances)
        for id_, mark in _shown(one):
            shown[id_] += 1
            examples.setdefault(id_, mark)
    return tuple(
        Showing(
            misconception=MISCONCEPTIONS[id_],
            shown=count,
            chances=max(count, chances[id_]),
            example=examples[id_],
        )
        for id_, count in sorted(shown.items(), key=lambda pair: (-pair[1], pair[0]))
    )


def _shown(one: GradedExercise) -> Iterator[tuple[str, StepMark]]:
    """Give what an exercise shows: of numbers each, of anything else each once."""
    seen = set[str]()
    for mark in one.marks.steps:
        id_ = mark.misconception
        if id_ and (MISCONCEPTIONS[id_].kind == "number" or id_ not in seen):
            yield id_, mark
        seen.add(id_)
