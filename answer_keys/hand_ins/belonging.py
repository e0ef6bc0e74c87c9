"""Whether a hand-in belongs to this class set, and speaks of what is in its key."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import HandIn
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.keys.set_ups import with_set_ups
from answer_keys.visible_text import visible
from workbook.errors import RefusedError as SetUpError
from workbook.judging.known_words import misfit, unknown_words
from workbook.record.entries import ChosenTest, Entry, Finding, Hint, Restart


def check_belongs(hand_in: HandIn, key: AnswerKey, students: Collection[str]) -> None:
    """Refuse a hand-in that cannot be graded by this key.

    Parameters
    ----------
    students : collection of str
        Ids of the roster.

    Raises
    ------
    RefusedError
        Other set, other edition, unknown student, or an entry about something that
        the student's exercises do not hold, or a hint or a second beginning where the
        set is no practice.
    """
    # From the file to the entry, so that the first reason is the one to mend.
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
    for entry in hand_in.entries:
        _check_entry(entry, records)
        if isinstance(entry, Hint) and key.mode != "practice":
            raise RefusedError("It speaks of hints, which only a practice set gives.")
        if isinstance(entry, Restart) and key.mode != "practice":
            raise RefusedError(
                f"It begins exercise {entry.exercise} once more, which only a practice "
                "set allows."
            )


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
    if kind := misfit(record, entry):
        raise RefusedError(
            f"Its answer to “{visible(entry.item)}” in exercise {entry.exercise} "
            f"is no {kind} of that question."
        )
    for word in unknown_words(_with_set_up(record, entry), entry):
        raise RefusedError(
            f"It speaks of “{visible(word)}” in exercise {entry.exercise}, which "
            "that exercise does not hold."
        )


def _with_set_up(record: KeyRecord, entry: Entry) -> KeyRecord:
    """Let a record know the set-up that an entry speaks of, if it speaks of one."""
    if not isinstance(entry, ChosenTest | Finding):
        return record
    try:
        return with_set_ups(record, [entry.item])
    except SetUpError as error:
        raise RefusedError(
            f"It speaks of a set-up in exercise {entry.exercise}, "
            f"“{visible(entry.item)}”, that this circuit cannot be put into."
        ) from error
