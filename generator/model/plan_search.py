"""The search for the least expected minutes, over states of the search for a cause.

A state is what is left of the candidates, which places are open, and whether an
abnormal reading was seen; candidates and places are bit masks. All costs in here are
weighted: minutes times the weight of the candidates that they are spent on, so that the
costs of what a test may leave add up.

References
----------
A. Martelli and U. Montanari, "Optimizing decision trees through heuristically guided
search", Communications of the ACM 21(12), 1978: best first with floors (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from operator import itemgetter
from typing import TypeVar

_Worked = TypeVar("_Worked")
# Candidates left, places open, and whether an abnormal reading was seen.
State = tuple[int, int, bool]

# What a test may show: the candidates that show it, and whether it is abnormal.
Shown = tuple[int, bool]
# A test that tells something: a floor under its cost, its own cost, and what it leaves.
_Choice = tuple[float, float, list[tuple[float, State]]]


class _Kept(dict[int, _Worked]):
    """Something of each number or set, worked out when it is first asked for."""

    def __init__(self, work_out: Callable[[int], _Worked]) -> None:
        self._work_out = work_out

    def __missing__(self, key: int) -> _Worked:
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
    """

    weight: tuple[float, ...]
    reading: tuple[float, ...]
    needs: tuple[int, ...]
    access: tuple[float, ...]
    shown: tuple[tuple[Shown, ...], ...]
    group_of: tuple[int, ...]
    harmless: int
    trial_cost: Mapping[int, float]


@dataclass(slots=True, kw_only=True)
class Search:
    """A task, with what was found of states so far.

    Attributes
    ----------
    weight_of : mapping of int to float
        Of each set of candidates.
    first : dict of State to int
        The first of the best tests, where somebody has told it.
    """

    task: Task
    weight_of: _Kept[float] = field(init=False)
    first: dict[State, int] = field(init=False, default_factory=dict)
    _access_of: _Kept[float] = field(init=False)
    _found: dict[State, float] = field(init=False, default_factory=dict)
    _floors: dict[State, float] = field(init=False, default_factory=dict)
    _needed_when: _Kept[list[_Needed]] = field(init=False)
    _told: list[list[_Told]] = field(init=False)
    _best: dict[State, tuple[int, ...]] = field(init=False, default_factory=dict)
    _helping: dict[State, tuple[int, ...]] = field(init=False, default_factory=dict)
    _costs: dict[tuple[State, int], float] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Know nothing of any state yet."""
        weight, access = self.task.weight, self.task.access
        self.weight_of = _Kept(lambda mask: math.fsum(weight[n] for n in bits_of(mask)))
        self._access_of = _Kept(lambda mask: sum(access[n] for n in bits_of(mask)))
        faults = range(len(weight))
        self._told = [_told(self.task, fault) for fault in faults]
        self._needed_when = _Kept(
            lambda opened: [self._new_needed(fault, opened) for fault in faults]
        )

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
        return task.reading[test] + self._access_of[task.needs[test] & ~state[1]]

    def after(self, state: State, test: int) -> list[State]:
        """States that a test may leave."""
        left, opened, has_seen = state
        opened |= self.task.needs[test]
        return [
            (part, opened, has_seen or is_abnormal)
            for one, is_abnormal in self.task.shown[test]
            if (part := left & one)
        ]

    def helps(self, state: State, test: int) -> bool:
        """Whether a test tells candidates apart, or may show the first abnormality."""
        return _helps(state, self.after(state, test))

    def least(self, state: State) -> float:
        """Find the least cost of a state."""
        # A floor of nothing is the least cost itself.
        if self._floor(state) and state not in self._found:
            self._search(state, range(len(self.task.reading)), math.inf)
        return self._found[state]

    def helping(self, state: State) -> tuple[int, ...]:
        """Find the tests that help in a state, in their order, and keep them."""
        if state not in self._helping:
            tests = range(len(self.task.reading))
            self._helping[state] = tuple([t for t in tests if self.helps(state, t)])
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
                test for test in tests if self._is_below(state, test, limit)
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
        tests = self.helping(state)
        others = [self._choice(state, 0.0, self.after(state, each)) for each in tests]
        # The highest floor first: one that leaves more is soon found.
        others.sort(key=itemgetter(0), reverse=True)
        return all(self._is_choice_below(each, limit) for each in others)

    def _is_below(self, state: State, test: int, limit: float) -> bool:
        minutes, after = self.minutes(state, test), self.after(state, test)
        return self._is_choice_below(self._choice(state, minutes, after), limit)

    def _is_choice_below(self, choice: _Choice, limit: float) -> bool:
        return self._follow(choice, range(len(self.task.reading)), limit) < limit

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

    def _floor(self, state: State) -> float:
        """Add up what every candidate takes at least, from a state on.

        Each must be told from the one of another repair that is hardest to tell from
        it, and shown by an abnormal reading; that takes the reading and the places of
        some test, whatever else is done. Nothing has to be done, or can be, exactly
        where that is nothing.
        """
        if state in self._floors:
            return self._floors[state]
        floor, needed = 0.0, self._needed_when[state[1]]
        left, _, has_seen = state
        for fault in bits_of(left):
            others, evidence = needed[fault]
            least = 0.0 if has_seen else evidence
            # Dearest first: the first that is left costs most, and no other can cost
            # more.
            for cost, mask in others:
                if mask & left:
                    least = max(least, cost)
                    break
            floor += least
        if not floor:
            ended = self.is_proved(state)
            floor = self._found[state] = 0.0 if ended else self._trial_cost(state[0])
        self._floors[state] = floor
        return floor

    def _new_needed(self, fault: int, opened: int) -> _Needed:
        """Sort the other faults by what telling them from one takes, dearest first."""
        weight, done, evidence = self.task.weight[fault], 0, 0.0
        groups: list[tuple[float, int]] = []
        by_cost = sorted(
            (
                (minutes + self._access_of[needs & ~opened], others, is_abnormal)
                for minutes, needs, others, is_abnormal in self._told[fault]
            ),
            key=itemgetter(0),
        )
        for minutes, others, is_abnormal in by_cost:
            # What a quicker test tells from this fault needs no dearer one.
            if others & ~done:
                groups.append((minutes * weight, others & ~done))
                done |= others
            if is_abnormal and not evidence:
                evidence = minutes * weight
        return groups[::-1], evidence

    def _choice(self, state: State, minutes: float, after: Sequence[State]) -> _Choice:
        own = minutes * self.weight_of[state[0]]
        floors, floor_of = self._floors, self._floor
        parts = [(floors[p] if p in floors else floor_of(p), p) for p in after]
        return own + sum([floor for floor, _ in parts]), own, parts

    def _search(self, state: State, tests: Sequence[int], limit: float) -> None:
        """Find the least cost of a state, or raise its floor to a limit it reaches.

        What helps in no state helps in none of those that it may lead to; and of tests
        that leave the same states only the quickest can be worth its minutes.
        """
        helping: list[int] = []
        quickest: dict[tuple[State, ...], float] = {}
        for test in tests:
            after = tuple(self.after(state, test))
            if _helps(state, after):
                helping.append(test)
                minutes = self.minutes(state, test)
                if minutes < quickest.setdefault(after, minutes):
                    quickest[after] = minutes
        choices = [self._choice(state, own, after) for after, own in quickest.items()]
        best, floor = limit, math.inf
        for choice in sorted(choices, key=itemgetter(0)):
            # Floors only rise from here: no later choice can be better.
            if choice[0] >= best:
                floor = min(floor, choice[0])
                break
            cost = self._follow(choice, helping, best)
            if cost < best:
                best = cost
            else:
                floor = min(floor, cost)
        # Found below the limit it is exact; else only that it is no less is known.
        if best < limit:
            self._found[state] = self._floors[state] = best
        else:
            self._floors[state] = max(self._floors[state], floor)

    def _follow(self, choice: _Choice, tests: Sequence[int], limit: float) -> float:
        """Cost of a choice where it lies below a limit, else a floor from there on."""
        total, _, parts = choice
        # The dearest part first: it is the likeliest to go past the limit.
        for floor, state in sorted(parts, reverse=True):
            if total >= limit:
                return total
            if state not in self._found:
                # Past what this part may cost its exact cost decides nothing.
                self._search(state, tests, limit - (total - floor))
            if state not in self._found:
                return max(limit, total + self._floors[state] - floor)
            total += self._found[state] - floor
        return total


# What telling a fault from others takes: minutes, places, the others of another repair
# that show something else, and whether the fault itself shows something abnormal.
_Told = tuple[float, int, int, bool]
# By cost, dearest first: the others that are told for it; and the least for evidence.
_Needed = tuple[list[tuple[float, int]], float]


def _told(task: Task, fault: int) -> list[_Told]:
    """What tests tell of a fault: of those that tell the same, the quickest."""
    everyone, is_harmless = (1 << len(task.weight)) - 1, task.harmless >> fault & 1
    quickest: dict[tuple[int, int, bool], float] = {}
    for minutes, needs, shown in zip(task.reading, task.needs, task.shown, strict=True):
        same, is_abnormal = next(one for one in shown if one[0] >> fault & 1)
        others = everyone & ~same & ~task.group_of[fault]
        if others or is_abnormal:
            told = needs, others, is_abnormal and not is_harmless
            quickest[told] = min(minutes, quickest.get(told, math.inf))
    return [(minutes, *told) for told, minutes in quickest.items()]


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
