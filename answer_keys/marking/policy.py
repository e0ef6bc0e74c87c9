"""Which of several hand-ins counts, and what a late one loses."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from answer_keys.checked_toml import Strict

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

_DAY = timedelta(days=1)


def _with_a_time(given: object) -> object:
    if not isinstance(given, datetime):
        raise ValueError("write a date with a time, as 2026-12-01T18:00:00+01:00")
    return given


def _in_utc(deadline: datetime) -> datetime:
    # A time without an offset is one of this machine.
    return deadline.astimezone(UTC)


_Deadline = Annotated[datetime, BeforeValidator(_with_a_time), AfterValidator(_in_utc)]
_Percent = Annotated[float, Field(ge=0, le=100, strict=True)]


class HandInPolicy(Strict):
    """Which of several hand-ins counts, and what a late one loses.

    Attributes
    ----------
    counts : {"last", "best", "first"}
        Of hand-ins that go on from each other, by how far each goes; ``best`` tries
        those that do not, too, by the mark less what is deducted. ``last`` passes over
        what came late where something came in time.
    deadline : datetime.datetime or None
        Aware of its zone.
    late_percent_per_day, late_percent_at_most : float
        Of the marks, for each day begun since the deadline.
    clock : {"file", "archive", "student"}
        Whose clock tells when a hand-in came: that of the returned file, the time that
        a platform wrote beside it in its archive, or the student's.
    """

    counts: Literal["last", "best", "first"] = "last"
    deadline: _Deadline | None = None
    late_percent_per_day: _Percent = 0.0
    late_percent_at_most: _Percent = 100.0
    clock: Literal["file", "archive", "student"] = "file"

    def late(self, received_at: datetime) -> tuple[int, float]:
        """Give the days begun since the deadline, and the percent they cost.

        Examples
        --------
        >>> noon = datetime(2026, 12, 1, 12, tzinfo=UTC)
        >>> policy = HandInPolicy(deadline=noon, late_percent_per_day=10)
        >>> policy.late(noon), policy.late(noon + timedelta(days=1, seconds=1))
        ((0, 0.0), (2, 20.0))
        """
        if self.deadline is None or received_at <= self.deadline:
            return 0, 0.0
        days = math.ceil((received_at - self.deadline) / _DAY)
        percent = min(days * self.late_percent_per_day, self.late_percent_at_most)
        return days, percent
