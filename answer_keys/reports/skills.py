"""Which mark shows which skill, how well it is shown, and when a misconception is held.

A wrong rule that is held shows nearly whenever it can; a slip or a guess hits upon it
now and then. So its showings are counted against the chances that there were.

A fixed number of the last tries is as good a rule as an elaborate model, and can be
shown (Pelánek and Řihák, "Analysis and design of mastery learning criteria", 2018,
from memory).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from answer_keys.gradebook.results import GradedExercise, StudentResult
from answer_keys.marking.marks import StepMark
from answer_keys.misconceptions import MISCONCEPTIONS, Misconception
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """Something that a student can do.

    Attributes
    ----------
    title : str
        In a word or two, for the head of a column.
    means : str
        What who has it can do.
    kinds : tuple of str
        Kinds of exercises that practise it, the best first.
    """

    id: str
    title: str
    means: str
    kinds: tuple[str, ...] = ("diagnosis",)


SKILLS: Mapping[str, Skill] = MappingProxyType(
    {
        skill.id: skill
        for skill in (
            Skill(
                id="fuses",
                title="Fuses and branches",
                means="finds the fuse and the terminal of each circuit",
                kinds=("branches",),
            ),
            Skill(
                id="control_current",
                title="Control current",
                means="works out the coil's current from supply and resistance",
                kinds=("currents", "diagnosis"),
            ),
            Skill(
                id="load_current",
                title="Load current",
                means="works out the load's current, and its band, from the sheet",
                kinds=("currents", "diagnosis"),
            ),
            Skill(
                id="clamp",
                title="Clamp and scale",
                means="turns amperes into the clamp's millivolts and back",
                kinds=("display", "diagnosis"),
            ),
            Skill(
                id="drops",
                title="Voltage drops",
                means="tells how the supply voltage divides over the circuit",
                kinds=("drops",),
            ),
            Skill(
                id="turn_off",
                title="Turn-off",
                means="reads the spike of a coil that is switched off",
                kinds=("scope",),
            ),
            Skill(
                id="traces",
                title="Traces and logs",
                means="reads off a current in time what coil, load and vehicle do",
                kinds=("traces", "logs"),
            ),
            Skill(
                id="shares",
                title="More at the fuse",
                means="takes one load's part out of a sum, a drop or a sensed current",
                kinds=("shares", "millivolts", "switches"),
            ),
            Skill(
                id="choices",
                title="Choice of tests",
                means="takes the test that tells most in its minutes, stops in time",
            ),
            Skill(
                id="findings",
                title="Findings",
                means="says what a reading proves, and no more",
                kinds=("reasons", "diagnosis"),
            ),
            Skill(id="cause", title="Cause", means="names the cause that is proved"),
            Skill(
                id="correction",
                title="Correction",
                means="repairs what is broken, and no more",
            ),
            Skill(
                id="verification",
                title="Verification",
                means="tells what the meter has to show after the repair",
            ),
        )
    }
)
"""Every skill by id, in the order of working."""

_BY_ITEM = {
    "coil_current": "control_current",
    "load_current": "load_current",
    "lowest_load_current": "load_current",
    "highest_load_current": "load_current",
    "control_display": "clamp",
    "load_display": "clamp",
    "proved_cause": "cause",
    "right_correction": "correction",
}
# By what is asked, for a question too much like others of its kind to be told by it.
_BY_KIND = {
    kind: skill.id
    for skill in SKILLS.values()
    for kind in skill.kinds
    if kind not in {"currents", "diagnosis"}
}


def skill_marks(one: GradedExercise) -> dict[str, list[StepMark]]:
    """Sort the marks of an exercise by the skill that they show.

    What nothing grades, and what shows no skill of the list, is left out.
    """
    found: dict[str, list[StepMark]] = {}
    for mark in one.marks.steps:
        by_kind = _BY_KIND.get(one.outline.kind)
        skill = _BY_ITEM.get(mark.item) or by_kind or mark.step
        # What was set by hand adds to what was computed.
        if skill in SKILLS and (mark.out_of or mark.mark):
            found.setdefault(skill, []).append(mark)
    return found


LAST = 5
"""So many tries are looked at."""

# One slip in five is no lack of skill; two are.
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
        told = _("{right} of the last {count}")
        return told.format(right=sum(self.last), count=len(self.last))


def mastery_of(
    student: StudentResult, before: Mapping[str, Sequence[bool]]
) -> dict[str, Mastery]:
    """Tell how a student stands in every skill that was tried.

    Parameters
    ----------
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
    """Return each skill tried in an exercise: its share, its marks, whether right."""
    found = []
    for skill, marks in skill_marks(one).items():
        out_of = math.fsum(mark.out_of for mark in marks)
        share = math.fsum(mark.mark for mark in marks) / out_of
        is_right = share >= _GOOD and not any(mark.hints for mark in marks)
        found.append((skill, share, out_of, is_right))
    return found


def history_of(mastery: Mapping[str, Mastery]) -> dict[str, tuple[bool, ...]]:
    """Return the last tries by skill, for the set that comes after."""
    return {skill: one.last for skill, one in mastery.items()}


# Who guesses hits upon a wrong rule one time in five at the most: about so many are on
# offer. What that would bring in less than one case of twenty is no guess.
_GUESSED_FRAC = 0.2
# So rarely may chance alone show a misconception as often as it was seen.
_SELDOM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Showing:
    """A misconception that a student has shown.

    Attributes
    ----------
    shown, chances : int
        How often it was shown, and could have been.
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

        # Upper tail of the binomial: as often as this, or more, by guesses alone.
        by_chance = bdtrc(self.shown - 1, self.chances, _GUESSED_FRAC)
        return bool(by_chance < _SELDOM)


def showings_of(student: StudentResult) -> tuple[Showing, ...]:
    """Return the misconceptions that a student has shown, the most frequent first."""
    chances: Counter[str] = Counter()
    shown: Counter[str] = Counter()
    examples: dict[str, StepMark] = {}
    for one in student.exercises:
        chances.update(one.outline.chances)
        for id_, mark in shown_in(one):
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


def shown_in(one: GradedExercise) -> Iterator[tuple[str, StepMark]]:
    """Return what an exercise shows: of numbers each, of anything else each once."""
    seen = set[str]()
    for mark in one.marks.steps:
        id_ = mark.misconception
        # As `_chances` of the results counts them, or shares of chances would go above
        # 1.
        if id_ and (MISCONCEPTIONS[id_].kind == "number" or id_ not in seen):
            yield id_, mark
        seen.add(id_)
