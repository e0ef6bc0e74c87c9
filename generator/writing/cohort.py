"""Invented students of several kinds: they work a class set, and hand in.

Each works as a student does, through the same journal and the same number grammar;
what they know of the circuit they take from the key, and slip as often as their kind
does. How often that is, and how much harder a complicated circuit makes it, are
assumptions: no class has been measured.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from answer_keys.key_record import plan_of
from generator.writing.difficulty import unit_steps
from generator.writing.stream import Stream
from generator.writing.wording import short_text
from workbook.journal import (
    Journal,
    Owner,
    hand_in_bytes,
    hand_in_name,
    read_journals,
)
from workbook.progress import MAX_LINE_LENGTH, begin
from workbook.quantities import Quantity, read_quantity

if TYPE_CHECKING:
    from generator.model.plan import Plan

__all__ = [
    "KINDS",
    "InventedStudent",
    "Kind",
    "hand_in_of",
    "invented_students",
    "work",
]

Record = Mapping[str, Any]
Entry = dict[str, Any]
_NEW_RELAY = "load_current_new_relay"
# One in so many slips after a test ends the search too early.
_GIVES_UP = 3
# Complications of a circuit that are one more step in saying what it should read.
_COMPLICATIONS_A_STEP = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Where a student stands in the search for the cause.

    ``left`` are the causes that fit all readings so far, ``open_tests`` the numbers of
    the tests not yet done, in the order of the page.
    """

    record: Record
    plan: Plan
    left: tuple[int, ...]
    open_tests: tuple[int, ...]

    def after(self, test: int) -> Bench:
        """Read one test more."""
        outcome = self.record["tests"][test]["outcome"]
        return replace(
            self,
            left=self.plan.after(self.left, test, outcome),
            open_tests=tuple(one for one in self.open_tests if one != test),
        )


Choose = Callable[[Bench, Stream], int | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of student: how the next test is chosen, and how often steps go wrong.

    ``slip_frac`` is the range that the share of slips of one student is drawn from.
    """

    title: str
    choose: Choose
    slip_frac: tuple[float, float]


def _any(bench: Bench, stream: Stream) -> int | None:
    """Take whatever comes."""
    return stream.choice(bench.open_tests) if bench.open_tests else None


def _relay_first(bench: Bench, stream: Stream) -> int | None:
    """Put in a new relay before anything is measured; then try this and that."""
    if bench.plan.is_settled(bench.left):
        return None
    names = bench.record["reasoning"]["tests"]
    relay = [test for test in bench.open_tests if names[test] == _NEW_RELAY]
    return relay[0] if relay else _any(bench, stream)


def _cheapest_that_tells(bench: Bench, _: Stream) -> int | None:
    """Take the quickest test that can tell the causes left apart at all."""
    if bench.plan.is_settled(bench.left):
        return None
    rows, minutes = bench.plan.outcome, bench.record["reasoning"]["minutes"]
    telling = [
        test
        for test in bench.open_tests
        if len({rows[candidate][test] for candidate in bench.left}) > 1
    ]
    return min(telling, key=lambda test: (minutes[test], test), default=None)


def _planned(bench: Bench, _: Stream) -> int | None:
    """Take the test that the least expected minutes begin with."""
    return bench.plan.best_test(bench.left)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "guesser": Kind(title="random guesser", choose=_any, slip_frac=(1.0, 1.0)),
        "relay-replacer": Kind(
            title="always replaces the relay first",
            choose=_relay_first,
            slip_frac=(0.3, 0.5),
        ),
        "novice": Kind(
            title="careful novice", choose=_cheapest_that_tells, slip_frac=(0.05, 0.15)
        ),
        "expert": Kind(
            title="expert who follows the plan", choose=_planned, slip_frac=(0.0, 0.0)
        ),
    }
)
"""Kinds of invented students by name, the least skilled first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InventedStudent:
    """A student made up: of which kind, and the share of steps that go wrong."""

    id: str
    kind: str
    slip_frac: float

    def __post_init__(self) -> None:
        if not 0 <= self.slip_frac <= 1:
            raise ValueError(f"slip_frac is {self.slip_frac}; allowed is 0 to 1")

    def slips(self, stream: Stream, steps: float = 1) -> bool:
        """Whether something that takes so many steps of thought goes wrong."""
        right: float = (1 - self.slip_frac) ** steps
        return stream.uniform(0, 1) >= right


def invented_students(
    ids: Sequence[str], kinds: Sequence[str], stream: Stream
) -> tuple[InventedStudent, ...]:
    """Make up a class: kinds in turn, each student with slips of their own.

    Parameters
    ----------
    ids : sequence of str
    kinds : sequence of str
        Names of `KINDS`; one that comes twice comes twice as often.
    stream : Stream
    """
    return tuple(
        InventedStudent(
            id=student, kind=kind, slip_frac=stream.uniform(*KINDS[kind].slip_frac)
        )
        for student, kind in zip(ids, itertools.cycle(kinds), strict=False)
    )


def hand_in_of(
    student: InventedStudent,
    records: Sequence[Record],
    header: Mapping[str, Any],
    stream: Stream,
) -> tuple[str, bytes]:
    """Work all exercises of one student and give name and bytes of the hand-in.

    Parameters
    ----------
    student : InventedStudent
    records : sequence of mapping
        The student's key records, in order.
    header : mapping
        ``set_id``, ``edition`` and ``mode``.
    stream : Stream
        Decides what goes right.
    """
    owner = Owner(
        set_id=header["set_id"], student=student.id, edition=header["edition"]
    )
    ticks = itertools.count()
    began = datetime(2026, 1, 12, 8, 0, tzinfo=UTC)
    with TemporaryDirectory() as folder:
        journal = Journal(
            Path(folder), owner, lambda: began + timedelta(seconds=37 * next(ticks))
        )
        for record in records:
            for entry in work(record, student, stream):
                journal.append(entry)
        files = read_journals(Path(folder), owner).files
        return hand_in_name(owner), hand_in_bytes(owner, header["mode"], files)


def work(record: Record, student: InventedStudent, stream: Stream) -> Iterator[Entry]:
    """Work one exercise: predictions, tests with findings, conclusion, verification.

    Gives the entries of the journal, without what the journal adds.
    """
    number = record["exercise"]
    if record["questions"]:
        for question in record["questions"]:
            yield _replied(number, question, student, stream)
        return
    given = begin(record["given"]).given_predictions
    for answer in record["predictions"]:
        if answer["id"] not in given:
            yield _number(number, "prediction", answer, student, stream)
    left = yield from _tested(record, student, stream)
    yield _concluded(record, left, student, stream)
    yield _number(number, "verification", record["verification"], student, stream)


def _number(
    exercise: int,
    kind: str,
    answer: Record,
    student: InventedStudent,
    stream: Stream,
) -> Entry:
    """Type a number: the right one, or after a slip any that a rule gives."""
    value, unit = answer["value"], answer["unit"]
    if student.slips(stream, 1 + unit_steps(value, unit)):
        wrong = [rule["value"] for rule in answer["misconceptions"]]
        value = stream.choice([value, *wrong])
    raw = short_text(value, unit)
    if stream.integer(2):
        raw = raw.replace(".", ",")
    read = read_quantity(raw, unit)
    amount = read.value if isinstance(read, Quantity) else value
    return {
        "exercise": exercise,
        "kind": kind,
        "item": answer["id"],
        "raw": raw,
        "value": amount,
        "unit": unit,
    }


def _replied(
    exercise: int, question: Record, student: InventedStudent, stream: Stream
) -> Entry:
    """Answer a question rightly, or as one who guesses."""
    if question["number"]:
        return _number(exercise, "answer", question["number"], student, stream)
    entry = {"exercise": exercise, "kind": "answer", "item": question["id"]}
    is_right = not student.slips(stream)
    ids = [option["id"] for option in question["options"]]
    if question["kind"] == "choice":
        choice = question["right"][0] if is_right else stream.choice(ids)
        return {**entry, "choice": choice}
    if question["kind"] == "order":
        return {**entry, "order": question["right"] if is_right else ids}
    model = [line["text"][:MAX_LINE_LENGTH] for line in question["lines"]]
    return {**entry, "lines": model if is_right else ["Not sure."] * len(model)}


def _tested(
    record: Record, student: InventedStudent, stream: Stream
) -> Generator[Entry, None, tuple[int, ...]]:
    """Choose tests until the cause seems proved or patience ends."""
    plan, tests = plan_of(record["reasoning"]), record["tests"]
    choose = KINDS[student.kind].choose
    bench = _begun(record, plan)
    while (chosen := choose(bench, stream)) is not None:
        if student.slips(stream):
            chosen = stream.choice(bench.open_tests)
        yield from _read(record, tests[chosen], student, stream)
        bench = bench.after(chosen)
        if student.slips(stream) and not stream.integer(_GIVES_UP):
            break
    return bench.left


def _begun(record: Record, plan: Plan) -> Bench:
    """Stand where the search begins: after the tests that were done beforehand."""
    names = record["reasoning"]["tests"]
    bench = Bench(
        record=record,
        plan=plan,
        left=tuple(range(len(plan.outcome))),
        open_tests=tuple(range(len(names))),
    )
    for done in begin(record["given"]).tests:
        bench = bench.after(names.index(done.item))
    return bench


def _read(
    record: Record, test: Record, student: InventedStudent, stream: Stream
) -> Iterator[Entry]:
    steps = 1 + record["difficulty"]["complications"] / _COMPLICATIONS_A_STEP
    wrong = student.slips(stream, steps)
    expected = stream.choice(test["outcomes"]) if wrong else test["sound_outcome"]
    yield {
        "exercise": record["exercise"],
        "kind": "test",
        "item": test["id"],
        "expected": expected,
    }
    wrong = student.slips(stream)
    yield {
        "exercise": record["exercise"],
        "kind": "finding",
        "item": test["id"],
        "outcome": stream.choice(test["outcomes"]) if wrong else test["outcome"],
        "statement": _stated(test, student, stream),
    }


def _stated(test: Record, student: InventedStudent, stream: Stream) -> str:
    """Say what a reading proves, or what any of the statements on offer says."""
    if student.slips(stream):
        return str(stream.choice(test["statements"])["id"])
    return str(test["statement"])


def _concluded(
    record: Record, left: tuple[int, ...], student: InventedStudent, stream: Stream
) -> Entry:
    """Name a cause that still fits and what cures it; after a slip, any."""
    causes, corrections = record["causes"], record["corrections"]
    fault = record["reasoning"]["faults"][stream.choice(left)]
    cause = next(c for c in causes if c["fault"] == fault["id"])
    correction = next(c for c in corrections if c["repair"] == fault["repair"])
    if student.slips(stream):
        cause, correction = stream.choice(causes), stream.choice(corrections)
    return {
        "exercise": record["exercise"],
        "kind": "conclusion",
        "item": "conclusion",
        "cause": cause["id"],
        "correction": correction["id"],
    }
