"""The plan: which test comes next, for the least expected minutes to a proved cause.

Sets of candidates are bit masks. The outcome of a test is fixed by the fault, so the
candidates left are all that the past can tell, and the least expected cost of a set
follows from those of the sets that a test may leave (dynamic programming over sets,
left as soon as a test cannot be the best). The result is exact.

References
----------
K. R. Pattipati and M. G. Alexandridis, "Application of heuristic search and
information theory to sequential fault diagnosis", IEEE Trans. Systems, Man and
Cybernetics 20(4), 1990: the test sequencing problem (from memory).
"""

import math
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

__all__ = ["Plan", "least_cost"]

Label = Hashable


@dataclass(slots=True, kw_only=True)
class _Table:
    """The problem as bit masks, with the weighted costs found so far.

    ``by_cost`` numbers the tests that can be worth their minutes, cheapest first;
    ``group_of`` and ``twins_of`` give for each candidate all that share its repair, and
    all that no test tells from it.
    """

    weight: tuple[float, ...]
    cost: tuple[float, ...]
    classes: tuple[tuple[int, ...], ...]
    by_cost: tuple[int, ...]
    group_of: tuple[int, ...]
    twins_of: tuple[int, ...]
    trial_cost: Mapping[int, float]
    found: dict[int, float] = field(default_factory=dict)
    weights: dict[int, float] = field(default_factory=dict)

    def weight_of(self, mask: int) -> float:
        if mask not in self.weights:
            self.weights[mask] = math.fsum(self.weight[i] for i in _bits(mask))
        return self.weights[mask]

    def is_settled(self, mask: int) -> bool:
        """Whether all candidates of the set share one repair."""
        return not mask & ~self.group_of[(mask & -mask).bit_length() - 1]

    def is_inseparable(self, mask: int) -> bool:
        """Whether no test tells any candidates of the set apart."""
        return not mask & ~self.twins_of[(mask & -mask).bit_length() - 1]

    def parts(self, mask: int, test: int) -> tuple[int, ...]:
        """Sets of candidates that a test may leave."""
        return tuple([part for c in self.classes[test] if (part := mask & c)])

    def trials(self, mask: int) -> float:
        """Weighted minutes of wrong repairs where no test splits the candidates.

        In the order of cost over probability, whatever the minutes of the right
        repair: they are spent in every order.
        """
        groups = {self.group_of[i] for i in _bits(mask)}
        tries = [(self.weight_of(mask & g), self.trial_cost[g]) for g in groups]
        tries.sort(key=lambda pair: pair[1] / pair[0])
        left, total = sum(weight for weight, _ in tries), 0.0
        for weight, cost in tries:
            left -= weight
            total += cost * left
        return total

    def least(self, mask: int) -> float:
        """Weighted least expected cost of a set: its cost times its weight."""
        if mask not in self.found:
            self.found[mask] = self._search(mask)
        return self.found[mask]

    def _search(self, mask: int) -> float:
        if self.is_settled(mask):
            return 0.0
        if self.is_inseparable(mask):
            return self.trials(mask)
        return self.best(mask)[0]

    def best(self, mask: int) -> tuple[float, int | None]:
        """Give the test of least weighted cost, of equals the cheapest, and the cost.

        Tests come with their minutes rising, so that none after the first that costs
        more by its minutes alone can be better.
        """
        best, chosen, weight = math.inf, None, self.weight_of(mask)
        for test in self.by_cost:
            minutes = self.cost[test] * weight
            if minutes >= best:
                break
            parts = self.parts(mask, test)
            if len(parts) == 1:
                continue
            if (cost := self._cost_below(minutes, parts, best)) < best:
                best, chosen = cost, test
        return best, chosen

    def _cost_below(self, total: float, parts: tuple[int, ...], limit: float) -> float:
        """Weighted cost of a test, or infinity once it reaches a limit."""
        for part in parts:
            total += self.least(part)
            if total >= limit:
                return math.inf
        return total


def _bits(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def _mask(candidates: Iterable[int]) -> int:
    mask = 0
    for candidate in candidates:
        mask |= 1 << candidate
    return mask


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The least-cost plan over all sets of candidates.

    Candidates are fault numbers (rows of ``outcome``), tests are column numbers;
    all costs are expected minutes.
    """

    outcome: tuple[tuple[Label, ...], ...]
    _table: _Table = field(repr=False)

    @property
    def expected_cost(self) -> float:
        """Expected minutes to a proved cause when nothing is known yet."""
        return self.value(range(len(self.outcome)))

    def value(self, candidates: Iterable[int]) -> float:
        """Least expected minutes to a proved cause from a set of candidates."""
        mask = self._checked(candidates)
        return self._table.least(mask) / self._table.weight_of(mask)

    def cost_of(self, candidates: Iterable[int], test: int) -> float:
        """Expected minutes when this test comes next and the plan is followed then."""
        table, mask = self._table, self._checked(candidates)
        after = math.fsum(table.least(part) for part in table.parts(mask, test))
        return table.cost[test] + after / table.weight_of(mask)

    def best_test(self, candidates: Iterable[int]) -> int | None:
        """Give the planned next test, or None where no test is left to choose."""
        mask = self._checked(candidates)
        if self._table.is_settled(mask):
            return None
        return self._table.best(mask)[1]

    def after(
        self, candidates: Iterable[int], test: int, outcome: Label
    ) -> tuple[int, ...]:
        """Candidates left once a test has shown an outcome."""
        return tuple(c for c in candidates if self.outcome[c][test] == outcome)

    def is_settled(self, candidates: Iterable[int]) -> bool:
        """Whether all candidates share one repair, so that the cause is proved."""
        return self._table.is_settled(self._checked(candidates))

    def _checked(self, candidates: Iterable[int]) -> int:
        mask = _mask(candidates)
        if not 0 < mask < 1 << len(self.outcome):
            raise ValueError(
                f"candidates must be one or more fault numbers below "
                f"{len(self.outcome)}"
            )
        return mask


def least_cost(
    prior: ArrayLike,
    outcome: Sequence[Sequence[Label]],
    cost: ArrayLike,
    repair: Sequence[Label],
    repair_cost: Mapping[Label, float] | None = None,
) -> Plan:
    """Find the plan with the least expected minutes to a proved cause.

    Parameters
    ----------
    prior : array-like, shape (n_faults,)
        Probability of each fault; any positive scale.
    outcome : sequence, shape (n_faults, n_tests)
        What each test shows under each fault: words or small integers.
    cost : array-like, shape (n_tests,)
        Minutes of each test.
    repair : sequence, length n_faults
        Label of the repair that cures each fault; candidates that share one need not
        be told apart.
    repair_cost : mapping, optional
        Minutes that each repair wastes where it was the wrong one, for sets that no
        test splits: repairs are then tried one after the other in their best order.
        Without it a wrong repair costs nothing.

    Returns
    -------
    Plan

    Raises
    ------
    ValueError
        Where the shapes differ, a prior or a cost is not finite and positive.

    Examples
    --------
    >>> plan = least_cost([0.5, 0.3, 0.2], ["abb", "bab", "bba"], [4, 1, 2], "xyz")
    >>> round(plan.expected_cost, 3)
    2.4
    """
    weights = np.asarray(prior, dtype=float)
    costs = np.asarray(cost, dtype=float)
    rows = tuple(tuple(row) for row in outcome)
    if not len(weights) == len(rows) == len(repair) > 0:
        raise ValueError("prior, outcome and repair must have one entry a fault")
    if any(len(row) != len(costs) for row in rows):
        raise ValueError("each row of outcome must have one entry a test")
    numbers = np.concatenate([weights, costs])
    if not (np.isfinite(numbers) & (numbers > 0)).all():
        raise ValueError("every prior and every cost must be finite and above zero")
    classes = tuple(
        tuple(_classes([row[test] for row in rows])) for test in range(len(costs))
    )
    groups = _class_masks(repair)
    twins = _class_masks(rows)
    trial = repair_cost or {}
    table = _Table(
        weight=tuple(weights.tolist()),
        cost=tuple(costs.tolist()),
        classes=classes,
        by_cost=_worth_doing(classes, np.argsort(costs, kind="stable").tolist()),
        group_of=tuple(groups[label] for label in repair),
        twins_of=tuple(twins[row] for row in rows),
        trial_cost={mask: trial.get(label, 0.0) for label, mask in groups.items()},
    )
    return Plan(outcome=rows, _table=table)


def _worth_doing(
    classes: Sequence[Sequence[int]], by_cost: Sequence[int]
) -> tuple[int, ...]:
    """Leave out tests that tell nothing, or nothing that a cheaper one does not."""
    kept: list[int] = []
    for test in by_cost:
        told = any(
            all(any(not fine & ~coarse for coarse in classes[test]) for fine in better)
            for better in (classes[other] for other in kept)
        )
        if len(classes[test]) > 1 and not told:
            kept.append(test)
    return tuple(kept)


def _class_masks(labels: Sequence[Label]) -> dict[Label, int]:
    masks: dict[Label, int] = {}
    for number, label in enumerate(labels):
        masks[label] = masks.get(label, 0) | 1 << number
    return masks


def _classes(labels: Sequence[Label]) -> Iterable[int]:
    return _class_masks(labels).values()
