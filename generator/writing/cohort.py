"""Invented students: they work a class set by a stated skill, and hand in.

Each works as a student does, through the same journal and the same number grammar;
what they know of the circuit they take from the key, and get wrong as often as their
skill says.
"""

import itertools
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from answer_keys.key_record import plan_of
from generator.writing.stream import Stream
from generator.writing.wording import short_text
from workbook.journal import (
    Journal,
    Owner,
    hand_in_bytes,
    hand_in_name,
    read_journals,
)
from workbook.progress import MAX_LINE_LENGTH
from workbook.quantities import Quantity, read_quantity

__all__ = ["InventedStudent", "hand_in_of", "invented_students"]

Record = Mapping[str, Any]
Entry = dict[str, Any]
_SPREAD = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class InventedStudent:
    """A student made up for a demonstration.

    ``skill_frac`` is the share of steps done right, from 0 to 1.
    """

    id: str
    skill_frac: float

    def __post_init__(self) -> None:
        if not 0 <= self.skill_frac <= 1:
            raise ValueError(f"skill is {self.skill_frac}; allowed is 0 to 1")


def invented_students(
    ids: Sequence[str], skill_frac: float, stream: Stream
) -> tuple[InventedStudent, ...]:
    """Make up a class around a skill, some students above it and some below.

    The closer the skill is to 0 or 1, the more alike they are, so that it stays the
    mean of the class.
    """
    spread = min(_SPREAD, skill_frac, 1 - skill_frac)
    return tuple(
        InventedStudent(
            id=student, skill_frac=skill_frac + stream.uniform(-spread, spread)
        )
        for student in ids
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
            for entry in _worked(record, student, stream):
                journal.append(entry)
        files = read_journals(Path(folder), owner).files
        return hand_in_name(owner), hand_in_bytes(owner, header["mode"], files)


def _worked(
    record: Record, student: InventedStudent, stream: Stream
) -> Iterator[Entry]:
    """Work one exercise: predictions, tests with findings, conclusion, verification."""
    number = record["exercise"]
    if record["questions"]:
        for question in record["questions"]:
            yield _replied(number, question, student, stream)
        return
    for answer in record["predictions"]:
        yield _number(number, "prediction", answer, student, stream)
    left = yield from _tested(record, student, stream)
    yield _concluded(record, left, student, stream)
    yield _number(number, "verification", record["verification"], student, stream)


def _is_right(student: InventedStudent, stream: Stream) -> bool:
    return stream.uniform(0, 1) < student.skill_frac


def _number(
    exercise: int,
    kind: str,
    answer: Record,
    student: InventedStudent,
    stream: Stream,
) -> Entry:
    """Type a number: the right one, or that of a wrong rule."""
    value = answer["value"]
    if not _is_right(student, stream):
        value = stream.choice(answer["misconceptions"])["value"]
    raw = short_text(value, answer["unit"])
    if stream.integer(2):
        raw = raw.replace(".", ",")
    read = read_quantity(raw, answer["unit"])
    amount = read.value if isinstance(read, Quantity) else value
    return {
        "exercise": exercise,
        "kind": kind,
        "item": answer["id"],
        "raw": raw,
        "value": amount,
        "unit": answer["unit"],
    }


def _replied(
    exercise: int, question: Record, student: InventedStudent, stream: Stream
) -> Entry:
    """Answer a question rightly, or as one who guesses."""
    if question["number"]:
        return _number(exercise, "answer", question["number"], student, stream)
    entry = {"exercise": exercise, "kind": "answer", "item": question["id"]}
    is_right = _is_right(student, stream)
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
    """Choose tests, planned ones or any, until the cause is proved or patience ends."""
    plan, tests = plan_of(record["reasoning"]), record["tests"]
    left: tuple[int, ...] = tuple(range(len(record["reasoning"]["faults"])))
    open_tests = list(range(len(tests)))
    while (planned := plan.best_test(left)) is not None:
        chosen = planned if _is_right(student, stream) else stream.choice(open_tests)
        if chosen not in open_tests:
            chosen = planned
        open_tests.remove(chosen)
        yield from _read(record["exercise"], tests[chosen], student, stream)
        left = plan.after(left, chosen, tests[chosen]["outcome"])
        if not _is_right(student, stream) and not stream.integer(4):
            break
    return left


def _read(
    exercise: int, test: Record, student: InventedStudent, stream: Stream
) -> Iterator[Entry]:
    right = _is_right(student, stream)
    expected = test["sound_outcome"] if right else stream.choice(test["outcomes"])
    yield {
        "exercise": exercise,
        "kind": "test",
        "item": test["id"],
        "expected": expected,
    }
    right = _is_right(student, stream)
    yield {
        "exercise": exercise,
        "kind": "finding",
        "item": test["id"],
        "outcome": test["outcome"] if right else stream.choice(test["outcomes"]),
        "statement": _stated(test, student, stream),
    }


def _stated(test: Record, student: InventedStudent, stream: Stream) -> str:
    """Say what a reading proves, or another of the statements where there is one."""
    ids = [one["id"] for one in test["statements"]]
    others = [id_ for id_ in ids if id_ != test["statement"]]
    if not others or _is_right(student, stream):
        return str(test["statement"])
    return str(stream.choice(others))


def _concluded(
    record: Record, left: tuple[int, ...], student: InventedStudent, stream: Stream
) -> Entry:
    """Name a cause that still fits, or any, and its correction, or any."""
    causes, corrections = record["causes"], record["corrections"]
    fault = record["reasoning"]["faults"][stream.choice(left)]
    if not _is_right(student, stream):
        fault = stream.choice(record["reasoning"]["faults"])
    cause = next(c["id"] for c in causes if c["fault"] == fault["id"])
    correction = next(c["id"] for c in corrections if c["repair"] == fault["repair"])
    return {
        "exercise": record["exercise"],
        "kind": "conclusion",
        "item": "conclusion",
        "cause": cause,
        "correction": correction,
    }
