"""The least that each candidate's own way to its proof takes: a floor under all plans.

Along its branch of a plan a candidate meets tests that together tell it from every
other that needs another repair, one of which shows it as abnormal. Which tests stand on
that branch is for all candidates together to decide; the quickest tests that are enough
for one of them are a floor, whatever is open. To find them is to cover a set, with
places that are paid once, and a small task: few tests tell a candidate from those that
are hard to tell from it, and these tell it from most of the others, too.

References
----------
R. M. Karp, "Reducibility among combinatorial problems", in Complexity of Computer
Computations, Plenum, 1972: set covering (from memory).
"""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import accumulate

# Candidates left, places open, and whether an abnormal reading was seen.
_State = tuple[int, int, bool]
# What one test or several take: minutes of the readings, and the places.
_Efforts = tuple[tuple[float, int], ...]
# What a test takes, and the others that it tells a candidate from.
_Telling = tuple[float, int, int]
# Others that the same tests tell from a candidate, all that each of these tests tells,
# and the tests.
_Alike = tuple[int, int, list[_Telling]]

# So many kinds of others are told from a candidate at most, the hardest ones: with more
# the floors rise little, and it takes longer to find them than they save.
_HARDEST = 3


class Floor:
    """Floors under the weighted costs of states.

    Parameters
    ----------
    weight : sequence of float
        One a candidate.
    told : sequence
        For each candidate the tests that tell something of it: minutes at their places,
        places, and the others that they tell it from, as bits. A sound circuit is one
        more that is told, behind the candidates.
    access_of : mapping of int to float
        Minutes to reach each set of places.
    """

    def __init__(
        self,
        weight: Sequence[float],
        told: Iterable[Iterable[_Telling]],
        access_of: Mapping[int, float],
    ) -> None:
        self._sound, self._access_of = 1 << len(weight), access_of
        ways = [_Ways(each, access_of) for each in told]
        self._candidates = list(zip(weight, ways, strict=True))
        self._efforts: dict[tuple[int, bool], list[tuple[_Efforts, float]]] = {}

    def under(self, state: _State) -> float:
        """Add up what every candidate takes at least, from a state on.

        Nothing has to be done, or can be, exactly where that is nothing.
        """
        return sum([weight * least for least, weight in self._leasts(state)])

    def under_choices(self, state: _State) -> Callable[[float], float]:
        """Tell what all candidates take at least, by the minutes of the next test.

        Every one goes through that, whatever its own way would be; one that has no way
        to go counts for nothing.
        """
        leasts = sorted(self._leasts(state))
        weights = [0.0, *accumulate(weight for _, weight in leasts)]
        costs = [0.0, *accumulate(least * weight for least, weight in leasts)]

        def under(minutes: float) -> float:
            quicker = bisect(leasts, (minutes,))
            return minutes * weights[quicker] + costs[-1] - costs[quicker]

        return under

    def _leasts(self, state: _State) -> list[tuple[float, float]]:
        """Least minutes of the candidates that have a way to go, with their weight."""
        left, opened, has_seen = state
        closed, access_of = ~opened, self._access_of
        if (left, has_seen) not in self._efforts:
            self._efforts[left, has_seen] = self._new_efforts(left, has_seen)
        leasts = []
        for efforts, weight in self._efforts[left, has_seen]:
            least = math.inf
            for own, at in efforts:
                minutes = own + access_of[at & closed]
                if minutes < least:
                    least = minutes
            leasts.append((least, weight))
        return leasts

    def _new_efforts(self, left: int, has_seen: bool) -> list[tuple[_Efforts, float]]:
        """Find what each candidate may take on its way, with its weight."""
        untold = left if has_seen else left | self._sound
        efforts = [
            (ways.telling_from(untold), weight)
            for n, (weight, ways) in enumerate(self._candidates)
            if left >> n & 1
        ]
        return [each for each in efforts if each[0]]


class _Ways:
    """The tests that tell one candidate from others, and which of them are enough."""

    def __init__(
        self, told: Iterable[_Telling], access_of: Mapping[int, float]
    ) -> None:
        self._access_of = access_of
        self._hardest = _hardest_first(_worthwhile(told, access_of))
        self._tellable = sum([alike for alike, _, _ in self._hardest])
        self._enough: dict[int, _Efforts] = {}

    def telling_from(self, untold: int) -> _Efforts:
        """Find what may tell the candidate from others, nothing where no test does."""
        hard, kinds, untold = 0, 0, untold & self._tellable
        for alike, told_too, _ in self._hardest:
            if not untold or kinds == _HARDEST:
                break
            if untold & alike:
                hard, kinds = hard | alike, kinds + 1
                untold &= ~told_too
        if hard not in self._enough:
            self._enough[hard] = self._new_enough(hard)
        return self._enough[hard]

    def _new_enough(self, hard: int) -> _Efforts:
        if not hard:
            return ()
        first = next(tests for alike, _, tests in self._hardest if alike & hard)
        sets = [
            (minutes + own, places | at, 0)
            for minutes, places, others in first
            for own, at in self.telling_from(hard & ~others) or ((0.0, 0),)
        ]
        return tuple([each[:2] for each in _worthwhile(sets, self._access_of)])


def _worthwhile(
    tests: Iterable[_Telling], access_of: Mapping[int, float]
) -> list[_Telling]:
    """Leave out each test that another makes needless.

    That one tells as much, and its readings, with those of its places where the test
    does not go, take no longer. So it takes no longer from anywhere: what the test
    opens besides can still be opened where it is needed.
    """
    kept: list[_Telling] = []
    for minutes, places, others in sorted(tests):
        for own, at, more in kept:
            if not others & ~more and own + access_of[at & ~places] <= minutes:
                break
        else:
            kept.append((minutes, places, others))
    return kept


def _hardest_first(tests: Iterable[_Telling]) -> list[_Alike]:
    """Sort others by the tests that tell them from a candidate, the fewest first."""
    by_others: dict[int, list[_Telling]] = {}
    for test in tests:
        by_others.setdefault(test[2], []).append(test)
    every: list[_Alike] = [(-1, -1, [])]
    for others, own in by_others.items():
        parts: list[_Alike] = []
        for alike, told_too, before in every:
            if alike & others:
                parts.append((alike & others, told_too & others, before + own))
            if alike & ~others:
                parts.append((alike & ~others, told_too, before))
        every = parts
    return sorted([each for each in every if each[2]], key=lambda each: len(each[2]))
