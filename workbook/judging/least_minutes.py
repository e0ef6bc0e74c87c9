"""The least expected minutes to a proved cause, found by trying tests in turn; pure.

What is left of the causes and which places are open are bit masks. Only one floor cuts
the search, so that it is small and still quick in a browser; it also checks the plan
that graded work is judged by.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from operator import itemgetter

# Causes left, places open, whether an abnormal reading was seen.
State = tuple[int, int, bool]
# Minutes, and the causes of other repairs that no quicker test tells from one.
Telling = tuple[float, int]


@dataclass(slots=True, kw_only=True)
class Search:
    """A table of causes and tests, with the minutes that were found.

    Parameters
    ----------
    priors : sequence of float
        One a cause, at any scale.
    repairs : sequence of int
        The number of each cause's repair.
    trial_min : mapping of int to float
        Minutes lost on each repair where it is the wrong one.
    harmless : int
        Causes that show nothing abnormal.
    tests : sequence of Test
    reach_min : sequence of float
        Minutes to reach each place, once.
    """

    priors: Sequence[float]
    repairs: Sequence[int]
    trial_min: Mapping[int, float]
    harmless: int
    tests: Sequence[Test]
    reach_min: Sequence[float]
    _found: dict[State, float] = field(init=False, default_factory=dict)
    _floors: dict[tuple[int, int], float] = field(init=False, default_factory=dict)
    _telling: dict[int, list[list[Telling]]] = field(init=False, default_factory=dict)
    _reaching: dict[int, float] = field(init=False, default_factory=dict)

    def weight(self, left: int) -> float:
        """How likely some causes are together, at the scale of the priors."""
        return math.fsum(self.priors[n] for n in bits_of(left))

    def minutes(self, state: State, test: Test) -> float:
        """What a test takes, with the way to the places that are not open yet."""
        new = test.needs & ~state[1]
        if new not in self._reaching:
            self._reaching[new] = sum(self.reach_min[n] for n in bits_of(new))
        return test.reading_min + self._reaching[new]

    def after(self, state: State, test: Test) -> list[State]:
        """What a test may leave."""
        left, opened, has_seen = state
        return [
            (part, opened | test.needs, has_seen or is_abnormal)
            for causes, is_abnormal in test.shows
            if (part := left & causes)
        ]

    def helps(self, state: State, test: Test) -> bool:
        """Whether a test tells causes apart, or may be the first abnormal reading."""
        after = self.after(state, test)
        return len(after) > 1 or after[0][2] != state[2]

    def is_settled(self, left: int) -> bool:
        """Whether one repair cures all causes left."""
        return len({self.repairs[n] for n in bits_of(left)}) == 1

    def is_proved(self, state: State) -> bool:
        """Whether one repair is left, and something abnormal was seen or nothing is."""
        left, _, has_seen = state
        return self.is_settled(left) and (has_seen or not left & ~self.harmless)

    def expected(self, state: State) -> float:
        """Expected minutes from a state to a proved cause."""
        return self._least(state) / self.weight(state[0])

    def expected_with(self, state: State, test: Test) -> float:
        """Expected minutes where a test comes next, and the best way then."""
        weight = self.weight(state[0])
        rest = sum(self._least(part) for part in self.after(state, test))
        return self.minutes(state, test) + rest / weight

    # Minutes times the weight of the causes left: so those of parts add up to the
    # whole.
    def _least(self, state: State) -> float:
        if state not in self._found:
            self._found[state] = 0.0 if self.is_proved(state) else self._tried(state)
        return self._found[state]

    def _tried(self, state: State) -> float:
        weight, best = self.weight(state[0]), math.inf
        # Of tests that leave the same only the quickest can be worth its minutes.
        costs: dict[tuple[State, ...], float] = {}
        for test in self.tests:
            after = tuple(self.after(state, test))
            if len(after) > 1 or after[0][2] != state[2]:
                cost = self.minutes(state, test) * weight
                costs[after] = min(cost, costs.get(after, math.inf))
        ways = [
            (cost + sum(self._floor(part) for part in after), after)
            for after, cost in costs.items()
        ]
        # The most promising first: what it costs cuts off most of the others.
        for least, after in sorted(ways):
            if least >= best:
                break
            cost = least
            # In any one order, for sums of the same last digit: by size or by weight
            # as many states are tried.
            for part in sorted(after, reverse=True):
                if cost >= best:
                    break
                cost += self._least(part) - self._floor(part)
            best = min(best, cost)
        return best if ways else self._trials(state[0])

    def _floor(self, state: State) -> float:
        """Add up what every cause takes at least, at the scale of the priors.

        Each must be told from the one of another repair that is dearest to tell from
        it: that takes some test's reading and the way to its places.
        """
        left, opened, _ = state
        if (left, opened) not in self._floors:
            if opened not in self._telling:
                self._telling[opened] = self._new_telling(opened)
            telling = self._telling[opened]
            self._floors[left, opened] = sum(
                self.priors[n]
                * next((cost for cost, others in telling[n] if others & left), 0.0)
                for n in bits_of(left)
            )
        return self._floors[left, opened]

    def _new_telling(self, opened: int) -> list[list[Telling]]:
        """Sort for each cause those of other repairs by what telling them takes."""
        costs = [(self.minutes((0, opened, False), test), test) for test in self.tests]
        costs.sort(key=itemgetter(0))
        return [self._told_from(cause, costs) for cause in range(len(self.priors))]

    def _told_from(
        self, cause: int, costs: Iterable[tuple[float, Test]]
    ) -> list[Telling]:
        own, telling = self.repairs[cause], list[Telling]()
        untold = mask_of(n for n, each in enumerate(self.repairs) if each != own)
        for cost, test in costs:
            # What this test shows of the cause, the causes in `alike` show, too.
            alike = next(shown for shown, _ in test.shows if shown >> cause & 1)
            if others := untold & ~alike:
                telling.append((cost, others))
                untold &= alike
        # The dearest first: the floor takes the first of them that is still left.
        return telling[::-1]

    def _trials(self, left: int) -> float:
        """Minutes of wrong repairs, tried in the order of minutes over probability."""
        weights: dict[int, float] = {}
        for n in bits_of(left):
            weights[self.repairs[n]] = weights.get(self.repairs[n], 0) + self.priors[n]
        order = sorted(weights, key=lambda one: self.trial_min[one] / weights[one])
        return sum(
            self.trial_min[wrong] * weights[right]
            for place, right in enumerate(order)
            for wrong in order[:place]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Test:
    """A test: its minutes at its places, and which causes show what.

    ``shows`` has for each outcome the causes that show it, and whether it is abnormal.
    """

    __test__ = False  # not a test of pytest's

    reading_min: float
    needs: int
    shows: tuple[tuple[int, bool], ...]


def mask_of(numbers: Iterable[int]) -> int:
    """Put numbers into a mask."""
    return sum(1 << number for number in numbers)


def bits_of(mask: int) -> Iterator[int]:
    """Give the numbers in a mask.

    Examples
    --------
    >>> list(bits_of(0b1101))
    [0, 2, 3]
    """
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def shown_as(outcomes: Sequence[str], sound: str) -> tuple[tuple[int, bool], ...]:
    """Sort causes by what a test shows under each.

    Examples
    --------
    >>> shown_as(["none", "low", "none"], "expected")
    ((5, True), (2, True))
    """
    return tuple(
        (mask_of(n for n, each in enumerate(outcomes) if each == word), word != sound)
        for word in dict.fromkeys(outcomes)
    )
