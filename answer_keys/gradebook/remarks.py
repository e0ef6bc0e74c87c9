"""What the instructor is told of a hand-in: what does not fit, and how to decide."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from answer_keys.gradebook.contenders import Contender, Decision
from answer_keys.gradebook.senders import Sign
from answer_keys.hand_ins.continuation import lacking
from answer_keys.marking.marked import MarkedWork
from answer_keys.marking.policy import HandInPolicy
from answer_keys.visible_text import visible
from workbook.texts import _, figure, grouped, later

GRADE = "clampbook grade SET"
"""The command that grades, as remarks say it."""

OUTSIDE = later("It is not what the examination's room has written.")
"""Of an examination, what the instructor is told of a file that a student handed in."""

# A clock that shows the time of another zone as UTC is at most 14 hours ahead. Times in
# archives have no zone at all.
_ZONES = timedelta(days=1)
# Clocks that are set by hand differ by minutes.
_CLOCKS = timedelta(minutes=10)
# Of more files than this a sentence would be a list.
_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """The times of a hand-in, each by another clock.

    Attributes
    ----------
    newest : datetime.datetime
        Of its newest entry, by the student's clock.
    filed : datetime.datetime
        Of its file or of the place in an archive, as the class set goes by.
    came : datetime.datetime
        When it came by all that is known.
    seen : datetime.datetime
        When it was graded first.
    """

    newest: datetime
    filed: datetime
    came: datetime
    seen: datetime

    @property
    def is_ahead(self) -> bool:
        """Whether it is dated in the future, beyond what a wrong zone explains."""
        return self.newest - self.seen > _ZONES

    def remarks(self, policy: HandInPolicy) -> Iterator[str]:
        """Say which of them do not fit together."""
        newest = _("Its newest entry is dated {newest}").format(
            newest=_moment(self.newest)
        )
        apart = _ZONES if policy.clock == "archive" else _CLOCKS
        if self.is_ahead:
            yield (
                _(
                    "{newest}, yet it was here on {seen}: a clock was wrong, or "
                    "the dates were set."
                ).format(newest=newest, seen=_moment(self.seen))
            )
        elif policy.clock != "student" and self.newest - self.filed > apart:
            yield (
                _(
                    "{newest}, after the time of its file, {filed}: a clock or a "
                    "zone was wrong, or the file's time was set."
                ).format(newest=newest, filed=_moment(self.filed))
            )
        due = policy.deadline
        # By the file's time it is early, by the student's own clock it is late.
        if due is not None and self.came <= due and self.newest - due > _CLOCKS:
            yield _(
                "{newest}, after the deadline, and yet it counts as in time."
            ).format(newest=newest)


def on_sign(work: MarkedWork, sign: Sign) -> str:
    """Say that somebody else is named where a hand-in lies."""
    return _(
        "It says that {student} wrote it, and “{part}” names {other}: ask "
        "whose work it is."
    ).format(student=work.student, part=visible(sign.part, 80), other=sign.student)


def on_counting(decision: Decision, one: Contender) -> str:
    """Say of a hand-in that counts what the instructor should know."""
    remarks, standing = list(one.notices), one.standing
    others = [each.name for each in decision.counting if each is not one]
    if others:
        remarks.append(
            _("Counts together with {others}, as you chose.").format(
                others=_listed(others)
            )
        )
    elif decision.is_chosen:
        remarks.append(_("Counts as you chose."))
    if standing.late_days:
        remarks.append(
            _(
                "Late, in day {late_days} after the deadline: minus "
                "{deducted_percent} %."
            ).format(
                late_days=standing.late_days,
                deducted_percent=figure(standing.deducted_percent),
            )
        )
    tried = {each.sha256 for each in decision.among}
    if standing.counts == "best" and len(tried) > 1:
        remarks.append(
            _("The best of {tried} hand-ins.").format(tried=grouped(len(tried)))
        )
    return " ".join([*remarks, *_open_questions(decision, one)])


def _open_questions(decision: Decision, one: Contender) -> Iterator[str]:
    student = one.standing.student
    if decision.apart:
        names = [each.name for each in decision.apart]
        yield (
            _(
                "Until you choose, this one counts for {student} and not {names}, "
                "which may be somebody else's or from another computer."
            ).format(student=student, names=_listed(names))
        )
    typed = [each.name for each in decision.rest if each.size and not each.trail]
    if typed and not decision.is_chosen:
        yield _("Set aside for it is {typed}, typed in from paper.").format(
            typed=_listed(typed)
        )
    if decision.gone is not None:
        yield (
            _(
                "“{file}”, which counted before, is not in handed-in/ any more, "
                "and this one does not go on from it. If that is right, "
                "{command}."
            ).format(file=decision.gone.file, command=_command(student, one))
        )
    if decision.is_choice_gone:
        yield _("What you chose is not in handed-in/ any more.")


def on_set_aside(decision: Decision, one: Contender) -> str:
    """Say why a hand-in does not count, and how it can."""
    counting, student = decision.counting[0], one.standing.student
    if one in decision.apart:
        gap = lacking(one.trail, counting.trail)
        lacks = _(
            "Lacks {gap} of the {size} entries of {name}, which counts until you "
            "choose."
        ).format(gap=grouped(gap), size=grouped(counting.size), name=counting.name)
        whole = _("Not {name}, which counts until you choose.").format(
            name=counting.name
        )
        return " ".join(
            [
                *one.notices,
                lacks if gap else whole,
                *_beyond(one, counting),
                _("To take this one, {command}.").format(
                    command=_command(student, one)
                ),
                _("To take both as one work, {command}.").format(
                    command=_command(student, counting, one)
                ),
            ]
        )
    why = _why(decision, counting, one)
    if one in decision.rest and one.size and one.sha256 != counting.sha256:
        take = _("To take this one, {command}.").format(command=_command(student, one))
        why = f"{why} {take}"
    return f"{one.notices[-1]} {why}" if one.is_elsewhere else why


def _beyond(one: Contender, counting: Contender) -> Iterator[str]:
    """Compare a file with what the room has written, line by line."""
    if _(OUTSIDE) in one.notices:
        more = lacking(counting.trail, one.trail)
        yield _(
            "It has {more} entries that the room has not, or has otherwise."
        ).format(more=grouped(more))


def _why(decision: Decision, counting: Contender, one: Contender) -> str:
    if one.sha256 == counting.sha256:
        return _("The same bytes as {name}.").format(name=counting.name)
    if one in decision.rest:
        if decision.is_chosen:
            return _("Set aside, because you chose {name}.").format(name=counting.name)
        return _("Without times, so set aside for {name}.").format(name=counting.name)
    if counting.standing.counts == "best":
        return _("Not better than {name}.").format(name=counting.name)
    if one.is_late and not counting.is_late:
        return _("Came after the deadline, unlike {name}.").format(name=counting.name)
    if counting.standing.counts == "first":
        return _("Newer than {name}.").format(name=counting.name)
    return _("Older than {name}.").format(name=counting.name)


def _command(student: str, *some: Contender) -> str:
    """Write the command by codes: a student's name for a file may mislead a shell."""
    takes = " ".join(f"--take {shlex.quote(student)} {one.code}" for one in some)
    return _("type: {grade} {takes}").format(grade=GRADE, takes=takes)


def _listed(names: Iterable[str]) -> str:
    some = [f"“{name}”" for name in sorted(names)]
    more = len(some) - _NAMED
    return ", ".join(some[:_NAMED]) + (
        _(" and {more} more").format(more=grouped(more)) if more > 0 else ""
    )


def _moment(at: datetime) -> str:
    plain = at.astimezone(UTC).replace(tzinfo=None)
    return f"{plain.isoformat(' ', timespec='minutes')} UTC"
