"""The search for the least expected minutes, over states of the search for a cause.

A state is what is left of the candidates, which places are open, and whether an
abnormal reading was seen; candidates and places are bit masks. All costs in here are
weighted: minutes times the weight of the candidates that they are spent on, so that the
costs of what a test may leave add up.

References
----------
A. Martelli and U. Montanari, "Optimizing decision trees through heuristically guided
search", Communications of the ACM 21(12), 1978: best first with floors (from memory).

R. E. Korf, "Linear-space best-first search", Artificial Intelligence 62(1), 1993: each
choice is followed as far as the floor of the next best one (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heapify, heapreplace
from typing import Protocol, TypeVar

_Asked = TypeVar("_Asked", bound=Hashable)
_Worked = TypeVar("_Worked")

# Candidates left, places open, and whether an abnormal reading was seen.
State = tuple[int, int, bool]
# What a test takes, in minutes and places, and the others that it tells one from.
Telling = tuple[float, int, int]
# What a test may show: the candidates that show it, and whether it is abnormal.
Shown = tuple[int, bool]
# A test that tells something: a floor under its cost, its own cost, and what it leaves
# unproved.
_Choice = tuple[float, float, tuple[State, ...]]

# How far beyond the floor of the next best choice one is followed: the nearer, the
# fewer states are looked at, and the more often the search turns from one to another.
_STRIDE = 1.02


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
        What each test may show.
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
    shown: tuple[tuple[Shown, ...], ...]
    group_of: tuple[int, ...]
    harmless: int
    trial_cost: Mapping[int, float]
    weight_of: Mapping[int, float] = field(init=False)
    access_of: Mapping[int, float] = field(init=False)

    def __post_init__(self) -> None:
        """Add up weights and minutes where they are asked for."""
        weight, access = self.weight, self.access
        weights: Kept[int, float] = Kept(
            lambda mask: math.fsum([weight[n] for n in bits_of(mask)])
        )
        minutes: Kept[int, float] = Kept(
            lambda mask: math.fsum([access[n] for n in bits_of(mask)])
        )
        object.__setattr__(self, "weight_of", weights)
        object.__setattr__(self, "access_of", minutes)

    def told(self) -> list[list[Telling]]:
        """Tell what tests tell of each candidate; a sound circuit is one more other."""
        everyone, sound = (1 << len(self.weight)) - 1, 1 << len(self.weight)
        told: list[list[Telling]] = [[] for _ in self.weight]
        tests = zip(self.reading, self.needs, self.shown, strict=True)
        for minutes, places, shown in tests:
            for same, is_abnormal in shown:
                apart = everyone & ~same
                for fault in bits_of(same if apart or is_abnormal else 0):
                    others = apart & ~self.group_of[fault]
                    if is_abnormal and not self.harmless >> fault & 1:
                        others |= sound
                    if others:
                        told[fault].append((minutes, places, others))
        return told


class Floors(Protocol):
    """What no plan can take less than."""

    def under(self, state: State) -> float:
        """Tell a floor under the cost of a state, nothing where nothing helps."""

    def under_choices(self, state: State) -> Callable[[float], float]:
        """Tell a floor under the cost of a state by the minutes of its next test."""


@dataclass(slots=True, kw_only=True)
class Search:
    """A task, with what was found of states so far.

    Attributes
    ----------
    floor : Floors
        The higher its floors, the less is searched.
    first : dict of State to int
        The first of the best tests, where somebody has told it.
    """

    task: Task
    floor: Floors
    first: dict[State, int] = field(init=False, default_factory=dict)
    _proved: Kept[tuple[int, bool], bool] = field(init=False)
    _found: dict[State, float] = field(init=False, default_factory=dict)
    _floors: Kept[State, float] = field(init=False)
    _choices: dict[State, tuple[list[_Choice], Sequence[int]]] = field(
        init=False, default_factory=dict
    )
    _best: dict[State, tuple[int, ...]] = field(init=False, default_factory=dict)
    _helping: dict[State, tuple[int, ...]] = field(init=False, default_factory=dict)
    _costs: dict[tuple[State, int], float] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Know nothing of any state yet."""
        self._floors = Kept(self._new_floor)
        self._proved = Kept(lambda where: self.is_proved((where[0], 0, where[1])))

    @property
    def weight_of(self) -> Mapping[int, float]:
        """Weight of each set of candidates."""
        return self.task.weight_of

    def is_settled(self, mask: int) -> bool:
        """Whether one repair cures all candidates of a set."""
        # The repair of the lowest candidate has to cure all the others, too.
        return not mask & ~self.task.group_of[(mask & -mask).bit_length() - 1]

    def is_proved(self, state: State) -> bool:
        """Whether one repair is left, and something that it explains was seen."""
        is_shown = state[2] or not state[0] & ~self.task.harmless
        return is_shown and self.is_settled(state[0])

    def minutes(self, state: State, test: int) -> float:
        """What a test takes, with the way to the places that are not open yet."""
        task = self.task
        return task.reading[test] + task.access_of[task.needs[test] & ~state[1]]

    def after(self, state: State, test: int) -> list[State]:
        """States that a test may leave."""
        left, opened, has_seen = state
        opened |= self.task.needs[test]
        return [
            (part, opened, has_seen or is_abnormal)
            for one, is_abnormal in self.task.shown[test]
            if (part := left & one)
        ]

    def least(self, state: State) -> float:
        """Find the least cost of a state."""
        # A floor of nothing is the least cost itself.
        if self._floors[state] and state not in self._found:
            self._search(state, self._every, math.inf)
        return self._found[state]

    def helping(self, state: State) -> tuple[int, ...]:
        """Find the tests that help in a state, in their order, and keep them."""
        if state not in self._helping:
            self._helping[state] = tuple(
                [n for n in self._every if _helps(state, self.after(state, n))]
            )
        return self._helping[state]

    def cost_of(self, state: State, test: int) -> float:
        """Find the cost where this test comes next, and the plan then; keep it."""
        if (state, test) not in self._costs:
            after = sum([self.least(part) for part in self.after(state, test)])
            own = self.minutes(state, test) * self.weight_of[state[0]]
            self._costs[state, test] = own + after
        return self._costs[state, test]

    def best_tests(self, state: State, slack: float) -> tuple[int, ...]:
        """Find all tests that the plan may go on with, up to some expected minutes.

        Whole classes go the same ways, so that what was found is kept.
        """
        if state not in self._best:
            limit = self.least(state) + slack * self.weight_of[state[0]]
            tests = () if self.is_proved(state) else self.helping(state)
            self._best[state] = tuple(
                test
                for test in tests
                if self._is_below(state, test, self.minutes(state, test), limit)
            )
        return self._best[state]

    def first_test(self, state: State, slack: float) -> int | None:
        """Find the first of `best_tests`; None where there is none."""
        if state in self.first:
            return self.first[state]
        return next(iter(self.best_tests(state, slack)), None)

    def recall(self, state: State, least: float) -> None:
        """Take over the least cost of a state from an earlier search."""
        self._found[state] = self._floors[state] = least

    def leaves_most(self, state: State, test: int, slack: float) -> bool:
        """Whether no test that helps leaves a cost above that which this one leaves."""
        own = sum([self.least(part) for part in self.after(state, test)])
        limit = own + slack * self.weight_of[state[0]]
        behind = {n: self.after(state, n) for n in self.helping(state)}
        # The highest floor first: one that leaves more is soon found.
        tests = sorted(
            behind,
            key=lambda n: sum([self._floors[part] for part in behind[n]]),
            reverse=True,
        )
        return all(self._is_below(state, n, 0.0, limit) for n in tests)

    def _is_below(self, state: State, test: int, minutes: float, limit: float) -> bool:
        own, after = minutes * self.weight_of[state[0]], self.after(state, test)
        return self._follow(own, after, self._every, limit) < limit

    def trials(self, mask: int) -> list[int]:
        """Repairs of a set, by their groups, in the best order of trying them.

        In the order of cost over probability, whatever the minutes of the right
        repair: they are spent in every order.
        """
        cost, weight = self.task.trial_cost, self.weight_of
        groups = {self.task.group_of[i] for i in bits_of(mask)}
        return sorted(groups, key=lambda g: (cost[g] / weight[mask & g], g))

    def _trial_cost(self, mask: int) -> float:
        # The last repair cures for sure: nobody loses its minutes.
        left, total = self.weight_of[mask], 0.0
        for group in self.trials(mask)[:-1]:
            left -= self.weight_of[mask & group]
            total += self.task.trial_cost[group] * left
        return total

    @property
    def _every(self) -> Sequence[int]:
        return range(len(self.task.reading))

    def _new_floor(self, state: State) -> float:
        floor = self.floor.under(state)
        if not floor:
            ended = self.is_proved(state)
            floor = self._found[state] = 0.0 if ended else self._trial_cost(state[0])
        return floor

    def _search(self, state: State, tests: Sequence[int], limit: float) -> None:
        """Find the least cost of a state, or raise its floor to a limit it reaches.

        The choice with the lowest floor is followed as long as it has the lowest, and
        what was found of all of them is kept until the search comes back.
        """
        if state not in self._choices:
            self._choices[state] = self._new_choices(state, tests)
        choices, tests = self._choices[state]
        floors, found = self._floors, self._found
        while choices[0][0] < limit:
            least, own, after = choices[0]
            # The first floor was told from the minutes of the test alone.
            floor = own + sum([floors[part] for part in after])
            if floor <= least:
                if all(part in found for part in after):
                    # No other can cost less than its floor.
                    found[state] = floors[state] = floor
                    return
                rival = min(choices[1:3], default=(math.inf,))[0]
                floor = self._follow(own, after, tests, min(limit, _STRIDE * rival))
            heapreplace(choices, (floor, own, after))
        floors[state] = max(floors[state], choices[0][0])

    def _new_choices(
        self, state: State, tests: Sequence[int]
    ) -> tuple[list[_Choice], Sequence[int]]:
        """Sort what may come next into a heap by floors, beside the tests that help.

        What helps in no state helps in none of those that it may lead to; and of tests
        that leave the same states only the quickest can be worth its minutes.
        """
        helping: list[int] = []
        quickest: dict[tuple[State, ...], float] = {}
        for test in tests:
            after = self.after(state, test)
            if _helps(state, after):
                helping.append(test)
                unproved = tuple([p for p in after if not self._proved[p[0], p[2]]])
                minutes = self.minutes(state, test)
                quickest[unproved] = min(minutes, quickest.get(unproved, math.inf))
        weight, under = self.weight_of[state[0]], self.floor.under_choices(state)
        choices = [(under(own), weight * own, after) for after, own in quickest.items()]
        heapify(choices)
        return choices, helping

    def _follow(
        self, own: float, after: Sequence[State], tests: Sequence[int], limit: float
    ) -> float:
        """Cost of a choice where it lies below a limit, else a floor from there on."""
        # The dearest part first: it is the likeliest to go past the limit.
        parts = sorted([(self._floors[part], part) for part in after], reverse=True)
        total = own + sum([floor for floor, _ in parts])
        for floor, state in parts:
            if total >= limit:
                return total
            if state not in self._found:
                # Past what this part may cost its exact cost decides nothing.
                self._search(state, tests, limit - (total - floor))
            if state not in self._found:
                return max(limit, total + self._floors[state] - floor)
            total += self._found[state] - floor
        # The same sum whatever the floors were.
        return own + sum([self._found[part] for part in after])


def _helps(state: State, after: Sequence[State]) -> bool:
    return len(after) > 1 or after[0][2] != state[2]


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
