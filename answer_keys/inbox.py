"""Sort what came back: which hand-in of each student counts."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from answer_keys.hand_in import NEVER
from answer_keys.marks import total_of
from answer_keys.receipts import Receipt
from answer_keys.standings import Override, Standing, new_standing, with_overrides

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from answer_keys.marked import Marked, MarkedWork
    from answer_keys.policy import HandInPolicy

__all__ = ["Inbox"]


@dataclass(slots=True, kw_only=True)
class _Contender:
    """A graded hand-in of one student, as small as it can be."""

    name: str
    sha256: str
    notices: tuple[str, ...]
    newest: datetime
    size: int
    is_late: bool
    standing: Standing


@dataclass(slots=True, kw_only=True)
class Inbox:
    """Takes marked files one by one, and keeps of each only what choosing needs.

    Attributes
    ----------
    policy : HandInPolicy
    overrides : mapping of str to sequence of Override
        By student.
    received : mapping of str to datetime.datetime
        Earlier dates of hand-ins by their SHA-256: the first one holds.
    """

    policy: HandInPolicy
    overrides: Mapping[str, Sequence[Override]] = field(default_factory=dict)
    received: Mapping[str, datetime] = field(default_factory=dict)
    _receipts: list[Receipt] = field(default_factory=list)
    _of_student: defaultdict[str, list[_Contender]] = field(
        default_factory=lambda: defaultdict(list)
    )

    def take(self, marked: Marked) -> None:
        """Take one file."""
        if marked.work is None:
            refused = Receipt(name=marked.name, status="refused", reason=marked.refusal)
            self._receipts.append(refused)
        else:
            self._of_student[marked.work.student].append(self._contender(marked.work))

    def _contender(self, work: MarkedWork) -> _Contender:
        came = min(work.received_at, self.received.get(work.sha256, work.received_at))
        total = work.mark, work.out_of
        if by_hand := self.overrides.get(work.student):
            total = total_of(with_overrides(work.exercises, by_hand))
        late = self.policy.late(came)
        return _Contender(
            name=work.name,
            sha256=work.sha256,
            notices=work.notices,
            newest=work.newest,
            size=work.entries,
            is_late=late[0] > 0,
            standing=new_standing(
                work.student,
                work.sha256,
                total,
                counts=self.policy.counts,
                late=late,
            ),
        )

    def standings(self) -> list[Standing]:
        """Choose the hand-in of each student that counts."""
        return [self._counting(some).standing for some in self._of_student.values()]

    def receipts(self) -> tuple[Receipt, ...]:
        """Say what became of every file, in the order of their names."""
        found = list(self._receipts)
        for student, some in self._of_student.items():
            counting = self._counting(some)
            for one in some:
                is_counting = one is counting
                receipt = Receipt(
                    name=one.name,
                    status="graded" if is_counting else "superseded",
                    student=student,
                    reason=_remarks(one) if is_counting else _why(one, counting),
                )
                found.append(receipt)
        return tuple(sorted(found, key=lambda one: one.name))

    def _counting(self, some: Sequence[_Contender]) -> _Contender:
        # Work without times gives way. Of two equally new ones the longer holds more
        # work; then the name decides.
        timed = [one for one in some if one.newest != NEVER] or some
        match self.policy.counts:
            case "best":
                return max(timed, key=lambda one: (one.standing.mark, *_order(one)))
            case "first":
                return min(timed, key=_order)
        return max(timed, key=lambda one: (not one.is_late, *_order(one)))


def _order(one: _Contender) -> tuple[Any, ...]:
    return one.newest, one.size, one.name


def _remarks(one: _Contender) -> str:
    standing, remarks = one.standing, list(one.notices)
    if standing.late_days:
        remarks.append(
            f"Late, in day {standing.late_days} after the deadline: minus "
            f"{standing.deducted_percent:g} %."
        )
    return " ".join(remarks)


def _why(one: _Contender, counting: _Contender) -> str:
    """Say why a hand-in gives way to the one that counts."""
    if one.sha256 == counting.sha256:
        return f"The same bytes as {counting.name}."
    if one.newest == NEVER != counting.newest:
        return f"Without times, so set aside for {counting.name}."
    if counting.standing.counts == "best":
        return f"Not better than {counting.name}."
    if one.is_late and not counting.is_late:
        return f"Came after the deadline, unlike {counting.name}."
    word = "Newer" if counting.standing.counts == "first" else "Older"
    return f"{word} than {counting.name}."
