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

from collections.abc import Iterable, Mapping, Sequence

from generator.model.plan_task import bits_of

# What a test takes, in minutes and places, and what may be left by it.
_Test = tuple[float, int, Sequence[int]]
# What one test or several take: minutes of the readings, and the places.
_Effort = tuple[float, int]
# What a test takes, and the others that it tells a candidate from.
_Telling = tuple[float, int, int]
# A candidate as a bit, its weight, what it may take on its way, all places of that, and
# the others that it is enough for.
Way = tuple[int, float, "Efforts", int, int]
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
    tests : sequence
        Minutes at their places, places, and the circuits that may be left, as bits: the
        candidates, and the sound circuit behind them.
    weight : sequence of float
        One a candidate.
    alike : sequence of int
        The circuits that each candidate need not be told from.
    access_of : mapping of int to float
        Minutes to reach each set of places.
    """

    def __init__(
        self,
        tests: Sequence[_Test],
        weight: Sequence[float],
        alike: Sequence[int],
        access_of: Mapping[int, float],
    ) -> None:
        self._candidates = {
            1 << number: _Ways(each, access_of)
            for number, each in enumerate(_told(tests, alike))
        }
        # As if all others were left.
        every = [ways.telling_from(-1) for ways in self._candidates.values()]
        self._every = [
            (bit, own, efforts, efforts.places, efforts.hard)
            for bit, own, efforts in zip(self._candidates, weight, every, strict=True)
        ]

    def ways(
        self, left: int, more: int = -1, ways: Sequence[Way] | None = None
    ) -> Sequence[Way]:
        """Find what each of some candidates may take on its way.

        Parameters
        ----------
        left : int
            The candidates, as bits, and the sound circuit where it is left.
        more : int
            What these are left of, with its ``ways``: most of them stay as they are.

        Returns
        -------
        sequence of Way
            None of a candidate that has no way to go: nothing is left to be told from
            it, or no test tells it.
        """
        ruled_out, earlier = more & ~left, self._every if ways is None else ways
        found = []
        for way in earlier:
            bit, weight, efforts, _, hard = way
            if bit & left:
                if hard & ruled_out:
                    efforts = self._candidates[bit].telling_from(left)
                    hard = efforts.hard
                    way = bit, weight, efforts, efforts.places, hard
                if hard:
                    found.append(way)
        return found

    @staticmethod
    def under(ways: Sequence[Way], opened: int) -> float:
        """Add up what candidates take at least where some places are open, weighted."""
        # Other places change nothing, and what is known is known for all of them.
        return sum([own * efforts[opened & at] for _, own, efforts, at, _ in ways])


class Efforts(dict[int, float]):
    """Least minutes of a candidate's way, by the places open.

    Attributes
    ----------
    sets : sequence
        What may be enough: minutes of the readings, and the places.
    hard : int
        The others, as bits, that it is enough for: those hard to tell.
    places : int
        All places of any of these.
    """

    __slots__ = ("_access_of", "hard", "places", "sets")

    def __init__(
        self, sets: Sequence[_Effort], hard: int, access_of: Mapping[int, float]
    ) -> None:
        self.sets, self.hard, self._access_of = sets, hard, access_of
        self.places = 0
        for _, at in sets:
            self.places |= at

    def __missing__(self, opened: int) -> float:
        closed, access_of = ~opened, self._access_of
        least = min([own + access_of[at & closed] for own, at in self.sets])
        self[opened] = least
        return least


def worthwhile(tests: Iterable[_Test], access_of: Mapping[int, float]) -> list[_Test]:
    """Leave out each test that tells nothing, or that another makes needless.

    That one tells as much or more, and its reading, with those of its places where the
    test does not go, takes no longer. So no plan is better with the test: what it opens
    besides can still be opened where it is needed.
    """
    kept: list[_Test] = []
    for test in sorted(tests, key=lambda each: (each[0], -len(each[2]))):
        minutes, places, shown = test
        needless = len(shown) == 1 or any(
            own + access_of[at & ~places] <= minutes and _splits(finer, shown)
            for own, at, finer in kept
        )
        if not needless:
            kept.append(test)
    return kept


def _splits(finer: Sequence[int], shown: Sequence[int]) -> bool:
    """Whether all that one test may leave lies within what another may leave."""
    return all(not part & ~next(one for one in shown if part & one) for part in finer)


def _told(tests: Iterable[_Test], alike: Sequence[int]) -> list[list[_Telling]]:
    """Tell for each candidate from which others tests tell it."""
    told: list[list[_Telling]] = [[] for _ in alike]
    candidates = (1 << len(alike)) - 1
    for minutes, places, shown in tests:
        every = sum(shown)
        for same in shown:
            rest = every & ~same
            for number in bits_of(same & candidates):
                if others := rest & ~alike[number]:
                    told[number].append((minutes, places, others))
    return told


class _Ways:
    """The tests that tell one candidate from others, and which of them are enough."""

    def __init__(
        self, told: Iterable[_Telling], access_of: Mapping[int, float]
    ) -> None:
        self._access_of = access_of
        self._hardest = _hardest_first(_worthwhile(told, access_of))
        self._tellable = sum([alike for alike, _, _ in self._hardest])
        self._enough: dict[int, Efforts] = {}

    def telling_from(self, untold: int) -> Efforts:
        """Find what may tell the candidate from others, nothing where no test does."""
        hard, kinds, untold = 0, 0, untold & self._tellable
        for alike, told_too, _ in self._hardest:
            if untold & alike:
                hard, kinds = hard | alike, kinds + 1
                untold &= ~told_too
                if not untold or kinds == _HARDEST:
                    break
        return self._enough_for(hard)

    def _enough_for(self, hard: int) -> Efforts:
        if hard not in self._enough:
            self._enough[hard] = self._new_enough(hard)
        return self._enough[hard]

    def _new_enough(self, hard: int) -> Efforts:
        if not hard:
            return Efforts((), hard, self._access_of)
        first = next(tests for alike, _, tests in self._hardest if alike & hard)
        sets = [
            (minutes + own, places | at, 0)
            for minutes, places, others in first
            # Whoever is told by the same tests is told at once: whole kinds are left.
            for own, at in self._enough_for(hard & ~others).sets or ((0.0, 0),)
        ]
        enough = [each[:2] for each in _worthwhile(sets, self._access_of)]
        return Efforts(enough, hard, self._access_of)


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
    kinds = list(by_others.items())
    # All others by the kinds of tests that tell them, as bits.
    alike: dict[int, int] = {0: -1}
    for number, (others, _) in enumerate(kinds):
        split: dict[int, int] = {}
        for by, same in alike.items():
            if told := same & others:
                split[by | 1 << number] = told
            if untold := same & ~others:
                split[by] = untold
        alike = split
    del alike[0]  # which no test tells
    found: list[_Alike] = []
    for by, same in alike.items():
        told_too, own = -1, []
        for number in bits_of(by):
            others, each = kinds[number]
            told_too &= others
            own += each
        found.append((same, told_too, own))
    return sorted(found, key=lambda each: len(each[2]))
