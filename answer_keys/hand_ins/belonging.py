"""Whether a hand-in belongs to this class set, and speaks of what is in its key."""

from __future__ import annotations

from collections.abc import Collection
from functools import lru_cache

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import HandIn
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.keys.set_ups import with_set_ups
from answer_keys.visible_text import visible
from workbook.errors import RefusedError as SetUpError
from workbook.judging.known_words import misfit, unknown_words
from workbook.record.entries import ChosenTest, Entry, Finding, Hint, Restart
from workbook.texts import _

_SAME_ENTRIES = 1024
"""Entries that are remembered to belong: of some sixty exercises, as in marking."""


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
            _("It belongs to set “{set_id}”, not to “{own}”.").format(
                set_id=visible(hand_in.set_id), own=key.set_id
            )
        )
    if hand_in.edition != key.edition:
        raise RefusedError(
            _(
                "It belongs to edition {edition} of the set; the answer key is "
                "for edition {own}."
            ).format(edition=hand_in.edition, own=key.edition)
        )
    if hand_in.student not in students:
        raise RefusedError(
            _("Student {student} is not in the roster.").format(
                student=_shown(hand_in.student)
            )
        )
    records = key.of_student(hand_in.student)
    if not records:
        raise RefusedError(
            _("The answer key holds nothing for student “{student}”.").format(
                student=visible(hand_in.student)
            )
        )
    for entry in hand_in.entries:
        _check_entry(entry, records.get(entry.exercise))
        if isinstance(entry, Hint) and key.mode != "practice":
            raise RefusedError(
                _("It speaks of hints, which only a practice set gives.")
            )
        if isinstance(entry, Restart) and key.mode != "practice":
            raise RefusedError(
                _(
                    "It begins exercise {exercise} once more, which only a "
                    "practice set allows."
                ).format(exercise=entry.exercise)
            )


def _shown(student: str) -> str:
    """Quote an id; letters that look like others are written out beside it."""
    shown = f"“{visible(student)}”"
    if student.isascii():
        return shown
    return _("{student} (written {letters})").format(
        student=shown, letters=ascii(student)
    )


@lru_cache(maxsize=_SAME_ENTRIES)
def _check_entry(entry: Entry, record: KeyRecord | None) -> None:
    if record is None:
        raise RefusedError(
            _(
                "It speaks of exercise {exercise}, which the student does not have."
            ).format(exercise=entry.exercise)
        )
    if kind := misfit(record, entry):
        raise RefusedError(
            _(
                "Its answer to “{item}” in exercise {exercise} is no {kind} of that "
                "question."
            ).format(item=visible(entry.item), exercise=entry.exercise, kind=kind)
        )
    for word in unknown_words(_with_set_up(record, entry), entry):
        raise RefusedError(
            _(
                "It speaks of “{word}” in exercise {exercise}, which that "
                "exercise does not hold."
            ).format(word=visible(word), exercise=entry.exercise)
        )


def _with_set_up(record: KeyRecord, entry: Entry) -> KeyRecord:
    """Let a record know the set-up that an entry speaks of, if it speaks of one."""
    if not isinstance(entry, ChosenTest | Finding):
        return record
    try:
        return with_set_ups(record, [entry.item])
    except SetUpError as error:
        raise RefusedError(
            _(
                "It speaks of a set-up in exercise {exercise}, “{item}”, that "
                "this circuit cannot be put into."
            ).format(exercise=entry.exercise, item=visible(entry.item))
        ) from error
