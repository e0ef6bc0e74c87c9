"""Small tables of causes and tests, and their least minutes by trying everything.

Nothing here is clever: every test is tried at every point, nothing is remembered, and
sets are sets. What the product finds must be what comes out of it.
"""

from dataclasses import dataclass
from itertools import permutations

import numpy as np

from generator.model.plan import Access, Proof, least_cost
from generator.model.plan_tree import PlannedTest, PlannedTrial, Proved


@dataclass(frozen=True, kw_only=True)
class Table:
    """What decides a plan, as plain lists.

    Without ``sound`` one repair left is proof enough.
    """

    prior: list
    outcome: list
    cost: list
    repair: list
    trial: dict
    access: list
    needs: list
    opened: frozenset = frozenset()
    sound: list | None = None
    harmless: frozenset = frozenset()

    @property
    def plan(self):
        """The plan of the product."""
        return least_cost(
            self.prior,
            self.outcome,
            self.cost,
            self.repair,
            self.trial,
            Access(minutes=self.access, needs=self.needs, open=self.opened),
            None
            if self.sound is None
            else Proof(sound=self.sound, harmless=self.harmless),
        )

    @property
    def start(self):
        """Every cause, what is open from the start, and whether that needs a proof."""
        return frozenset(range(len(self.prior))), self.opened, self.sound is None

    def weight(self, left):
        """Prior of some causes together."""
        return sum(self.prior[cause] for cause in left)

    def minutes(self, state, test):
        """Minutes of the reading, and of its places that are not open."""
        _, opened, _ = state
        return self.cost[test] + sum(
            self.access[place] for place in set(self.needs[test]) - opened
        )

    def after(self, state, test):
        """Where each outcome leaves the search."""
        left, opened, has_seen = state
        found = {}
        for cause in left:
            found.setdefault(self.outcome[cause][test], set()).add(cause)
        return [
            (
                frozenset(part),
                opened | set(self.needs[test]),
                has_seen or (self.sound is not None and shown != self.sound[test]),
            )
            for shown, part in found.items()
        ]

    def is_proved(self, state):
        """One repair, and something abnormal was seen, or nothing is wrong."""
        left, _, has_seen = state
        is_one = len({self.repair[cause] for cause in left}) == 1
        return is_one and (has_seen or left <= self.harmless)

    def changing(self, state):
        """Tests after which other causes are left, or that may show the first sign."""
        left, _, has_seen = state
        unchanged = left, has_seen
        return [
            test
            for test in range(len(self.cost))
            if any((part[0], part[2]) != unchanged for part in self.after(state, test))
        ]

    def least(self, state):
        """Least expected minutes from a state."""
        if self.is_proved(state):
            return 0.0
        tests = self.changing(state)
        if not tests:
            return self._tried(state[0])
        return min(self.with_first(state, test) for test in tests)

    def with_first(self, state, test):
        """Least expected minutes where this test comes first."""
        rest = sum(
            self.weight(part[0]) * self.least(part) for part in self.after(state, test)
        )
        return self.minutes(state, test) + rest / self.weight(state[0])

    def _tried(self, left):
        """Least expected minutes of wrong repairs, over all orders of trying them."""
        weight = {
            repair: self.weight([c for c in left if self.repair[c] == repair])
            for repair in {self.repair[cause] for cause in left}
        }
        return min(
            sum(
                self.trial[wrong] * weight[right] / self.weight(left)
                for place, right in enumerate(order)
                for wrong in order[:place]
            )
            for order in permutations(weight)
        )


def drawn_table(seed):
    """A small table of any shape, where one repair left is proof enough."""
    rng = np.random.default_rng(seed)
    n_faults, n_tests, n_words, n_repairs = rng.integers([1, 0, 2, 1], [8, 6, 4, 6])
    return Table(
        prior=rng.uniform(0.05, 2.0, n_faults).tolist(),
        outcome=rng.integers(n_words, size=(n_faults, n_tests)).tolist(),
        cost=rng.uniform(1.0, 15.0, n_tests).tolist(),
        repair=rng.integers(n_repairs, size=n_faults).tolist(),
        trial=dict(enumerate(rng.uniform(0.0, 60.0, n_repairs).tolist())),
        access=[],
        needs=[()] * n_tests,
    )


def table_with_places(seed):
    """A small table with places, some of them open, and a cause that needs a proof.

    As in a circuit most causes show in few tests what a sound one does not, some in
    none, and where nothing is wrong every test shows what a sound circuit shows.
    """
    rng = np.random.default_rng(seed)
    n_faults, n_tests, n_words, n_repairs, n_places = rng.integers(
        [1, 0, 2, 1, 1], [7, 6, 4, 5, 5]
    )
    harmless = frozenset(np.flatnonzero(rng.random(n_faults) < 0.15).tolist())
    sound = rng.integers(n_words, size=n_tests)
    outcome = np.where(
        rng.random((n_faults, n_tests)) < rng.uniform(0.3, 0.9),
        rng.integers(n_words, size=(n_faults, n_tests)),
        sound,
    )
    outcome[sorted(harmless)] = sound
    return Table(
        prior=rng.uniform(0.05, 2.0, n_faults).tolist(),
        outcome=outcome.tolist(),
        cost=rng.uniform(1.0, 5.0, n_tests).tolist(),
        repair=rng.integers(n_repairs, size=n_faults).tolist(),
        trial=dict(enumerate(rng.uniform(0.0, 60.0, n_repairs).tolist())),
        access=rng.uniform(0.0, 12.0, n_places).tolist(),
        needs=[np.flatnonzero(row).tolist() for row in _some(rng, n_tests, n_places)],
        opened=frozenset(np.flatnonzero(rng.random(n_places) < 0.2).tolist()),
        sound=sound.tolist(),
        harmless=harmless,
    )


def _some(rng, *shape):
    return rng.random(shape) < 0.4


def weight_of(tree, prior):
    """Prior of all candidates of a tree."""
    return sum(prior[candidate] for candidate in tree.candidates)


def minutes_of(tree, prior):
    """Expected minutes of a tree, walked for every candidate."""
    if isinstance(tree, Proved):
        return 0.0
    if isinstance(tree, PlannedTrial):
        chance = weight_of(tree.otherwise, prior) / weight_of(tree, prior)
        return chance * (tree.minutes + minutes_of(tree.otherwise, prior))
    return tree.minutes + sum(
        weight_of(branch, prior) / weight_of(tree, prior) * minutes_of(branch, prior)
        for _, branch in tree.branches
    )


def nodes(tree):
    """A tree and all below it."""
    yield tree
    if isinstance(tree, PlannedTest):
        for _, branch in tree.branches:
            yield from nodes(branch)
    elif isinstance(tree, PlannedTrial):
        yield from nodes(tree.otherwise)
