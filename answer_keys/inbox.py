"""Sort what came back: the newest hand-in of each student counts."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from answer_keys.belonging import check_belongs
from answer_keys.errors import RefusedError
from answer_keys.hand_in import NEVER, HandIn
from answer_keys.receipts import Receipt

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence, Set

    from answer_keys.key_record import AnswerKey
    from answer_keys.returned_files import Found

__all__ = ["Inbox", "sorted_inbox"]


@dataclass(slots=True, kw_only=True)
class Inbox:
    """Which hand-in of each student counts, and what became of every file.

    Attributes
    ----------
    receipts : list of Receipt
        One a file, in the order of their names.
    counting : dict of str to HandIn
        By student.
    """

    receipts: list[Receipt] = field(default_factory=list)
    counting: dict[str, HandIn] = field(default_factory=dict)


def sorted_inbox(key: AnswerKey, students: Set[str], found: Iterable[Found]) -> Inbox:
    """Sort what came back.

    Parameters
    ----------
    key : AnswerKey
    students : set of str
        Ids of the roster.
    found : iterable of Found

    Returns
    -------
    Inbox
    """
    inbox = Inbox()
    of_student: defaultdict[str, list[HandIn]] = defaultdict(list)
    for one in found:
        refusal = one.refusal
        if one.hand_in is not None:
            refusal = _foreign(one.hand_in, key, students)
        if one.hand_in is None or refusal is not None:
            inbox.receipts.append(
                Receipt(name=one.name, status="refused", reason=refusal or "")
            )
        else:
            of_student[one.hand_in.student].append(one.hand_in)
    for student, hand_ins in of_student.items():
        _settle(inbox, student, hand_ins)
    inbox.receipts.sort(key=lambda one: one.name)
    return inbox


def _settle(inbox: Inbox, student: str, hand_ins: Sequence[HandIn]) -> None:
    """Let the hand-in with the newest entry count, and note the others."""
    # Of two equally new ones the longer holds more work; then the name decides.
    counting = max(hand_ins, key=lambda one: (one.newest, len(one.entries), one.name))
    inbox.counting[student] = counting
    for one in hand_ins:
        if one is counting:
            receipt = Receipt(
                name=one.name,
                status="graded",
                student=student,
                reason=" ".join(one.notices),
            )
        else:
            receipt = Receipt(
                name=one.name,
                status="superseded",
                student=student,
                reason=f"{_why(one, counting)} {counting.name}.",
            )
        inbox.receipts.append(receipt)


def _why(one: HandIn, counting: HandIn) -> str:
    if one.sha256 == counting.sha256:
        return "The same bytes as"
    return "Without times, so set aside for" if one.newest == NEVER else "Older than"


def _foreign(hand_in: HandIn, key: AnswerKey, students: Set[str]) -> str | None:
    """Say why a hand-in is not of this class set, if it is not."""
    try:
        check_belongs(hand_in, key, students)
    except RefusedError as error:
        return error.reason
    return None
