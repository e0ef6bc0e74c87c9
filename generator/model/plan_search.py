"""The search for the least expected minutes, over states of the search for a cause.

A state is what is left of the candidates, which places are open, and whether an
abnormal reading was seen; candidates and places are bit masks. Within the search a
sound circuit is one more that is left until something abnormal was seen, so that what
is left and the places are all of a state. All costs in here are weighted: minutes times
the weight of the candidates that they are spent on, so that the costs of what a test
may leave add up.

References
----------
A. Martelli and U. Montanari, "Optimizing decision trees through heuristically guided
search", Communications of the ACM 21(12), 1978: best first with floors (from memory).

R. E. Korf, "Linear-space best-first search", Artificial Intelligence 62(1), 1993: each
choice is followed as far as the floor of the next best one (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heapify, heapreplace
from typing import Any, Protocol

from generator.model.plan_task import Choice, Left, Split, Task, Test, bits_of

# Candidates left, places open, and whether an abnormal reading was seen.
State = tuple[int, int, bool]
# How far beyond the floor of the next best choice one is followed: the nearer, the
# fewer states are looked at, and the more often the search turns from one to another.
_STRIDE = 1.01


class Floors(Protocol):
    """What no plan can take less than."""

    def ways(
        self, left: int, more: int = ..., ways: Sequence[Any] | None = ...
    ) -> Sequence[Any]:
        """Find what each circuit left may take: from what is known of more of them."""

    def under(self, ways: Sequence[Any], opened: int) -> float:
        """Tell a floor under the cost where some places are open."""


@dataclass(slots=True, kw_only=True)
class Search:
    """A task, with what was found of states so far.

    Attributes
    ----------
    tests : sequence of Test
        Those that a plan may need.
    floor : Floors
        The higher it is, the less is searched.
    first : dict of State to int
        The first of the best tests, where somebody has told it.
    """

    task: Task
    tests: Sequence[Test]
    floor: Floors
    first: dict[State, int] = field(init=False, default_factory=dict)
    # What was found so far makes no search another; by the circuits that are left,
    # None where their cause is proved.
    _lefts: dict[int, Left | None] = field(
        init=False, default_factory=dict, compare=False
    )
    _best: dict[State, tuple[int, ...]] = field(
        init=False, default_factory=dict, compare=False
    )
    _helping: dict[State, tuple[int, ...]] = field(
        init=False, default_factory=dict, compare=False
    )
    _costs: dict[tuple[State, int], float] = field(
        init=False, default_factory=dict, compare=False
    )

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
        return self._is_over(self._circuits(state))

    def minutes(self, state: State, test: int) -> float:
        """What a test takes, with the way to the places that are not open yet."""
        task = self.task
        return task.reading[test] + task.access_of[task.needs[test] & ~state[1]]

    def after(self, state: State, test: int) -> list[State]:
        """States that a test may leave."""
        sound, opened = self.task.sound, state[1] | self.task.needs[test]
        return [
            (part & ~sound, opened, not part & sound)
            for part in self._parts(self._circuits(state), test)
            if part != sound
        ]

    def least(self, state: State) -> float:
        """Find the least cost of a state."""
        left, opened = self._left(self._circuits(state)), state[1]
        if left is None:
            return 0.0
        self._look_at(left, opened)
        if opened not in left.found:
            self._search(left, opened, math.inf)
        return left.found[opened]

    def helping(self, state: State) -> tuple[int, ...]:
        """Find the tests that help in a state, in their order, and keep them."""
        if state not in self._helping:
            circuits, every = self._circuits(state), range(len(self.task.reading))
            self._helping[state] = tuple(
                [n for n in every if len(self._parts(circuits, n)) > 1]
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
        if left := self._left(self._circuits(state)):
            left.found[state[1]] = left.floors[state[1]] = least

    def _is_below(self, state: State, test: int, minutes: float, limit: float) -> bool:
        own, (parts, opened) = (
            minutes * self.weight_of[state[0]],
            self._behind(state, test),
        )
        floor = own + self._floor(parts, opened)
        return self._follow(own, floor, parts, opened, limit) < limit

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

    def _circuits(self, state: State) -> int:
        """All circuits that fit what was seen, the sound one among them."""
        return state[0] if state[2] else state[0] | self.task.sound

    def _parts(self, circuits: int, test: int) -> list[int]:
        return [part for one in self.task.shown[test] if (part := circuits & one)]

    def _behind(self, state: State, test: int) -> tuple[list[Left], int]:
        """What a test leaves unproved, and the places open then."""
        parts = map(self._left, self._parts(self._circuits(state), test))
        return [part for part in parts if part], state[1] | self.task.needs[test]

    def _is_over(self, circuits: int) -> bool:
        task = self.task
        candidates = circuits & ~task.sound
        if candidates != circuits and candidates & ~task.harmless:
            return False
        return not candidates or self.is_settled(candidates)

    def _left(self, circuits: int, before: int = 0) -> Left | None:
        if circuits not in self._lefts:
            is_over = self._is_over(circuits)
            self._lefts[circuits] = None if is_over else Left(circuits, before)
        return self._lefts[circuits]

    def _floor(self, parts: Sequence[Left], opened: int) -> float:
        floor = 0.0
        for part in parts:
            # Most are known: asked of the dictionary itself they cost no call.
            known = part.floors
            floor += known[opened] if opened in known else self._look_at(part, opened)
        return floor

    def _look_at(self, left: Left, opened: int) -> float:
        """Tell the floor under what is left; where no test helps, its cost is found."""
        if opened not in left.floors:
            if left.ways is None:
                more = self._lefts.get(left.before)
                known = (more.mask, more.ways) if more and more.ways else ()
                left.ways = self.floor.ways(left.mask, *known)
            left.floors[opened] = self.floor.under(left.ways, opened)
            if not left.ways:
                cost = self._trial_cost(left.mask & ~self.task.sound)
                left.floors[opened] = left.found[opened] = cost
        return left.floors[opened]

    def _search(self, left: Left, opened: int, limit: float) -> None:
        """Find the least cost of a state, or raise its floor to a limit it reaches.

        The choice with the lowest floor is followed as long as it has the lowest, and
        what was found of all of them is kept until the search comes back.
        """
        if opened not in left.choices:
            if self._raised(left, opened) >= limit:
                return
            left.choices[opened] = self._new_choices(left, opened, limit)
        choices = left.choices[opened]
        while choices[0][0] < limit:
            least, own, number, reached, parts = choices[0]
            # It may hang on the minutes of the test alone, or parts have risen since.
            floor = own + self._floor(parts, reached)
            if floor <= least:
                if not [part for part in parts if reached not in part.found]:
                    # All is found, and no other can cost less than its floor.
                    left.found[opened] = left.floors[opened] = floor
                    return
                upto = limit
                for rival in choices[1:3]:
                    upto = min(upto, _STRIDE * rival[0])
                floor = self._follow(own, floor, parts, reached, upto)
            heapreplace(choices, (floor, own, number, reached, parts))
        left.floors[opened] = max(left.floors[opened], choices[0][0])

    def _raised(self, left: Left, opened: int) -> float:
        """Raise a floor by what the same candidates take from other places.

        From there the places that are open here could be opened first.
        """
        weight, access_of = self.weight_of[left.mask], self.task.access_of
        for at in left.choices:
            floor = left.floors[at] - weight * access_of[opened & ~at]
            if floor > left.floors[opened]:
                left.floors[opened] = floor
        return left.floors[opened]

    def _new_choices(self, left: Left, opened: int, limit: float) -> list[Choice]:
        """Put what may come next into a heap, by floors.

        One that goes past the limit by its own minutes needs no better floor yet.
        """
        if left.splits is None:
            self._split(left)
        weight, access_of = self.weight_of[left.mask], self.task.access_of
        choices: list[Choice] = []
        for minutes, places, parts in left.splits or ():
            own = weight * (minutes + access_of[places & ~opened])
            floor, reached = own, opened | places
            if own < limit:
                floor += self._floor(parts, reached)
            choices.append((floor, own, len(choices), reached, parts))
        heapify(choices)
        return choices

    def _split(self, left: Left) -> None:
        """Find what tests leave.

        What does not help before helps in nothing that is left; and of tests that leave
        the same only those can be worth their minutes to which no quicker one is near.
        """
        mask, lefts, access_of = left.mask, self._lefts, self.task.access_of
        helping: list[Test] = []
        splits: list[Split] = []
        leaving: dict[tuple[int, ...], list[tuple[float, int]]] = {}
        before = self._lefts.get(left.before)
        for minutes, places, shown in before.tests if before else self.tests:
            after = tuple([part for one in shown if (part := mask & one)])
            if len(after) < 2:
                continue
            # The first is the quickest: tests are in the order of their minutes.
            quicker = leaving.setdefault(after, [])
            for own, at in quicker:
                if own + access_of[at & ~places] <= minutes:
                    break
            else:
                quicker.append((minutes, places))
                helping.append((minutes, places, after))
                parts: list[Left] = []
                for each in after:
                    # Most are known: asked of the dictionary itself they cost no call.
                    unproved = lefts[each] if each in lefts else self._left(each, mask)
                    if unproved:
                        parts.append(unproved)
                splits.append((minutes, places, parts))
        left.tests, left.splits = helping, splits

    def _follow(
        self,
        own: float,
        total: float,
        parts: Sequence[Left],
        opened: int,
        limit: float,
    ) -> float:
        """Cost of a choice where it lies below a limit, else a floor from there on.

        So far its floor, from its own cost and those of its parts, is the total.
        """
        for part in parts:
            if total >= limit:
                return total
            floor = part.floors[opened]
            if opened not in part.found:
                # Past what this part may cost its exact cost decides nothing.
                self._search(part, opened, limit - (total - floor))
            if opened not in part.found:
                return max(limit, total + part.floors[opened] - floor)
            total += part.found[opened] - floor
        # The same sum whatever the floors were.
        return own + sum([part.found[opened] for part in parts])
