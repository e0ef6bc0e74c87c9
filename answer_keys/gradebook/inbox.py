"""Sort what came back: which hand-in of each student counts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import chain

from answer_keys.gradebook.contenders import Contender, Decision, decide
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

    Attributes
    ----------
    senders : Senders
        Finds whom the path of a file names.
    at : datetime.datetime
        The present.
    overrides : mapping of str to sequence of Override
        By student.
    known : mapping of str to Known
        Hand-ins that were graded before, by their SHA-256.
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
    known: Mapping[str, Known] = field(default_factory=dict)
    choices: Mapping[str, Sequence[str]] = field(default_factory=dict)
    room: str = ""
    _receipts: list[Receipt] = field(default_factory=list)
    _of_student: defaultdict[str, list[Contender]] = field(
        default_factory=lambda: defaultdict(list)
    )

    def take(self, marked: Marked) -> None:
        """Take one file."""
        if marked.work is None:
            status: Status = "unread" if marked.is_unread else "refused"
            self._receipts.append(
                Receipt(name=marked.name, status=status, reason=marked.refusal)
            )
        else:
            own = self._of_student[marked.work.student]
            own.append(self._contender(marked, marked.work))

    def _contender(self, marked: Marked, work: MarkedWork) -> Contender:
        known = self.known.get(work.sha256)
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

    def decisions(self) -> dict[str, Decision]:
        """Decide for each student which hand-ins count."""
        known = defaultdict[str, list["Known"]](list)
        for one in self.known.values():
            known[one.student].append(one)
        return {
            student: decide(
                some, self.policy.counts, self.choices.get(student, ()), known[student]
            )
            for student, some in self._of_student.items()
        }

    def standings(
        self, decisions: Mapping[str, Decision], together: Mapping[str, MarkedWork]
    ) -> list[Standing]:
        """Return what counts for each student.

        Parameters
        ----------
        together : mapping of str to MarkedWork
            By student, hand-ins that count together, marked as one.
        """
        found = []
        for student, decision in decisions.items():
            parts = [one.standing for one in decision.counting]
            standing = parts[0]
            if student in together:
                # Work of several files is as late as the latest of them.
                late = (
                    max(one.late_days for one in parts),
                    max(one.deducted_percent for one in parts),
                )
                standing = self._standing(together[student], late)
            found.append(standing)
        return found

    def receipts(self, decisions: Mapping[str, Decision]) -> Iterator[Receipt]:
        """Say what became of each file, one by one in the order of their names."""
        found: list[Receipt | Contender] = [*self._receipts]
        found += chain.from_iterable(self._of_student.values())
        for one in sorted(found, key=lambda one: one.name):
            yield one if isinstance(one, Receipt) else _receipt(decisions, one)


def _receipt(decisions: Mapping[str, Decision], one: Contender) -> Receipt:
    student = one.standing.student
    decision = decisions[student]
    status: Status = "undecided" if one in decision.apart else "superseded"
    write = on_set_aside
    if one in decision.counting:
        status, write = "graded", on_counting
    return Receipt(
        name=one.name,
        status=status,
        student=student,
        reason=write(decision, one),
        code=one.code,
    )
