"""Kinds of invented students: how each chooses tests, and how often each slips.

How often that is, is an assumption: no class has been measured.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from answer_keys.keys.key_record import KeyRecord
from generator.drawing.stream import Stream
from generator.model.plan import Plan
from generator.model.plan_tree import State

NEW_RELAY = "load_current_new_relay"
"""The test that puts in a new relay."""

RELAY_HABIT = "part_before_proof"
"""What every student shows who puts in a new relay before anything is measured."""

# How often a misconception shows where it can.
_SHOWS_FRAC = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Where a student stands in the search for the cause.

    ``open_tests`` are the numbers of the tests not yet done, in the order of the page.
    """

    record: KeyRecord
    state: State
    open_tests: tuple[int, ...]

    @property
    def left(self) -> tuple[int, ...]:
        """The causes that fit all readings so far."""
        return self.state.candidates

    @property
    def plan(self) -> Plan:
        """The plan of the exercise."""
        return self.record.plan

    def after(self, test: int) -> Bench:
        """Read one test more."""
        outcome = self.record.tests[test].outcome
        return replace(
            self,
            state=self.plan.after(self.state, test, outcome),
            open_tests=tuple(one for one in self.open_tests if one != test),
        )


Choose = Callable[[Bench, Stream], int | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of student: how the next test is chosen, and how often steps go wrong.

    ``slip_frac`` is the range that the share of slips of one student is drawn from,
    ``misconceptions`` how many wrong rules each holds at the most.
    """

    title: str
    choose: Choose
    slip_frac: tuple[float, float]
    misconceptions: int = 0


def _any(bench: Bench, stream: Stream) -> int | None:
    """Take whatever comes."""
    return stream.choice(bench.open_tests) if bench.open_tests else None


def _relay_first(bench: Bench, stream: Stream) -> int | None:
    """Put in a new relay before anything is measured; then try this and that."""
    if bench.plan.is_proved(bench.state):
        return None
    names = bench.record.reasoning.tests
    relay = [test for test in bench.open_tests if names[test] == NEW_RELAY]
    return relay[0] if relay else _any(bench, stream)


def _cheapest_that_tells(bench: Bench, _: Stream) -> int | None:
    """Take the quickest test that can tell the causes left apart at all."""
    if bench.plan.is_proved(bench.state):
        return None
    plan, state = bench.plan, bench.state
    telling = [test for test in plan.helping(state) if test in bench.open_tests]
    return min(
        telling, key=lambda test: (plan.minutes(state, test), test), default=None
    )


def _planned(bench: Bench, _: Stream) -> int | None:
    """Take the test that the least expected minutes begin with."""
    return bench.plan.best_test(bench.state)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "guesser": Kind(title="random guesser", choose=_any, slip_frac=(1.0, 1.0)),
        "relay-replacer": Kind(
            title="always replaces the relay first",
            choose=_relay_first,
            slip_frac=(0.3, 0.5),
            misconceptions=1,
        ),
        "novice": Kind(
            title="careful novice",
            choose=_cheapest_that_tells,
            slip_frac=(0.05, 0.15),
            misconceptions=2,
        ),
        "expert": Kind(
            title="expert who follows the plan", choose=_planned, slip_frac=(0.0, 0.0)
        ),
    }
)
"""Kinds of invented students by name, the least skilled first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InventedStudent:
    """A student made up: of which kind, and the share of steps that go wrong.

    ``misconceptions`` are the ids of the wrong rules that the student holds.
    """

    id: str
    kind: str
    slip_frac: float
    misconceptions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.slip_frac <= 1:
            raise ValueError(f"slip_frac is {self.slip_frac}. Give 0 to 1.")

    def slips(self, stream: Stream, steps: float = 1) -> bool:
        """Whether something that takes so many steps of thought goes wrong."""
        right: float = (1 - self.slip_frac) ** steps
        return stream.uniform(0, 1) >= right

    def shows(self, ids: Iterable[str], stream: Stream) -> str | None:
        """Which misconception of those that could show here does, if one does."""
        could = set(ids)
        held = [each for each in self.misconceptions if each in could]
        if held and stream.uniform(0, 1) < _SHOWS_FRAC:
            return held[0]
        return None


def invented_students(
    ids: Sequence[str], kinds: Sequence[str], stream: Stream
) -> tuple[InventedStudent, ...]:
    """Make up a class: kinds in turn, each student with slips of their own.

    Parameters
    ----------
    kinds : sequence of str
        Names of `KINDS`; one that comes twice comes twice as often.
    """
    return tuple(
        InventedStudent(
            id=student, kind=kind, slip_frac=stream.uniform(*KINDS[kind].slip_frac)
        )
        for student, kind in zip(ids, itertools.cycle(kinds), strict=False)
    )


def new_bench(record: KeyRecord) -> Bench:
    """Stand where the search begins: after the tests that were done beforehand."""
    every_test = tuple(range(len(record.tests)))
    bench = Bench(record=record, state=record.plan.start, open_tests=every_test)
    for done in record.start.tests:
        bench = bench.after(record.test_number(done.item))
    return bench
