"""The skills that steps and questions exercise, in plain words."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from answer_keys.marks import StepMark
    from answer_keys.results import GradedExercise

__all__ = ["SKILLS", "Skill", "skill_marks"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """Something that a student can do.

    Attributes
    ----------
    id : str
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
    "proved_cause": "cause",
    "right_correction": "correction",
}
_BY_KIND = {
    "branches": "fuses",
    "display": "clamp",
    "drops": "drops",
    "reasons": "findings",
    "scope": "turn_off",
}


def skill_marks(one: GradedExercise) -> dict[str, list[StepMark]]:
    """Sort the marks of an exercise by the skill that they show.

    What nothing grades, and what shows no skill of the list, is left out.
    """
    found: dict[str, list[StepMark]] = {}
    for mark in one.marks.steps:
        skill = _skill(one.outline.kind, mark)
        # What was set by hand adds to what was computed.
        if skill in SKILLS and (mark.out_of or mark.mark):
            found.setdefault(skill, []).append(mark)
    return found


def _skill(kind: str, mark: StepMark) -> str:
    return _BY_ITEM.get(mark.item) or _BY_KIND.get(kind) or mark.step
