"""Sort what came back: which hand-in of each student counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from answer_keys.gradebook.contenders import Contender, Decision, decide
from answer_keys.gradebook.inbox_file import InboxFile
from answer_keys.gradebook.remarks import (
    OUTSIDE,
    Times,
    on_counting,
    on_set_aside,
    on_sign,
)
from answer_keys.gradebook.senders import Senders
from answer_keys.gradebook.standings import (
    Override,
    Receipt,
    Standing,
    Status,
    new_standing,
    with_overrides,
)
from answer_keys.marking.marked import Known, Marked, MarkedWork
from answer_keys.marking.marks import total_of
from answer_keys.marking.policy import HandInPolicy
from workbook.texts import _


@dataclass(slots=True, kw_only=True)
class Inbox:
    """Takes marked files one by one, and keeps of each only what choosing needs.

    In memory is nothing of them, and while a student's hand-ins are decided on theirs;
    close it at the end.

    Attributes
    ----------
    senders : Senders
        Finds whom the path of a file names.
    at : datetime.datetime
        The present.
    overrides : mapping of str to sequence of Override
        By student.
    choices : mapping of str to sequence of str
        By student the SHA-256 of those that the instructor takes.
    room : str
        Of an examination, the folder of what its room has written: that counts, and
        what students hand in themselves is compared with it.
    """

    policy: HandInPolicy
    senders: Senders
    at: datetime
    overrides: Mapping[str, Sequence[Override]] = field(default_factory=dict)
    choices: Mapping[str, Sequence[str]] = field(default_factory=dict)
    room: str = ""
    _file: InboxFile = field(default_factory=InboxFile)

    def close(self) -> None:
        """Let go of all that is kept."""
        self._file.close()

    def remember(self, known: Iterable[Known]) -> None:
        """Take note of hand-ins that were graded before, which comes first."""
        for one in known:
            self._file.add_known(one)

    def take(self, marked: Marked) -> None:
        """Take one file."""
        if marked.work is None:
            status: Status = "unread" if marked.is_unread else "refused"
            self._file.add_receipt(
                Receipt(name=marked.name, status=status, reason=marked.refusal)
            )
        else:
            self._file.add_contender(self._contender(marked, marked.work))

    def _contender(self, marked: Marked, work: MarkedWork) -> Contender:
        known = self._file.known_as(work.sha256)
        seen = known.seen_at if known else self.at
        before = known.received_at if known else seen
        # What was seen cannot have come later, whatever is written on it.
        came = min(work.received_at, before, seen)
        times = Times(newest=work.newest, filed=work.received_at, came=came, seen=seen)
        # What the workbook calls the file is only what the file says, once more.
        own_name = f"hand-in-{work.set_id}-{work.student}"
        path = work.name.replace(own_name, "")
        sign = self.senders.other_than(work.student, path)
        signs = [] if sign is None else [on_sign(work, sign)]
        is_outside = bool(self.room) and not work.name.startswith(f"{self.room}/")
        if is_outside:
            signs.append(_(OUTSIDE))
        late = self.policy.late(came)
        return Contender(
            name=work.name,
            sha256=work.sha256,
            notices=(*work.notices, *times.remarks(self.policy), *signs),
            size=work.entries,
            trail=marked.trail,
            modified=marked.modified or came,
            seen_at=seen,
            is_late=late[0] > 0,
            is_elsewhere=sign is not None or is_outside,
            is_ahead=times.is_ahead,
            standing=self._standing(work, late),
        )

    def _standing(self, work: MarkedWork, late: tuple[int, float]) -> Standing:
        total = work.mark, work.out_of
        # Marks set by hand decide with the others which hand-in is the best.
        if by_hand := self.overrides.get(work.student):
            total = total_of(with_overrides(work.exercises, by_hand))
        counts = self.policy.counts
        return new_standing(work.student, work.sha256, total, counts=counts, late=late)

    def decisions(self) -> Iterator[Decision]:
        """Decide which hand-ins count, student by student, once all are taken."""
        for student in self._file.students():
            some = self._file.contenders_of(student)
            choice = self.choices.get(student, ())
            gone = self._file.gone_of(student)
            decision = decide(some, self.policy.counts, choice, gone)
            for one in some:
                self._file.add_receipt(_receipt(decision, one))
            yield decision

    def together(self, decision: Decision, work: MarkedWork) -> Standing:
        """Return what counts where several hand-ins do, by all of them marked as one.

        It is as late as the latest of them.
        """
        parts = [one.standing for one in decision.counting]
        days = max(one.late_days for one in parts)
        return self._standing(work, (days, max(one.deducted_percent for one in parts)))

    def receipts(self) -> Iterator[Receipt]:
        """Say what became of each file, once all is decided, in the order of names."""
        return self._file.receipts()


def _receipt(decision: Decision, one: Contender) -> Receipt:
    status: Status = "undecided" if one in decision.apart else "superseded"
    write = on_set_aside
    if one in decision.counting:
        status, write = "graded", on_counting
    return Receipt(
        name=one.name,
        status=status,
        student=one.standing.student,
        reason=write(decision, one),
        code=one.code,
    )
