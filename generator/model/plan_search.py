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

from generator.model.plan_floor import Floor, Way
from generator.model.plan_task import Task, Test, bits_of

# Candidates left, places open, and whether an abnormal reading was seen.
State = tuple[int, int, bool]
# A choice: a floor under its cost, its own cost, its number among all, the places open
# after it, and what it leaves unproved.
_Choice = tuple[float, float, int, int, Sequence["Left"]]

# How far beyond the floor of the next best choice one is followed: the nearer, the
# fewer states are looked at, and the more often the search turns from one to another.
_STRIDE = 1.005


@dataclass(slots=True, eq=False)
class Left:
    """What is left unproved, and what was found of it, by the places open.

    Attributes
    ----------
    mask : int
        The candidates, and the sound circuit until something abnormal was seen.
    before : Left or None
        What a test has left these of.
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

    mask: int
    before: Left | None
    floors: dict[int, float] = field(default_factory=dict)
    found: dict[int, float] = field(default_factory=dict)
    choices: dict[int, list[_Choice]] = field(default_factory=dict)
    ways: Sequence[Way] | None = None
    tests: Sequence[Test] = ()
    splits: Sequence[tuple[float, int, Sequence[Left]]] | None = None


@dataclass(slots=True, kw_only=True)
class Search:
    """A task, with what was found of states so far.

    Attributes
    ----------
    tests : sequence of Test
        Those that a plan may need.
    floor : Floor
        The higher it is, the less is searched.
    first : dict of State to int
        The first of the best tests, where somebody has told it.
    """

    task: Task
    tests: Sequence[Test]
    floor: Floor
    first: dict[State, int] = field(init=False, default_factory=dict)
    # By the circuits that are left; None where their cause is proved.
    _lefts: dict[int, Left | None] = field(init=False, default_factory=dict)
    _best: dict[State, tuple[int, ...]] = field(init=False, default_factory=dict)
    _helping: dict[State, tuple[int, ...]] = field(init=False, default_factory=dict)
    _costs: dict[tuple[State, int], float] = field(init=False, default_factory=dict)

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

    def leaves_most(self, state: State, test: int, slack: float) -> bool:
        """Whether no test that helps leaves a cost above that which this one leaves."""
        own = sum([self.least(part) for part in self.after(state, test)])
        limit = own + slack * self.weight_of[state[0]]
        # The highest floor first: one that leaves more is soon found.
        tests = sorted(
            self.helping(state), key=lambda n: self._floor_behind(state, n), reverse=True
        )
        return all(self._is_below(state, n, 0.0, limit) for n in tests)

    def _floor_behind(self, state: State, test: int) -> float:
        parts, opened = self._behind(state, test)
        return sum([self._look_at(part, opened) for part in parts])

    def _is_below(self, state: State, test: int, minutes: float, limit: float) -> bool:
        own = minutes * self.weight_of[state[0]]
        return self._follow(own, *self._behind(state, test), limit) < limit

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

    def _left(self, circuits: int, before: Left | None = None) -> Left | None:
        if circuits not in self._lefts:
            sound = self.task.sound
            candidates, has_seen = circuits & ~sound, not circuits & sound
            is_over = not candidates or self.is_proved((candidates, 0, has_seen))
            self._lefts[circuits] = None if is_over else Left(circuits, before)
        return self._lefts[circuits]

    def _look_at(self, left: Left, opened: int) -> float:
        """Tell the floor under what is left; where no test helps, its cost is found."""
        if opened not in left.floors:
            if left.ways is None:
                left.ways = self._ways(left)
            left.floors[opened] = self.floor.under(left.ways, opened)
            if not left.ways:
                cost = self._trial_cost(left.mask & ~self.task.sound)
                left.floors[opened] = left.found[opened] = cost
        return left.floors[opened]

    def _ways(self, left: Left) -> Sequence[Way]:
        before = left.before
        if before is None or before.ways is None:
            return self.floor.ways(left.mask)
        return self.floor.ways(left.mask, (before.mask, before.ways))

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
            # The first floor was told from the minutes of the test alone.
            floor = own + sum([self._look_at(part, reached) for part in parts])
            if floor <= least:
                if all([reached in part.found for part in parts]):
                    # No other can cost less than its floor.
                    left.found[opened] = left.floors[opened] = floor
                    return
                rival = min(choices[1:3], default=(math.inf,))[0]
                floor = self._follow(own, parts, reached, min(limit, _STRIDE * rival))
            heapreplace(choices, (floor, own, number, reached, parts))
        left.floors[opened] = max(left.floors[opened], choices[0][0])

    def _raised(self, left: Left, opened: int) -> float:
        """Raise a floor by what the same candidates take from other places.

        From there the places that are open here could be opened first.
        """
        weight, access_of = self.weight_of[left.mask], self.task.access_of
        left.floors[opened] = max(
            left.floors[opened],
            *[left.floors[at] - weight * access_of[opened & ~at] for at in left.choices],
            0.0,
        )
        return left.floors[opened]

    def _new_choices(self, left: Left, opened: int, limit: float) -> list[_Choice]:
        """Put what may come next into a heap, by floors.

        One that goes past the limit by its own minutes needs no better floor yet.
        """
        if left.splits is None:
            self._split(left)
        weight, access_of = self.weight_of[left.mask], self.task.access_of
        choices: list[_Choice] = []
        for minutes, places, parts in left.splits or ():
            own = weight * (minutes + access_of[places & ~opened])
            floor, reached = own, opened | places
            if own < limit:
                floor += sum([self._look_at(part, reached) for part in parts])
            choices.append((floor, own, len(choices), reached, parts))
        heapify(choices)
        return choices

    def _split(self, left: Left) -> None:
        """Find what tests leave.

        What does not help before helps in nothing that is left; and of tests that go to
        the same places and leave the same only the quickest can be worth its minutes.
        """
        mask, helping = left.mask, list[Test]()
        quickest: dict[tuple[int, ...], tuple[float, int, Sequence[Left]]] = {}
        for minutes, places, shown in left.before.tests if left.before else self.tests:
            after = [part for one in shown if (part := mask & one)]
            if len(after) > 1:
                helping.append((minutes, places, after))
                parts = [part for each in after if (part := self._left(each, left))]
                alike = (places, *[part.mask for part in parts])
                # In the order of their minutes.
                quickest.setdefault(alike, (minutes, places, parts))
        left.tests, left.splits = helping, list(quickest.values())

    def _follow(
        self, own: float, parts: Sequence[Left], opened: int, limit: float
    ) -> float:
        """Cost of a choice where it lies below a limit, else a floor from there on."""
        total = own + sum([self._look_at(part, opened) for part in parts])
        # The dearest part first: it is the likeliest to go past the limit.
        for part in sorted(parts, key=lambda each: each.floors[opened], reverse=True):
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
