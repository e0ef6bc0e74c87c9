"""The search for the least expected minutes, over sets of candidates as bit masks.

All costs in here are weighted: minutes times the weight of the set that they are spent
on, so that the costs of the parts of a set add up.

References
----------
A. Martelli and U. Montanari, "Optimizing decision trees through heuristically guided
search", Communications of the ACM 21(12), 1978: best first with floors (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


# A test that splits a set: a floor under its cost, the test, its own cost, the parts.
_Choice = tuple[float, int, float, list[int]]


class _Kept(dict[int, float]):
    """A number of each set, worked out when it is first asked for."""

    def __init__(self, work_out: Callable[[int], float]) -> None:
        self._work_out = work_out

    def __missing__(self, mask: int) -> float:
        number = self[mask] = self._work_out(mask)
        return number


@dataclass(slots=True, kw_only=True)
class Search:
    """The problem as bit masks, with what was found of sets so far.

    Attributes
    ----------
    weight : tuple of float, length n_faults
    cost : tuple of float, length n_tests
    classes : tuple, length n_tests
        For each test the sets of faults with one outcome.
    by_cost : tuple of int
        Tests that can be worth their minutes, cheapest first.
    group_of : tuple of int, length n_faults
        All faults that share a fault's repair.
    needs : tuple, length n_faults
        Pairs (others, cost), dearest first: the fault cannot be told from these others,
        of another repair, for less.
    trial_cost : mapping
        Minutes lost on a wrong repair, by its group.
    weight_of : mapping
        Weight of each set.
    """

    weight: tuple[float, ...]
    cost: tuple[float, ...]
    classes: tuple[tuple[int, ...], ...]
    by_cost: tuple[int, ...]
    group_of: tuple[int, ...]
    needs: tuple[tuple[tuple[int, float], ...], ...]
    trial_cost: Mapping[int, float]
    weight_of: _Kept = field(init=False)
    _floor_of: _Kept = field(init=False)
    _found: dict[int, float] = field(init=False, default_factory=dict)
    _best: dict[int, tuple[int, ...]] = field(init=False, default_factory=dict)
    _costs: dict[int, tuple[float, ...]] = field(init=False, default_factory=dict)
    _splitting: dict[int, tuple[int, ...]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Know nothing of any set yet."""
        self.weight_of = _Kept(self._new_weight)
        self._floor_of = _Kept(self._new_floor)

    def is_settled(self, mask: int) -> bool:
        """Whether all candidates of the set share one repair."""
        # The group of any one member must hold all the others; the lowest is at hand.
        return not mask & ~self.group_of[(mask & -mask).bit_length() - 1]

    def parts(self, mask: int, test: int) -> list[int]:
        """Sets of candidates that a test may leave."""
        return [part for one in self.classes[test] if (part := mask & one)]

    def least(self, mask: int) -> float:
        """Find the least cost of a set."""
        return self._least(mask, self.by_cost)

    def _least(self, mask: int, tests: Sequence[int]) -> float:
        # A floor of nothing is the least cost itself.
        if mask not in self._found and self._floor_of[mask]:
            self._search(mask, tests, math.inf)
        return self._found[mask]

    def cost_of(self, mask: int, test: int) -> float:
        """Find the cost where this test comes next, and the plan then."""
        after = sum([self.least(part) for part in self.parts(mask, test)])
        return self.cost[test] * self.weight_of[mask] + after

    def costs(self, mask: int) -> tuple[float, ...]:
        """Find the cost of every test that comes next, and keep them."""
        if mask not in self._costs:
            self._costs[mask] = tuple(self._new_costs(mask))
        return self._costs[mask]

    def _new_costs(self, mask: int) -> Iterator[float]:
        """Give the cost of each test; what tests with the same parts leave, once."""
        weight, after = self.weight_of[mask], dict[tuple[int, ...], float]()
        splitting = [test for _, test, _, _ in self._choices(mask, self.by_cost)]
        for minutes, classes in zip(self.cost, self.classes, strict=True):
            parts = tuple([part for one in classes if (part := mask & one)])
            # A test that does not split the set leaves it whole, at its own cost.
            if parts not in after:
                after[parts] = sum([self._least(part, splitting) for part in parts])
            yield minutes * weight + after[parts]

    def splitting(self, mask: int) -> tuple[int, ...]:
        """Find all tests that split a set, and keep them."""
        if mask not in self._splitting:
            tests = range(len(self.cost))
            self._splitting[mask] = tuple(
                [test for test in tests if len(self.parts(mask, test)) > 1]
            )
        return self._splitting[mask]

    def ways(self, mask: int) -> list[int]:
        """Find the first test of each way to split a set."""
        return [test for _, test, _, _ in self._choices(mask, range(len(self.cost)))]

    def best_tests(self, mask: int, slack: float) -> tuple[int, ...]:
        """Find all tests that the plan may go on with, up to some expected minutes.

        Whole classes go the same ways, so that what was found is kept.
        """
        if mask not in self._best:
            numbers = () if self.is_settled(mask) else range(len(self.cost))
            limit = self.least(mask) + slack * self.weight_of[mask]
            self._best[mask] = tuple(
                test for test in numbers if self._is_best(mask, test, limit)
            )
        return self._best[mask]

    def _is_best(self, mask: int, test: int, limit: float) -> bool:
        return any(
            self._follow(choice, self.by_cost, limit) < limit
            for choice in self._choices(mask, [test])
        )

    def trials(self, mask: int) -> list[int]:
        """Repairs of a set, by their groups, in the best order of trying them.

        In the order of cost over probability, whatever the minutes of the right
        repair: they are spent in every order.
        """
        groups = {self.group_of[i] for i in bits_of(mask)}
        # Which of two neighbours comes first is decided by these ratios alone, so that
        # sorting by them is best; the group breaks ties alike on every machine.
        return sorted(
            groups, key=lambda g: (self.trial_cost[g] / self.weight_of[mask & g], g)
        )

    def _trial_cost(self, mask: int) -> float:
        left, total = self.weight_of[mask], 0.0
        # The last repair is right once all others have failed: it loses nothing.
        for group in self.trials(mask)[:-1]:
            left -= self.weight_of[mask & group]
            total += self.trial_cost[group] * left
        return total

    def _new_weight(self, mask: int) -> float:
        return math.fsum([self.weight[fault] for fault in bits_of(mask)])

    def _new_floor(self, mask: int) -> float:
        """Add up what it takes at least to tell each fault from the hardest other.

        Nothing has to be told apart, or can be, exactly where that is nothing.
        """
        # Each fault goes through a test that tells it from every other which needs
        # another repair, and pays for the dearest of these at least. Costs are
        # weighted, so that what the faults pay adds up and no minute counts twice.
        floor, left = 0.0, mask
        while left:
            low = left & -left
            left ^= low
            for others, cost in self.needs[low.bit_length() - 1]:
                if others & mask:
                    floor += cost
                    break
        if not floor:
            floor = self._found[mask] = self._trial_cost(mask)
        return floor

    def _choices(self, mask: int, tests: Sequence[int]) -> list[_Choice]:
        """Tests that split a set, in their order.

        Of tests with the same parts only the cheapest can be worth its minutes.
        """
        weight, classes, floor_of = self.weight_of[mask], self.classes, self._floor_of
        chosen: dict[frozenset[int], _Choice] = {}
        for test in tests:
            parts = [part for one in classes[test] if (part := mask & one)]
            if len(parts) > 1 and (key := frozenset(parts)) not in chosen:
                minutes = self.cost[test] * weight
                floor = minutes + sum([floor_of[part] for part in parts])
                chosen[key] = (floor, test, minutes, parts)
        return list(chosen.values())

    def _search(self, mask: int, tests: Sequence[int], limit: float) -> None:
        """Find the least cost of a set, or raise its floor to a limit that it reaches.

        ``tests`` are those that may split the set, the cheapest first. What splits no
        set, or tells no more of it than a cheaper test, does neither in its parts.
        """
        choices = self._choices(mask, tests)
        splitting = [test for _, test, _, _ in choices]
        best, floor = limit, math.inf
        for choice in sorted(choices):
            # By rising floors: no later choice can cost less than this one's floor.
            if choice[0] >= best:
                floor = min(floor, choice[0])
                break
            cost = self._follow(choice, splitting, best)
            if cost < best:
                best = cost
            else:
                floor = min(floor, cost)
        if best < limit:
            self._found[mask] = self._floor_of[mask] = best
        # All was cut off at the limit: this only says how low the cost cannot be.
        else:
            self._floor_of[mask] = max(self._floor_of[mask], floor)

    def _follow(self, choice: _Choice, tests: Sequence[int], limit: float) -> float:
        """Cost of a choice where it lies below a limit, else a floor from there on."""
        _, _, minutes, parts = choice
        floors = sorted([(self._floor_of[part], part) for part in parts])
        total = minutes + sum([floor for floor, _ in floors])
        # The dearest part first: it is the likeliest to go past the limit.
        for floor, part in reversed(floors):
            if total >= limit:
                return total
            # This part may cost what the others, as far as known, leave of the limit.
            if part not in self._found:
                self._search(part, tests, limit - (total - floor))
            if part not in self._found:
                return max(limit, total + self._floor_of[part] - floor)
            total += self._found[part] - floor
        return total


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


def new_search(
    weights: NDArray[np.float64],
    columns: NDArray[np.int64],
    costs: NDArray[np.float64],
    repairs: Sequence[int],
    trial_minutes: Sequence[float],
) -> Search:
    """Put a problem into bit masks.

    Parameters
    ----------
    weights : ndarray, shape (n_faults,)
    columns : ndarray of int, shape (n_tests, n_faults)
        Number of each outcome; those of a test count from 0.
    costs : ndarray, shape (n_tests,)
    repairs : sequence of int, length n_faults
        Number of each fault's repair, counting from 0.
    trial_minutes : sequence of float, length n_faults
        Minutes lost on each fault's repair where it is the wrong one.
    """
    classes = tuple(_masks(column) for column in columns.tolist())
    groups = _masks(repairs)
    group_of = tuple(groups[number] for number in repairs)
    return Search(
        weight=tuple(weights.tolist()),
        cost=tuple(costs.tolist()),
        classes=classes,
        by_cost=_worth_doing(classes, np.argsort(costs, kind="stable").tolist()),
        group_of=group_of,
        needs=_needs(weights, columns, costs, repairs),
        trial_cost=dict(zip(group_of, trial_minutes, strict=True)),
    )


def _masks(numbers: Sequence[int]) -> tuple[int, ...]:
    """Sets of faults with the same number, by that number."""
    masks = [0] * (max(numbers) + 1)
    for fault, number in enumerate(numbers):
        masks[number] |= 1 << fault
    return tuple(masks)


def _worth_doing(
    classes: Sequence[Sequence[int]], by_cost: Sequence[int]
) -> tuple[int, ...]:
    """Leave out tests that tell nothing, or nothing that a cheaper one does not."""
    kept: list[int] = []
    for test in by_cost:
        told = any(_refines(classes[other], classes[test]) for other in kept)
        if len(classes[test]) > 1 and not told:
            kept.append(test)
    return tuple(kept)


def _refines(fine: Sequence[int], coarse: Sequence[int]) -> bool:
    """Whether every set of one test lies within a set of the other."""
    return all(any(not one & ~other for other in coarse) for one in fine)


def _needs(
    weights: NDArray[np.float64],
    columns: NDArray[np.int64],
    costs: NDArray[np.float64],
    repairs: Sequence[int],
) -> tuple[tuple[tuple[int, float], ...], ...]:
    """Sort for each fault the others by what it takes at least to tell them from it."""
    count = len(repairs)
    # The cheapest test that gives two faults different outcomes; none, infinite.
    least = np.full((count, count), np.inf)
    for column, minutes in zip(columns, costs.tolist(), strict=True):
        is_told = column[:, None] != column
        least[is_told] = np.minimum(least[is_told], minutes)
    # Faults of one repair need not be told apart.
    numbers = np.array(repairs)
    least[numbers[:, None] == numbers] = np.inf
    needs = []
    for row, weight in zip(least.tolist(), weights.tolist(), strict=True):
        others: dict[float, int] = {}
        for fault, minutes in enumerate(row):
            if minutes < math.inf:
                others[minutes] = others.get(minutes, 0) | 1 << fault
        dearest = sorted(others.items(), reverse=True)
        needs.append(tuple((mask, minutes * weight) for minutes, mask in dearest))
    return tuple(needs)
