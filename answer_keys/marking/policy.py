"""Which of several hand-ins counts, and what a late one loses."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Literal

from answer_keys.errors import RubricFault

POLICY_TEXT = """\
# Which of several hand-ins of a student counts, and what a late one loses. Without
# these lines the last one counts, and none is late. Take the # away to set them.
# [hand_ins]
# counts = "last"              # the last before the deadline; or "best", or "first"
# deadline = 2026-12-01T18:00:00+01:00
# late_percent_per_day = 10    # of the marks, for each day begun
# late_percent_at_most = 50
# clock = "file"               # time of the returned file; "archive": the time beside
#                              # it in a platform's archive; "student": their clock
"""
"""What a rubric file says of it when it is new."""

_COUNTS, _CLOCKS = ("last", "best", "first"), ("file", "archive", "student")
_DAY = timedelta(days=1)
_ALLOWED = {
    "counts": '"last" (before the deadline, where there is one), "best" or "first"',
    "deadline": "a date with a time, such as 2026-12-01T18:00:00+01:00; without an "
    "offset it is this machine's time",
    "late_percent_per_day": "a number from 0 to 100",
    "late_percent_at_most": "a number from 0 to 100",
    "clock": '"file" (the time of the returned file), "archive" (the time that a '
    'platform wrote beside it in its archive) or "student"',
}


@dataclass(frozen=True, slots=True, kw_only=True)
class HandInPolicy:
    """Which of several hand-ins counts, and what a late one loses.

    Attributes
    ----------
    counts : {"last", "best", "first"}
        Of hand-ins that go on from each other, by how far each goes; ``best`` tries
        those that do not, too, by the mark less what is deducted. ``last`` passes over
        what came late where something came in time.
    deadline : datetime.datetime or None
        Aware of its zone.
    percent_per_day, at_most_percent : float
        Of the marks, for each day begun since the deadline.
    clock : {"file", "archive", "student"}
        Whose clock tells when a hand-in came.
    """

    counts: Literal["last", "best", "first"] = "last"
    deadline: datetime | None = None
    percent_per_day: float = 0.0
    at_most_percent: float = 100.0
    clock: Literal["file", "archive", "student"] = "file"

    def late(self, received_at: datetime) -> tuple[int, float]:
        """Give the days begun since the deadline, and the percent they cost.

        Examples
        --------
        >>> noon = datetime(2026, 12, 1, 12, tzinfo=UTC)
        >>> policy = HandInPolicy(deadline=noon, percent_per_day=10)
        >>> policy.late(noon), policy.late(noon + timedelta(days=1, seconds=1))
        ((0, 0.0), (2, 20.0))
        """
        if self.deadline is None or received_at <= self.deadline:
            return 0, 0.0
        days = math.ceil((received_at - self.deadline) / _DAY)
        return days, min(days * float(self.percent_per_day), self.at_most_percent)


def policy_faults(table: object, lines: Mapping[str, int]) -> Iterator[RubricFault]:
    """Find every fault of a table ``[hand_ins]``.

    Parameters
    ----------
    table : object
        As the file holds it.
    lines : mapping of str to int
        The line of each word of the file.
    """
    if not isinstance(table, dict):
        yield _fault(lines.get("hand_ins"), "hand_ins is no table", "[hand_ins]")
        return
    for word, value in table.items():
        if word not in _ALLOWED:
            yield _fault(lines.get(word), f"{word!r} is not known", ", ".join(_ALLOWED))
        elif not _is_allowed(word, value):
            yield _fault(lines.get(word), f"{word} = {value!r}", _ALLOWED[word])


def policy_from_table(table: Mapping[str, Any]) -> HandInPolicy:
    """Build a policy from a table that has no fault."""
    deadline = table.get("deadline")
    return HandInPolicy(
        counts=table.get("counts", "last"),
        # A time without an offset is one of this machine.
        deadline=None if deadline is None else deadline.astimezone(UTC),
        percent_per_day=float(table.get("late_percent_per_day", 0.0)),
        at_most_percent=float(table.get("late_percent_at_most", 100.0)),
        clock=table.get("clock", "file"),
    )


def _fault(line: int | None, found: str, allowed: str) -> RubricFault:
    return RubricFault(line=line, found=found, allowed=allowed)


def _is_allowed(word: str, value: object) -> bool:
    if word == "deadline":
        return isinstance(value, datetime)
    if word in ("counts", "clock"):
        return value in (_COUNTS if word == "counts" else _CLOCKS)
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and 0 <= value <= 100
    )
