"""Lay marks beside what reports need of the answer key; the rest of it is let go."""

from __future__ import annotations

from itertools import chain
from sys import intern
from typing import TYPE_CHECKING

from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.mistakes import MISTAKES
from answer_keys.reading_path import planned_tests
from answer_keys.results import GradedExercise, Outline, TestOutline

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from answer_keys.key_record import KeyRecord, NumberKey, TestKey
    from answer_keys.marked import Span
    from answer_keys.marks import ExerciseMarks

__all__ = ["graded_exercise"]

_OF_CONCLUSIONS = {m.id for m in MISCONCEPTIONS.values() if m.kind == "conclusion"}
# A test done in a wrong state can be chosen only where it is on offer.
_OF_CHOICES = {m.id for m in MISCONCEPTIONS.values() if m.kind == "choice"} - set(
    MISTAKES.values()
)


def graded_exercise(
    record: KeyRecord, marks: ExerciseMarks, span: Span | None = None
) -> GradedExercise:
    """Lay the marks of an exercise beside its outline.

    Parameters
    ----------
    record : KeyRecord
    marks : ExerciseMarks
    span : (datetime.datetime, datetime.datetime) or None
        From when to when it was worked on.
    """
    tried = {mark.item for mark in marks.steps if mark.step == "choices"}
    done = [test for test in record.tests if test.id in tried]
    outline = Outline(
        lesson=intern(record.lesson),
        vehicle=record.vehicle,
        kind=intern(record.kind),
        family=intern(record.family),
        fault=intern(record.fault.id),
        cause=intern(record.label_of_fault(record.fault.id)),
        has_questions=bool(record.questions),
        done=_outlines(done),
        planned=_outlines(() if record.questions else planned_tests(record)),
        chances=tuple(map(intern, _chances(record, marks, done))),
    )
    return GradedExercise(outline=outline, marks=marks, span=span)


def _outlines(tests: Iterable[TestKey]) -> tuple[TestOutline, ...]:
    return tuple(
        TestOutline(id=intern(test.id), title=intern(test.title), minutes=test.minutes)
        for test in tests
    )


def _chances(
    record: KeyRecord, marks: ExerciseMarks, done: list[TestKey]
) -> Iterator[str]:
    """Give each misconception once for every time that it could have shown."""
    answered = {mark.item for mark in marks.steps if mark.answer}
    for number in _numbers(record):
        if number.id in answered:
            yield from {rule.id for rule in number.misconceptions}
    is_concluded = any(mark.answer for mark in marks.steps if mark.step == "cause")
    concluded = _OF_CONCLUSIONS if is_concluded else set()
    yield from (_others(record, answered, done) | concluded) - {""}


def _numbers(record: KeyRecord) -> Iterator[NumberKey]:
    """Give every number that was asked for."""
    if not record.questions:
        yield from (*record.predictions, record.verification)
    for question in record.questions:
        if question.number is not None:
            yield question.number


def _others(record: KeyRecord, answered: set[str], done: list[TestKey]) -> set[str]:
    """Give all that choices, findings and chosen answers could show."""
    asked = (one.options for one in record.questions if one.id in answered)
    found = {option.misconception for option in chain.from_iterable(asked)}
    for test in done:
        found |= {statement.misconception for statement in test.statements}
    if done:
        found |= _OF_CHOICES | {MISTAKES.get(test.id, "") for test in record.tests}
    return found
