"""What decides a search for the least expected minutes, and what is left in it.

Candidates, places and all that a test may show are bit masks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

_Asked = TypeVar("_Asked", bound=Hashable)
_Worked = TypeVar("_Worked")

# What a test takes, in minutes and places, and what may be left by it.
Test = tuple[float, int, Sequence[int]]
# The same, with what is left unproved.
Split = tuple[float, int, Sequence["Left"]]
# A choice: a floor under its cost, its own cost, its number among all, the places open
# after it, and what it leaves unproved.
Choice = tuple[float, float, int, int, Sequence["Left"]]


class Kept(dict[_Asked, _Worked]):
    """Something of each number or set, worked out when it is first asked for."""

    def __init__(self, work_out: Callable[[_Asked], _Worked]) -> None:
        self._work_out = work_out

    def __missing__(self, key: _Asked) -> _Worked:
        found = self[key] = self._work_out(key)
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What decides a search, as bit masks.

    Attributes
    ----------
    weight : tuple of float, length n_faults
    reading : tuple of float, length n_tests
        Minutes of each test at its places.
    needs : tuple of int, length n_tests
        The places of each test.
    access : tuple of float, length n_places
        Minutes to reach each place, once.
    shown : tuple, length n_tests
        For each thing that a test may show the circuits that show it: the candidates,
        and the sound one.
    sound : int
        The bit of the sound circuit; 0 where nothing abnormal has to be seen.
    group_of : tuple of int, length n_faults
        All faults that share a fault's repair.
    harmless : int
        Faults that no reading shows: that nothing is wrong.
    trial_cost : mapping
        Minutes lost on a wrong repair, by its group.
    weight_of : mapping of int to float
        Of each set of candidates.
    access_of : mapping of int to float
        Minutes to reach each set of places.
    """

    weight: tuple[float, ...]
    reading: tuple[float, ...]
    needs: tuple[int, ...]
    access: tuple[float, ...]
    shown: tuple[tuple[int, ...], ...]
    sound: int
    group_of: tuple[int, ...]
    harmless: int
    trial_cost: Mapping[int, float]
    weight_of: Mapping[int, float] = field(init=False)
    access_of: Mapping[int, float] = field(init=False)

    def __post_init__(self) -> None:
        """Add up weights and minutes where they are asked for."""
        # The sound circuit weighs nothing: it is no candidate.
        weight, access = (*self.weight, 0.0), self.access
        weights: Kept[int, float] = Kept(
            lambda mask: math.fsum([weight[n] for n in bits_of(mask)])
        )
        minutes: Kept[int, float] = Kept(
            lambda mask: math.fsum([access[n] for n in bits_of(mask)])
        )
        object.__setattr__(self, "weight_of", weights)
        object.__setattr__(self, "access_of", minutes)

    @property
    def alike(self) -> list[int]:
        """The circuits that each fault need not be told from."""
        return [
            group | (self.sound if self.harmless >> fault & 1 else 0)
            for fault, group in enumerate(self.group_of)
        ]


class Left:
    """What is left unproved, and what was found of it, by the places open.

    Attributes
    ----------
    mask : int
        The candidates, and the sound circuit until something abnormal was seen.
    before : int
        What a test has left these of, by its circuits; 0 where nothing was before.
        No more than these: two that hold each other would outlive their plan.
    floors : dict of int to float
        Costs that no plan can go below.
    found : dict of int to float
        Least costs.
    choices : dict of int to list
        What may come next, as a heap: the lowest floor first.
    ways : sequence, or None before anybody asked
    tests : sequence, or None before anybody asked
        Those that help, with all that they may leave.
    splits : sequence, or None before anybody asked
        Those worth their minutes, with what they leave unproved.
    """

    # Written out: many are made, and a generated one takes twice as long.
    __slots__ = (
        "before",
        "choices",
        "floors",
        "found",
        "mask",
        "splits",
        "tests",
        "ways",
    )

    def __init__(self, mask: int, before: int) -> None:
        self.mask, self.before = mask, before
        self.floors: dict[int, float] = {}
        self.found: dict[int, float] = {}
        self.choices: dict[int, list[Choice]] = {}
        self.ways: Sequence[Any] | None = None
        self.tests: Sequence[Test] = ()
        self.splits: Sequence[Split] | None = None


def bits_of(mask: int) -> Iterator[int]:
    """Give the numbers of the bits that are set, the lowest first.

    Examples
    --------
    >>> list(bits_of(0b1101))
    [0, 2, 3]
    """
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
