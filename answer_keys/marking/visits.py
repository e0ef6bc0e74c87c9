"""The tests that a student did in one exercise, beside its key."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import compress

from answer_keys.keys.key_record import KeyRecord, TestKey
from generator.model.plan_tree import State
from workbook.record.progress import ExerciseProgress, TestDone

# Less than this is written as no minutes.
_AS_PLANNED_MINUTES = 0.05

SAME_WAYS = 256
"""Ways through exercises that are remembered: students hand in more than once, and go
most of their way as before. Each keeps its record with its plan, a megabyte or two."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """The last of some tests, along the real readings: all that no student decides.

    Attributes
    ----------
    number : int
        Of the test, in the order of the key.
    before, after : State
        Where the search stood before and after the real reading.
    planned : TestKey or None
        The planned test before; None where the cause was proved.
    minutes : float
        What it took, with the way to places that were not open yet.
    minutes_wasted : float
        Expected minutes that the choice adds to the plan; 0 for a planned one, and for
        one that shows once more, at its own part, the only cause left.
    """

    test: TestKey
    number: int
    before: State
    after: State
    planned: TestKey | None
    minutes: float
    minutes_wasted: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One test that a student did, or that was done for the student.

    Attributes
    ----------
    done : TestDone
        What the student expected and found.
    is_given : bool
        Whether it was done for the student beforehand.
    """

    turn: Turn
    done: TestDone
    is_given: bool

    @property
    def test(self) -> TestKey:
        """The test with what it really shows."""
        return self.turn.test

    @property
    def after(self) -> State:
        """Where the search stood after the real reading."""
        return self.turn.after


@lru_cache(maxsize=SAME_WAYS)
def turn_of(record: KeyRecord, way: tuple[int, ...]) -> Turn:
    """Follow tests, by their numbers, along the real readings up to the last."""
    *earlier, number = way
    (plan, at), test = record.plan_with(number), record.tests[number]
    # The way up to here is remembered as well, so that this is a single step.
    before = turn_of(record, tuple(earlier)).after if earlier else plan.start
    best = plan.best_test(before)
    # Sums of the same minutes in another order may differ in their last digits. Rounded
    # twice they do not decide, either, where a half is rounded to.
    wasted = 0.0 if best == at else round(round(plan.wasted(before, at), 9), 6)
    is_new = number not in earlier
    if is_new and plan.is_proved(before) and _confirms(record, test, before):
        wasted = 0.0
    return Turn(
        test=test,
        number=number,
        before=before,
        after=plan.after(before, at, test.outcome),
        planned=None if best is None else test if best == at else record.tests[best],
        minutes=plan.minutes(before, at),
        minutes_wasted=wasted if wasted >= _AS_PLANNED_MINUTES else 0.0,
    )


def visits(record: KeyRecord, progress: ExerciseProgress) -> tuple[Visit, ...]:
    """Follow a student's tests along the real readings."""
    way = tuple(record.test_number(done.item) for done in progress.tests)
    return tuple(
        Visit(
            turn=turn_of(record, way[: place + 1]),
            done=done,
            is_given=place < progress.given_tests,
        )
        for place, done in enumerate(progress.tests)
    )


def _confirms(record: KeyRecord, test: TestKey, before: State) -> bool:
    """Whether a test shows something abnormal where what is left lies, and only there.

    Of a relay, coil and contacts may both be left: they have one repair.
    """
    faults = record.reasoning.faults
    lies = frozenset[str]().union(*(faults[n].sections for n in before.candidates))
    suspect = test.stated(test.statement).suspect
    # What proves nothing suspects nothing, and confirms as little.
    is_own = bool(suspect) and lies.issuperset(suspect)
    return test.outcome != test.sound_outcome and is_own


def planned_tests(record: KeyRecord) -> tuple[TestKey, ...]:
    """Return the planned tests along the outcomes of the planted fault."""
    if record.planned:
        return tuple(record.tests[record.test_number(id_)] for id_ in record.planned)
    return tests_to_proof(record, record.plan.start)


def tests_to_proof(record: KeyRecord, state: State) -> tuple[TestKey, ...]:
    """Return the planned tests from a state on, along the real outcomes."""
    way = record.plan.way(state, record.outcomes)
    return tuple(record.tests[test] for test, _left in way)


def causes_left(record: KeyRecord, tests: Iterable[TestKey]) -> tuple[int, ...]:
    """Count the causes that fit after each of some tests; no plan is searched."""
    left, counts = record.everything, list[int]()
    for test in tests:
        shown = record.reasoning.column(record.test_number(test.id), left)
        fits = (outcome == test.outcome for outcome in shown)
        left = tuple(compress(left, fits))
        counts.append(len(left))
    return tuple(counts)


def minutes_along(record: KeyRecord, tests: Iterable[TestKey]) -> tuple[float, ...]:
    """Minutes of each of some tests, with the way to places not yet open."""
    table = record.reasoning
    minutes = {place.id: place.minutes for place in table.places}
    opened, found = set(table.open), list[float]()
    for test in tests:
        needs = {*table.needs[record.test_number(test.id)]} - opened
        found.append(test.minutes + math.fsum(minutes[place] for place in needs))
        opened |= needs
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What one student did in one exercise, beside its key."""

    record: KeyRecord
    progress: ExerciseProgress
    path: tuple[Visit, ...]

    @property
    def marked_path(self) -> tuple[Visit, ...]:
        """Without those too near an edge to tell anything: they cost nothing."""
        return tuple(visit for visit in self.path if not visit.test.is_too_near)

    @property
    def own_path(self) -> tuple[Visit, ...]:
        """The tests that the student did and that are marked."""
        return tuple(visit for visit in self.marked_path if not visit.is_given)

    @property
    def state(self) -> State:
        """Where the real readings so far have brought the search."""
        return self.path[-1].after if self.path else self.record.plan.start

    @property
    def left(self) -> tuple[int, ...]:
        """Candidates that fit every real reading so far."""
        return self.state.candidates


def work_of(record: KeyRecord, progress: ExerciseProgress) -> Work:
    """Lay a student's progress beside the key."""
    return Work(record=record, progress=progress, path=visits(record, progress))
