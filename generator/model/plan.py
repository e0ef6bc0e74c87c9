"""The plan: which test comes next, for the least expected minutes to a proved cause.

The outcome of a test is fixed by the fault, and a place that was reached stays open. So
where a search stands is told by the candidates left, the places open, and whether an
abnormal reading was seen; the least expected cost of that follows from those of what a
test may leave (dynamic programming, with floors so that little of it is visited). The
result is exact.

References
----------
K. R. Pattipati and M. G. Alexandridis, "Application of heuristic search and
information theory to sequential fault diagnosis", IEEE Trans. Systems, Man and
Cybernetics 20(4), 1990: the test sequencing problem (from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from generator.model.plan_floor import Floor, worthwhile
from generator.model.plan_search import Search
from generator.model.plan_task import Task, bits_of
from generator.model.plan_tree import (
    Label,
    PlannedTest,
    PlannedTrial,
    Proved,
    State,
    Tree,
    mask_of,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


SAME_MINUTES = 1e-9
"""Expected minutes that differ by less are equal: tests that reach them are as good."""


@dataclass(frozen=True, slots=True, kw_only=True, weakref_slot=True)
class Plan:
    """The least-cost plan over all states of a search.

    Candidates are fault numbers (rows of ``outcome``), tests are column numbers;
    all costs are expected minutes. Where a state is asked for, candidates alone stand
    for them at the start: places closed that are closed there, nothing seen.
    """

    outcome: tuple[tuple[Label, ...], ...]
    repair: tuple[Label, ...]
    start: State
    _search: Search = field(repr=False)

    @property
    def expected_cost(self) -> float:
        """Expected minutes to a proved cause when nothing is known yet."""
        return self.value(self.start)

    @property
    def tree(self) -> Tree:
        """The whole plan, from the start to each repair."""
        return self.tree_from(self.start)

    def tree_from(self, where: Where) -> Tree:
        """The plan from a state on."""
        return self._tree(self._state(where))

    def value(self, where: Where) -> float:
        """Least expected minutes to a proved cause from a state."""
        state = self._state(where)
        # Costs of the search are weighted: over the weight of what is left they are
        # minutes.
        return self._search.least(state) / self._search.weight_of[state[0]]

    def cost_of(self, where: Where, test: int) -> float:
        """Expected minutes when this test comes next and the plan is followed then."""
        state = self._state(where)
        return self._search.cost_of(state, test) / self._search.weight_of[state[0]]

    def wasted(self, where: Where, test: int) -> float:
        """Expected minutes that a test adds to the plan.

        Examples
        --------
        >>> plan = least_cost([0.5, 0.3, 0.2], ["abb", "bab", "bba"], [4, 1, 2], "xyz")
        >>> round(plan.wasted([0, 1], 0), 3)
        3.0
        """
        return self.cost_of(where, test) - self.value(where)

    def recalling(
        self, first: Mapping[State, int], least: Mapping[State, float]
    ) -> Plan:
        """Give the same plan, which need not search for what is told of it.

        Parameters
        ----------
        first : mapping of State to int
            The planned next test.
        least : mapping of State to float
            Least expected minutes to a proved cause.
        """
        search = replace(self._search)  # what it has found so far is left behind
        for state, minutes in least.items():
            search.recall(state, minutes * search.weight_of[state[0]])
        search.first.update(first.items())
        return replace(self, _search=search)

    def minutes(self, where: Where, test: int) -> float:
        """Minutes of a test, with the way to the places that are not open yet."""
        return self._search.minutes(self._state(where), test)

    def helping(self, where: Where) -> tuple[int, ...]:
        """Tests that tell candidates apart, or can be the first abnormal reading."""
        return self._search.helping(self._state(where))

    def best_tests(self, where: Where) -> tuple[int, ...]:
        """All next tests that reach the least expected minutes, in their order."""
        return self._search.best_tests(self._state(where), SAME_MINUTES)

    def best_test(self, where: Where) -> int | None:
        """The planned next test, or None where no test is left to choose.

        Of several that are as good it is the first of the table.
        """
        return self._search.first_test(self._state(where), SAME_MINUTES)

    def after(self, where: Where, test: int, outcome: Label) -> State:
        """Where the search stands once a test has shown an outcome.

        No candidate is left where none shows it.
        """
        state, rows = self._state(where), self.outcome
        for part in self._search.after(state, test):
            # All faults of a part show the same, so that its first one speaks for it.
            if rows[next(bits_of(part[0]))][test] == outcome:
                return State(*part)
        return state._replace(left=0)

    def way(
        self, where: Where, outcomes: Sequence[Label]
    ) -> Iterator[tuple[int, State]]:
        """Follow the plan along what the tests of one circuit show.

        Parameters
        ----------
        where : State, or candidates
            Where the way begins.
        outcomes : sequence, length n_tests
            What each test shows on that circuit.

        Yields
        ------
        tuple of int and State
            A planned test, and where the search stands after it.
        """
        state = self._state(where)
        while (test := self.best_test(state)) is not None:
            state = self.after(state, test, outcomes[test])
            yield test, state

    def posterior(self, where: Where) -> tuple[float, ...]:
        """Give the probability of each candidate, in their order: Bayes' rule.

        An outcome has the probability 1 or 0 under each fault.
        """
        search, mask = self._search, self._state(where)[0]
        weight = search.task.weight
        return tuple(weight[n] / search.weight_of[mask] for n in bits_of(mask))

    def is_settled(self, where: Where) -> bool:
        """Whether one repair cures all candidates."""
        return self._search.is_settled(self._state(where)[0])

    def is_proved(self, where: Where) -> bool:
        """Whether one repair is left, and something that it explains was seen."""
        return self._search.is_proved(self._state(where))

    def _state(self, where: Where) -> State:
        if not isinstance(where, State):
            where = self.start._replace(left=mask_of(where))
        if not 0 < where.left < 1 << len(self.outcome):
            raise ValueError(
                f"candidates must be one or more fault numbers below "
                f"{len(self.outcome)}"
            )
        return where

    def _tree(self, state: State) -> Tree:
        test = self.best_test(state)
        if test is None:
            return self._trials(state.left, self._search.trials(state.left))
        after = [State(*part) for part in self._search.after(state, test)]
        return PlannedTest(
            candidates=state.candidates,
            test=test,
            minutes=self.minutes(state, test),
            branches=tuple(
                (self.outcome[one.candidates[0]][test], self._tree(one))
                for one in after
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
            minutes=self._search.task.trial_cost[group],
            otherwise=self._trials(mask & ~group, others),
        )


Where = State | Iterable[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """What it takes to reach the places of the tests; each is paid once.

    Attributes
    ----------
    minutes : sequence of float, length n_places
    needs : sequence, length n_tests
        Numbers of the places that each test needs.
    open : collection of int
        Places that are open from the start.
    """

    minutes: Sequence[float]
    needs: Sequence[Collection[int]]
    open: Collection[int] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What proves a cause: a reading that departs from that of a sound circuit.

    Attributes
    ----------
    sound : sequence, length n_tests
        What each test shows on a sound circuit.
    harmless : collection of int
        Faults that show nothing abnormal: that nothing is wrong.
    """

    sound: Sequence[Label]
    harmless: Collection[int] = ()


def least_cost(
    prior: ArrayLike,
    outcome: Sequence[Sequence[Label]],
    cost: ArrayLike,
    repair: Sequence[Label],
    repair_cost: Mapping[Any, float] | None = None,
    access: Access | None = None,
    proof: Proof | None = None,
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
        Minutes of each test at its places.
    repair : sequence, length n_faults
        Label of the repair that cures each fault; candidates that share one need not
        be told apart.
    repair_cost : mapping, optional
        Minutes that each repair loses where it was the wrong one, with the test that
        shows so, for sets that no test splits: repairs are then tried one after the
        other in their best order. Without it a wrong repair costs nothing.
    access : Access, optional
        Without it every place is open.
    proof : Proof, optional
        Without it one repair left is proof enough.

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
    minutes = dict.fromkeys(repairs, 0.0) if repair_cost is None else repair_cost
    _check_trials(minutes, repairs)
    access = access or Access(minutes=(), needs=[()] * len(costs))
    # A repair is known by the faults that it cures, as bits: a set within them is
    # settled.
    group = _rows_of(repairs)
    task = Task(
        weight=tuple(weights.tolist()),
        reading=tuple(costs.tolist()),
        needs=tuple(map(mask_of, access.needs)),
        access=tuple(access.minutes),
        shown=tuple(_shown(rows, proof, n) for n in range(len(costs))),
        # It stands behind the faults.
        sound=1 << len(rows) if proof else 0,
        group_of=tuple(group[label] for label in repairs),
        harmless=mask_of(proof.harmless) if proof else 0,
        trial_cost={group[label]: minutes[label] for label in repairs},
    )
    tests = zip(task.reading, task.needs, task.shown, strict=True)
    needed = worthwhile(tests, task.access_of)
    floor = Floor(needed, task.weight, task.alike, task.access_of)
    # Where nothing counts as abnormal, nothing abnormal has to be seen first.
    start = State.of(range(len(rows)), access.open, has_seen=proof is None)
    search = Search(task=task, tests=needed, floor=floor)
    return Plan(outcome=rows, repair=repairs, start=start, _search=search)


def _shown(
    rows: Sequence[Sequence[Label]], proof: Proof | None, test: int
) -> tuple[int, ...]:
    """What a test may show, by the circuits that show it, the sound one the last."""
    sound = [proof.sound[test]] if proof else []
    # In the order in which they first come, which is the same in every run.
    return tuple(_rows_of([*(row[test] for row in rows), *sound]).values())


def _rows_of(labels: Iterable[Label]) -> dict[Label, int]:
    """Where each label stands, as bits."""
    rows: dict[Label, int] = {}
    for number, label in enumerate(labels):
        rows[label] = rows.get(label, 0) | 1 << number
    return rows


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
        # Minutes that are missing count as nan, which no comparison lets through.
        if not 0 <= minutes.get(label, np.nan) < np.inf:
            raise ValueError(
                f"repair_cost must give {label!r} finite minutes, zero or more"
            )
