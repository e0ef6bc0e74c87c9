"""Whether a hand-in belongs to this class set, and speaks of what is in its key."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

import msgspec

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import HandIn
from answer_keys.hand_ins.hand_in_lines import (
    Chosen,
    Concluded,
    Entry,
    Finding,
    Hinted,
    Predicted,
    Replied,
    Verified,
)
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord, TestKey
from answer_keys.visible_text import visible
from workbook.judging.questions import is_answer


def check_belongs(hand_in: HandIn, key: AnswerKey, students: Collection[str]) -> None:
    """Refuse a hand-in that cannot be graded by this key.

    Parameters
    ----------
    hand_in : HandIn
    key : AnswerKey
    students : collection of str
        Ids of the roster.

    Raises
    ------
    RefusedError
        Other set, other edition, unknown student, or an entry about something that
        the student's exercises do not hold, or a hint in a graded set.
    """
    if hand_in.set_id != key.set_id:
        raise RefusedError(
            f"It belongs to set “{visible(hand_in.set_id)}”, not to “{key.set_id}”."
        )
    if hand_in.edition != key.edition:
        raise RefusedError(
            f"It belongs to edition {hand_in.edition} of the set; the answer key is "
            f"for edition {key.edition}."
        )
    if hand_in.student not in students:
        raise RefusedError(f"Student {_shown(hand_in.student)} is not in the roster.")
    records = key.of_student(hand_in.student)
    if not records:
        raise RefusedError(
            f"The answer key holds nothing for student “{visible(hand_in.student)}”."
        )
    for _, entry in hand_in.entries:
        _check_entry(entry, records)
        if isinstance(entry, Hinted) and key.mode != "practice":
            raise RefusedError("It speaks of hints, which only a practice set gives.")


def _shown(student: str) -> str:
    """Quote an id; letters that look like others are written out beside it."""
    written = "" if student.isascii() else f" (written {student!a})"
    return f"“{visible(student)}”{written}"


def _check_entry(entry: Entry, records: Mapping[int, KeyRecord]) -> None:
    record = records.get(entry.exercise)
    if record is None:
        raise RefusedError(
            f"It speaks of exercise {entry.exercise}, which the student does not have."
        )
    if isinstance(entry, Replied):
        _check_form(entry, record)
    for word, is_known in _words(entry, record):
        if not is_known:
            raise RefusedError(
                f"It speaks of “{visible(word)}” in exercise {entry.exercise}, which "
                "that exercise does not hold."
            )


def _check_form(entry: Replied, record: KeyRecord) -> None:
    """Refuse an answer that is none to its question, such as a choice for a number."""
    for question in record.questions:
        if question.id == entry.item and not is_answer(
            question, msgspec.to_builtins(entry)
        ):
            raise RefusedError(
                f"Its answer to “{visible(entry.item)}” in exercise {entry.exercise} "
                f"is no {question.kind} of that question."
            )


def _words(entry: Entry, record: KeyRecord) -> Iterator[tuple[str, bool]]:
    """Tell of each word of an entry whether its exercise holds it."""
    match entry:
        case Chosen() | Finding():
            test = record.test(entry.item)
            yield entry.item, test is not None
            if test is not None:
                yield from _words_of_test(entry, test)
        case Predicted():
            yield entry.item, any(entry.item == key.id for key in record.predictions)
        case Verified():
            yield entry.item, entry.item == record.verification.id
        case Concluded():
            yield entry.cause, any(entry.cause == one.id for one in record.causes)
            right = (one.id for one in record.corrections)
            yield entry.correction, entry.correction in right
        case Replied():
            yield entry.item, any(entry.item == one.id for one in record.questions)


def _words_of_test(
    entry: Chosen | Finding, test: TestKey
) -> Iterator[tuple[str, bool]]:
    if isinstance(entry, Chosen):
        yield entry.expected, entry.expected in test.outcomes
        return
    yield entry.outcome, entry.outcome in test.outcomes
    yield entry.statement, any(entry.statement == one.id for one in test.statements)
