"""What a plan is made of: where a search stands, and what is done from there."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import NamedTuple, Self

from generator.model.plan_task import bits_of

Label = Hashable


class State(NamedTuple):
    """Where a search stands, as the search itself keeps it: sets are bit masks.

    Attributes
    ----------
    left : int
        The faults that fit all that was seen.
    opened : int
        The places that were reached.
    has_seen : bool
        Whether an abnormal reading was seen, which whatever is left explains.
    """

    left: int
    opened: int
    has_seen: bool

    @classmethod
    def of(
        cls, candidates: Iterable[int], opened: Iterable[int] = (), *, has_seen: bool
    ) -> Self:
        """Build a state from the numbers of faults and places."""
        return cls(mask_of(candidates), mask_of(opened), has_seen)

    @property
    def candidates(self) -> tuple[int, ...]:
        """Numbers of the faults that are left."""
        return tuple(bits_of(self.left))

    @property
    def open(self) -> tuple[int, ...]:
        """Numbers of the places that were reached."""
        return tuple(bits_of(self.opened))


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """The end of a search: one repair cures all candidates left."""

    candidates: tuple[int, ...]
    repair: Label


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTrial:
    """A repair tried because no test splits the candidates.

    Attributes
    ----------
    minutes : float
        Lost where it was the wrong repair, with the test that shows so.
    otherwise : PlannedTrial or Proved
        What is done then.
    """

    candidates: tuple[int, ...]
    repair: Label
    minutes: float
    otherwise: PlannedTrial | Proved


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTest:
    """A test, and what is done after each of its outcomes.

    Attributes
    ----------
    minutes : float
        Of the test, with the way to the places that are not open yet.
    branches : tuple of (label, Tree)
        One an outcome that some candidate gives.
    """

    candidates: tuple[int, ...]
    test: int
    minutes: float
    branches: tuple[tuple[Label, Tree], ...]


Tree = PlannedTest | PlannedTrial | Proved


def mask_of(numbers: Iterable[int]) -> int:
    """Put numbers into a mask."""
    mask = 0
    for number in numbers:
        mask |= 1 << number
    return mask
