"""Invented students of several kinds: they work a class set, and hand in.

Each works as a student does, through the same journal and the same number grammar;
what they know of the circuit they take from the key, and slip as often as their kind
does. How often that is, and how much harder a complicated circuit makes it, are
assumptions: no class has been measured.
"""

from __future__ import annotations

import itertools
from collections.abc import Generator, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from answer_keys.keys.key_questions import NumberKey, OptionKey, QuestionKey
from answer_keys.keys.key_record import StatementKey, TestKey
from answer_keys.keys.whole_record import WholeRecord
from answer_keys.mistakes import MISTAKES
from generator.drawing.difficulty import unit_steps
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.invented.kinds import (
    KINDS,
    NEW_RELAY,
    RELAY_HABIT,
    Bench,
    InventedStudent,
    new_bench,
)
from workbook.quantities import Quantity, read_quantity
from workbook.record.entries import (
    ChoiceAnswer,
    ChosenTest,
    Conclusion,
    Entry,
    Finding,
    LinesAnswer,
    NumberAnswer,
    OrderAnswer,
    Prediction,
    Verification,
)
from workbook.record.journal import (
    Journal,
    Owner,
    hand_in_bytes,
    hand_in_name,
)
from workbook.record.journal_reading import read_journals
from workbook.record.progress import MAX_LINE_LENGTH

# One in so many slips after a test ends the search too early.
_GIVES_UP = 3
# Complications of a circuit that are one more step in saying what it should read.
_COMPLICATIONS_A_STEP = 3


def hand_in_of(
    student: InventedStudent,
    records: Sequence[WholeRecord],
    header: Mapping[str, Any],
    stream: Stream,
) -> tuple[str, bytes]:
    """Work all exercises of one student and give name and bytes of the hand-in.

    Parameters
    ----------
    records : sequence of WholeRecord
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
        lines = read_journals(Path(folder), owner).lines
        return hand_in_name(owner), hand_in_bytes(owner, header["mode"], lines)


def work(
    record: WholeRecord, student: InventedStudent, stream: Stream
) -> Iterator[Entry]:
    """Work one exercise: predictions, tests with findings, conclusion, verification.

    Gives the entries of the journal, without what the journal adds.
    """
    number = record.exercise
    if record.questions:
        for question in record.questions:
            yield _replied(number, question, student, stream)
        return
    given = record.start.given_predictions
    for answer in record.predictions:
        if answer.id not in given:
            yield _number(Prediction, number, answer, student, stream)
    left = yield from _tested(record, student, stream)
    yield _concluded(record, left, student, stream)
    yield _number(Verification, number, record.verification, student, stream)


def _number(
    form: type[Prediction | Verification | NumberAnswer],
    exercise: int,
    answer: NumberKey,
    student: InventedStudent,
    stream: Stream,
) -> Entry:
    """Type a number: the right one, or after a slip any that a rule gives."""
    value, unit = answer.value, answer.unit
    rules = {rule.id: rule.value for rule in answer.misconceptions}
    shown = student.shows(rules, stream)
    if shown is not None:
        value = rules[shown]
    elif student.slips(stream, 1 + unit_steps(value, unit)):
        value = stream.choice([value, *rules.values()])
    raw = short_text(value, unit)
    if stream.integer(2):
        raw = raw.replace(".", ",")
    read = read_quantity(raw, unit)
    amount = read.value if isinstance(read, Quantity) else value
    return form(exercise=exercise, item=answer.id, raw=raw, value=amount, unit=unit)


def _replied(
    exercise: int, question: QuestionKey, student: InventedStudent, stream: Stream
) -> Entry:
    """Answer a question rightly, or as one who guesses."""
    if question.number:
        return _number(NumberAnswer, exercise, question.number, student, stream)
    item, is_right = question.id, not student.slips(stream)
    ids = [option.id for option in question.options]
    if question.kind == "choice":
        choice = question.right[0] if is_right else stream.choice(ids)
        shown = _shown(question.options, student, stream)
        return ChoiceAnswer(exercise=exercise, item=item, choice=shown or choice)
    if question.kind == "order":
        order = tuple(question.right if is_right else ids)
        return OrderAnswer(exercise=exercise, item=item, order=order)
    model = [line.text[:MAX_LINE_LENGTH] for line in question.lines]
    lines = tuple(model if is_right else ["Not sure."] * len(model))
    return LinesAnswer(exercise=exercise, item=item, lines=lines)


def _shown(
    offered: Sequence[OptionKey | StatementKey],
    student: InventedStudent,
    stream: Stream,
) -> str | None:
    """Take the one on offer that a misconception of the student's takes."""
    ids = {each.misconception: each.id for each in offered}
    shown = student.shows(ids, stream)
    return None if shown is None else ids[shown]


def _mistaken(bench: Bench, student: InventedStudent, stream: Stream) -> list[int]:
    """Begin with the tests that the student's misconceptions begin with."""
    names = bench.record.reasoning.tests
    wrong = {MISTAKES[n]: place for place, n in enumerate(names) if n in MISTAKES}
    if NEW_RELAY in names:
        wrong[RELAY_HABIT] = names.index(NEW_RELAY)
    shown = (
        student.shows({one} & wrong.keys(), stream) for one in student.misconceptions
    )
    return [wrong[one] for one in shown if one is not None]


def _tested(
    record: WholeRecord, student: InventedStudent, stream: Stream
) -> Generator[Entry, None, tuple[int, ...]]:
    """Choose tests until the cause seems proved or patience ends."""
    choose = KINDS[student.kind].choose
    bench = new_bench(record)
    mistaken = _mistaken(bench, student, stream)
    while (chosen := choose(bench, stream)) is not None:
        if mistaken:
            chosen = mistaken.pop(0)
        elif student.slips(stream):
            chosen = stream.choice(bench.open_tests)
        yield from _read(record, record.tests[chosen], student, stream)
        bench = bench.after(chosen)
        if student.slips(stream) and not stream.integer(_GIVES_UP):
            break
    return bench.left


def _read(
    record: WholeRecord, test: TestKey, student: InventedStudent, stream: Stream
) -> Iterator[Entry]:
    steps = 1 + record.difficulty["complications"] / _COMPLICATIONS_A_STEP
    wrong = student.slips(stream, steps)
    expected = stream.choice(test.outcomes) if wrong else test.sound_outcome
    number, item = record.exercise, test.id
    yield ChosenTest(exercise=number, item=item, expected=expected)
    wrong = student.slips(stream)
    yield Finding(
        exercise=number,
        item=item,
        outcome=stream.choice(test.outcomes) if wrong else test.outcome,
        statement=_stated(test, student, stream),
    )


def _stated(test: TestKey, student: InventedStudent, stream: Stream) -> str:
    """Say what a reading proves, or what any of the statements on offer says."""
    shown = _shown(test.statements, student, stream)
    if shown is None and student.slips(stream):
        return stream.choice(test.statements).id
    return shown or test.statement


def _concluded(
    record: WholeRecord, left: tuple[int, ...], student: InventedStudent, stream: Stream
) -> Entry:
    """Name a cause that still fits and what cures it; after a slip, any."""
    causes, corrections = record.causes, record.corrections
    fault = record.reasoning.faults[stream.choice(left)]
    cause = next(c for c in causes if c.fault == fault.id)
    correction = next(c for c in corrections if c.repair == fault.repair)
    if student.slips(stream):
        cause, correction = stream.choice(causes), stream.choice(corrections)
    return Conclusion(
        exercise=record.exercise,
        item="conclusion",
        cause=cause.id,
        correction=correction.id,
    )
