"""The plan: which test comes next, for the least expected minutes to a proved cause.

The outcome of a test is fixed by the fault, so the candidates left are all that the
past can tell, and the least expected cost of a set follows from those of the sets that
a test may leave (dynamic programming over sets, with floors so that few of them are
visited). The result is exact.

References
----------
K. R. Pattipati and M. G. Alexandridis, "Application of heuristic search and
information theory to sequential fault diagnosis", IEEE Trans. Systems, Man and
Cybernetics 20(4), 1990: the test sequencing problem (from memory).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from generator.model.plan_search import Search, bits_of, new_search

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


Label = Hashable

SAME_MINUTES = 1e-9
"""Expected minutes that differ by less are equal: tests that reach them are as good."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """The end of a search: the candidates left share one repair."""

    candidates: tuple[int, ...]
    repair: Label


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTrial:
    """A repair tried because no test splits the candidates.

    Attributes
    ----------
    minutes : float
        Lost where it was the wrong repair, with the test that shows so.
    otherwise : PlannedTrial or Proved
        What is done then.
    """

    candidates: tuple[int, ...]
    repair: Label
    minutes: float
    otherwise: PlannedTrial | Proved


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTest:
    """A test, and what is done after each of its outcomes.

    Attributes
    ----------
    minutes : float
        Of the test itself.
    branches : tuple of (label, Tree)
        One an outcome that some candidate gives.
    """

    candidates: tuple[int, ...]
    test: int
    minutes: float
    branches: tuple[tuple[Label, Tree], ...]


Tree = PlannedTest | PlannedTrial | Proved


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The least-cost plan over all sets of candidates.

    Candidates are fault numbers (rows of ``outcome``), tests are column numbers;
    all costs are expected minutes.
    """

    outcome: tuple[tuple[Label, ...], ...]
    repair: tuple[Label, ...]
    _search: Search = field(repr=False)

    @property
    def expected_cost(self) -> float:
        """Expected minutes to a proved cause when nothing is known yet."""
        return self.value(range(len(self.outcome)))

    @property
    def tree(self) -> Tree:
        """The whole plan, from all candidates to each repair."""
        return self._tree((1 << len(self.outcome)) - 1)

    def value(self, candidates: Iterable[int]) -> float:
        """Least expected minutes to a proved cause from a set of candidates."""
        mask = self._checked(candidates)
        return self._search.least(mask) / self._search.weight_of[mask]

    def cost_of(self, candidates: Iterable[int], test: int) -> float:
        """Expected minutes when this test comes next and the plan is followed then."""
        mask = self._checked(candidates)
        return self._search.cost_of(mask, test) / self._search.weight_of[mask]

    def costs(self, candidates: Iterable[int]) -> tuple[float, ...]:
        """Give the expected minutes of every possible next test, as ``cost_of``."""
        mask = self._checked(candidates)
        weight = self._search.weight_of[mask]
        return tuple([cost / weight for cost in self._search.costs(mask)])

    def beside(self, candidates: Iterable[int], test: int) -> tuple[int | None, float]:
        """Give the planned next test, and the expected minutes that another one adds.

        Examples
        --------
        >>> plan = least_cost([0.5, 0.3, 0.2], ["abb", "bab", "bba"], [4, 1, 2], "xyz")
        >>> best, added = plan.beside([0, 1], 0)
        >>> best, round(added, 3)
        (1, 3.0)
        """
        mask, search = self._checked(candidates), self._search
        best = next(iter(search.best_tests(mask, SAME_MINUTES)), None)
        if test == best:
            return best, 0.0
        weight = search.weight_of[mask]
        return best, search.cost_of(mask, test) / weight - search.least(mask) / weight

    def splitting(self, candidates: Iterable[int]) -> tuple[int, ...]:
        """Give all tests with more than one outcome under the candidates."""
        return self._search.splitting(self._checked(candidates))

    def ways(self, candidates: Iterable[int]) -> list[int]:
        """Give the first test of each way to split the candidates, in their order."""
        return self._search.ways(self._checked(candidates))

    def best_tests(self, candidates: Iterable[int]) -> tuple[int, ...]:
        """Give all next tests that reach the least expected minutes, in their order."""
        return self._search.best_tests(self._checked(candidates), SAME_MINUTES)

    def best_test(self, candidates: Iterable[int]) -> int | None:
        """Give the planned next test, or None where no test is left to choose.

        Of several that are as good it is the first of the table.
        """
        return next(iter(self.best_tests(candidates)), None)

    def after(
        self, candidates: Iterable[int], test: int, outcome: Label
    ) -> tuple[int, ...]:
        """Candidates left once a test has shown an outcome."""
        rows = self.outcome
        return tuple([c for c in candidates if rows[c][test] == outcome])

    def way(
        self, candidates: Iterable[int], outcomes: Sequence[Label]
    ) -> Iterator[tuple[int, tuple[int, ...]]]:
        """Follow the plan along what the tests of one circuit show.

        Parameters
        ----------
        candidates : iterable of int
            Where the way begins.
        outcomes : sequence, length n_tests
            What each test shows on that circuit.

        Yields
        ------
        tuple of int and tuple of int
            A planned test, and the candidates that are left after it.
        """
        left = tuple(candidates)
        while (test := self.best_test(left)) is not None:
            left = self.after(left, test, outcomes[test])
            yield test, left

    def posterior(self, candidates: Iterable[int]) -> tuple[float, ...]:
        """Give the probability of each candidate, in their order: Bayes' rule.

        An outcome has the probability 1 or 0 under each fault.
        """
        known = tuple(candidates)
        total = self._search.weight_of[self._checked(known)]
        return tuple(self._search.weight[c] / total for c in known)

    def is_settled(self, candidates: Iterable[int]) -> bool:
        """Whether all candidates share one repair, so that the cause is proved."""
        return self._search.is_settled(self._checked(candidates))

    def _checked(self, candidates: Iterable[int]) -> int:
        # A set is one whole number with a bit a candidate: quick to hash and to split.
        mask = 0
        for candidate in candidates:
            mask |= 1 << candidate
        if not 0 < mask < 1 << len(self.outcome):
            raise ValueError(
                f"candidates must be one or more fault numbers below "
                f"{len(self.outcome)}"
            )
        return mask

    def _tree(self, mask: int) -> Tree:
        candidates = tuple(bits_of(mask))
        test = self.best_test(candidates)
        if test is None:
            return self._trials(mask, self._search.trials(mask))
        parts = self._search.parts(mask, test)
        # All candidates of a part show the same outcome, so that the first can name it.
        first = [next(bits_of(part)) for part in parts]
        return PlannedTest(
            candidates=candidates,
            test=test,
            minutes=self._search.cost[test],
            branches=tuple(
                (self.outcome[one][test], self._tree(part))
                for one, part in zip(first, parts, strict=True)
            ),
        )

    def _trials(self, mask: int, groups: Sequence[int]) -> PlannedTrial | Proved:
        group, *others = groups
        candidates, repair = tuple(bits_of(mask)), self.repair[next(bits_of(group))]
        if not others:
            return Proved(candidates=candidates, repair=repair)
        return PlannedTrial(
            candidates=candidates,
            repair=repair,
            minutes=self._search.trial_cost[group],
            otherwise=self._trials(mask & ~group, others),
        )


def least_cost(
    prior: ArrayLike,
    outcome: Sequence[Sequence[Label]],
    cost: ArrayLike,
    repair: Sequence[Label],
    repair_cost: Mapping[Any, float] | None = None,
) -> Plan:
    """Find the plan with the least expected minutes to a proved cause.

    Only tests that may be done are given: one that is not safe or not allowed has no
    column. A test done in a wrong state proves nothing, so its column is constant and
    no plan ever holds it.

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
        Minutes that each repair loses where it was the wrong one, with the test that
        shows so, for sets that no test splits: repairs are then tried one after the
        other in their best order. Without it a wrong repair costs nothing.

    Raises
    ------
    ValueError
        Where the shapes differ, a prior or a cost is not finite and positive, or the
        minutes of a repair are missing, negative or not finite.

    Examples
    --------
    >>> plan = least_cost([0.5, 0.3, 0.2], ["abb", "bab", "bba"], [4, 1, 2], "xyz")
    >>> round(plan.expected_cost, 3)
    2.4
    >>> plan.tree.test, [label for label, _ in plan.tree.branches]
    (1, ['b', 'a'])
    """
    weights = np.asarray(prior, dtype=float)
    costs = np.asarray(cost, dtype=float)
    rows, repairs = tuple(tuple(row) for row in outcome), tuple(repair)
    _check_table(weights, rows, costs, repairs)
    # Labels are the caller's own; the search compares whole numbers, which is faster.
    minutes = dict.fromkeys(repairs, 0.0) if repair_cost is None else repair_cost
    _check_trials(minutes, repairs)
    search = new_search(
        weights,
        np.array([_numbers(column) for column in zip(*rows, strict=True)]),
        costs,
        _numbers(repairs),
        [minutes[label] for label in repairs],
    )
    return Plan(outcome=rows, repair=repairs, _search=search)


def _check_table(
    weights: NDArray[np.float64],
    rows: Sequence[Sequence[Label]],
    costs: NDArray[np.float64],
    repairs: Sequence[Label],
) -> None:
    if not len(weights) == len(rows) == len(repairs) > 0:
        raise ValueError("prior, outcome and repair must have one entry a fault")
    if any(len(row) != len(costs) for row in rows):
        raise ValueError("each row of outcome must have one entry a test")
    numbers = np.concatenate([weights, costs])
    if not (np.isfinite(numbers) & (numbers > 0)).all():
        raise ValueError("every prior and every cost must be finite and above zero")


def _check_trials(minutes: Mapping[Any, float], repairs: Iterable[Label]) -> None:
    for label in repairs:
        if not 0 <= minutes.get(label, np.nan) < np.inf:
            raise ValueError(
                f"repair_cost must give {label!r} finite minutes, zero or more"
            )


def _numbers(labels: Sequence[Label]) -> list[int]:
    """Number labels in the order in which they come up."""
    number = {label: place for place, label in enumerate(dict.fromkeys(labels))}
    return [number[label] for label in labels]
