"""What decides the search for a plan, as bit masks.

A sound circuit is one more circuit that a test may tell a candidate from: a candidate
is proved only by a reading that departs from that of a sound circuit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

_Asked = TypeVar("_Asked", bound=Hashable)
_Worked = TypeVar("_Worked")

# What a test takes, in minutes and places, and what it may leave.
Test = tuple[float, int, Sequence[int]]
# What a test takes, in minutes and places, and the others that it tells one from.
Telling = tuple[float, int, int]


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

    def worthwhile(self) -> list[Test]:
        """Leave out each test that tells nothing, or that another makes needless.

        That one tells as much or more, and its reading, with those of its places where
        the test does not go, takes no longer. So no plan is better with the test: what
        it opens besides can still be opened where it is needed.
        """
        tests = zip(self.reading, self.needs, self.shown, strict=True)
        kept: list[Test] = []
        for test in sorted(tests, key=lambda each: (each[0], -len(each[2]))):
            minutes, places, shown = test
            needless = len(shown) == 1 or any(
                own + self.access_of[at & ~places] <= minutes and _splits(finer, shown)
                for own, at, finer in kept
            )
            if not needless:
                kept.append(test)
        return kept

    def told(self, tests: Sequence[Test]) -> list[list[Telling]]:
        """Tell what tests tell of each candidate; a sound circuit is one more other."""
        everyone = (1 << len(self.weight)) - 1
        # From these a candidate need not be told.
        alike = [
            group | (self.sound if self.harmless >> fault & 1 else 0)
            for fault, group in enumerate(self.group_of)
        ]
        told: list[list[Telling]] = [[] for _ in self.weight]
        for minutes, places, shown in tests:
            for same in shown:
                apart = (everyone | self.sound) & ~same
                for fault in bits_of(same & everyone):
                    if others := apart & ~alike[fault]:
                        told[fault].append((minutes, places, others))
        return told


def _splits(finer: Sequence[int], shown: Sequence[int]) -> bool:
    """Whether all that one test may leave lies within what another may leave."""
    return all(
        not part & ~next(one for one in shown if part & one) for part in finer
    )


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
