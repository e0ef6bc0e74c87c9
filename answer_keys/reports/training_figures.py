"""Figures that many classes give: how hard, how unequal, how widespread."""

from __future__ import annotations

from dataclasses import dataclass

from answer_keys.misconceptions import Misconception
from answer_keys.observed import Observed
from answer_keys.reports.evidence import Evidence
from answer_keys.reports.odds import Odds
from answer_keys.reports.statistics import Estimate

# Deltas of educational testing: below 1 nothing is said, from 1.5 on it is large
# (Zwick, ETS Research Report 12-08, 2012, from memory).
_SLIGHT, _LARGE = 1.0, 1.5
_SELDOM = 0.05
# No figure of the page shows less.
_ALIKE_PERCENT = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Hard:
    """How hard something is.

    Attributes
    ----------
    count, classes : int
        How often it was met, and in how many classes.
    lost : Estimate
        What an average student of an average class loses [% of the marks].
    beyond : Estimate
        Of it, what is beyond the prediction, or of a test beyond the average one.
    """

    id: str
    title: str
    count: int
    classes: int
    lost: Estimate
    beyond: Estimate

    @property
    def is_alike(self) -> bool:
        """Whether nothing of its kind differs by more than chance brings."""
        return self.beyond.high - self.beyond.low < _ALIKE_PERCENT

    @property
    def is_sure(self) -> bool:
        """Whether it differs from what was predicted by more than chance."""
        is_off = self.beyond.low > 0 or self.beyond.high < 0
        return is_off and not self.is_alike


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassStanding:
    """How one class stands among the others.

    Attributes
    ----------
    beyond : Estimate or None
        What it loses beyond the average class in exercises alike [% of the marks].
    """

    evidence: Evidence
    beyond: Estimate | None

    @property
    def is_alike(self) -> bool:
        """Whether classes differ by no more than chance brings, or nobody can tell."""
        one = self.beyond
        return one is None or one.high - one.low < _ALIKE_PERCENT


@dataclass(frozen=True, slots=True, kw_only=True)
class Unequal:
    """A fault in one load, against the same fault in all others.

    Attributes
    ----------
    right, of, other_right, other_of : int
        Causes named rightly, and diagnoses, in this load and in the others.
    odds : Odds or None
        None with too few diagnoses.
    p_value : float
        Of both being alike, as many being looked at.
    """

    title: str
    family: str
    right: int
    of: int
    other_right: int
    other_of: int
    odds: Odds | None
    p_value: float = 1.0

    @property
    def is_unequal(self) -> bool:
        """Whether it is much harder or easier, and not by chance."""
        return self._is(_LARGE)

    @property
    def is_slight(self) -> bool:
        """Whether it is somewhat harder or easier, and not by chance."""
        return self._is(_SLIGHT) and not self.is_unequal

    def _is(self, delta: float) -> bool:
        is_there = self.odds is not None and abs(self.odds.delta) >= delta
        return is_there and self.p_value < _SELDOM


@dataclass(frozen=True, slots=True, kw_only=True)
class Widespread:
    """A misconception in a lesson.

    Attributes
    ----------
    share : Estimate
        Part of the chances in which it was shown.
    classes : int
        In how many classes.
    """

    misconception: Misconception
    lesson: str
    shown: int
    chances: int
    share: Estimate
    classes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TrainingView:
    """All of it.

    Attributes
    ----------
    faults, families, tests : tuple of Hard
        The hardest first; empty where there is too little.
    unequal : tuple of Unequal
        The most unequal first.
    misconceptions : tuple of Widespread
        By lesson, the most frequent first.
    """

    classes: tuple[ClassStanding, ...]
    faults: tuple[Hard, ...]
    families: tuple[Hard, ...]
    tests: tuple[Hard, ...]
    unequal: tuple[Unequal, ...]
    misconceptions: tuple[Widespread, ...]
    observed: Observed
