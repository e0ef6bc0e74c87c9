"""The ways that a class took to the cause, beside the planned ones; pure."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from answer_keys.gradebook.results import GradedExercise, TestOutline
from answer_keys.reports.general_names import test_name

_AFTER_PROOF = "measured_after_proof"


@dataclass(frozen=True, slots=True, kw_only=True)
class TestUse:
    """How often a test was planned and done.

    Attributes
    ----------
    planned, chosen : int
        Exercises.
    wasteful : int
        Times that it was chosen while a better choice was open.
    minutes : float
        Wasted, all together.
    """

    __test__ = False  # not a test of pytest's

    title: str
    planned: int = 0
    chosen: int = 0
    wasteful: int = 0
    minutes: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PathView:
    """Minutes to the proof.

    Attributes
    ----------
    planned : tuple of float
        Of the planned way, one a diagnosis that was begun [min].
    taken : tuple of (float or None)
        Of the way taken up to the proof; None where the cause was not proved [min].
    wasted : float
        Expected minutes that all choices added.
    uses : tuple of TestUse
        The most minutes wasted first.
    """

    planned: tuple[float, ...]
    taken: tuple[float | None, ...]
    wasted: float
    uses: tuple[TestUse, ...]

    @property
    def proved(self) -> int:
        """Diagnoses in which the tests done proved the cause."""
        return sum(one is not None for one in self.taken)


def path_view(exercises: Iterable[GradedExercise]) -> PathView:
    """Follow every diagnosis that was begun."""
    begun = [one for one in exercises if one.choices]
    planned = [one.outline.planned for one in begun]
    planned_of, chosen, wasteful = Counter[str](), Counter[str](), Counter[str]()
    lost = defaultdict[str, float](float)
    for one, plan in zip(begun, planned, strict=True):
        planned_of.update(test_name(test.id, test.title) for test in plan)
        for test, mark in one.choices:
            name = test_name(test.id, test.title)
            chosen[name] += 1
            wasteful[name] += mark.minutes_wasted > 0
            lost[name] += mark.minutes_wasted
    found = [
        TestUse(
            title=title,
            planned=planned_of[title],
            chosen=chosen[title],
            wasteful=wasteful[title],
            minutes=lost[title],
        )
        for title in planned_of | chosen
    ]
    return PathView(
        planned=tuple(_minutes_of(plan) for plan in planned),
        taken=tuple(_minutes_to_proof(one) for one in begun),
        wasted=math.fsum(one.minutes for one in found),
        uses=tuple(sorted(found, key=lambda one: (-one.minutes, one.title))),
    )


def _minutes_to_proof(one: GradedExercise) -> float | None:
    """Add up the tests up to the proof, told from the marks: no plan is searched."""
    is_proved = any(mark.mark > 0 for mark in one.marks.steps if mark.item == "stop")
    if not is_proved:
        return None
    return _minutes_of(
        test for test, mark in one.choices if mark.misconception != _AFTER_PROOF
    )


def _minutes_of(tests: Iterable[TestOutline]) -> float:
    return math.fsum(test.minutes for test in tests)
