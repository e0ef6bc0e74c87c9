"""The rules of marking: what each step carries, and which hand-in counts.

They are plain records, so that a process which marks needs nothing that checks files.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

from answer_keys.method import DEFAULT_METHOD, Step

QUESTIONS = "questions"
"""The step of an exercise that is no diagnosis; it carries the marks of all steps."""

Counts = Literal["last", "best", "first"]
Clock = Literal["file", "archive", "student"]

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
    late_percent_per_day, late_percent_at_most : float
        Of the marks, for each day begun since the deadline.
    clock : {"file", "archive", "student"}
        Whose clock tells when a hand-in came: that of the returned file, the time that
        a platform wrote beside it in its archive, or the student's.
    """

    counts: Counts = "last"
    deadline: datetime | None = None
    late_percent_per_day: float = 0.0
    late_percent_at_most: float = 100.0
    clock: Clock = "file"

    def late(self, received_at: datetime) -> tuple[int, float]:
        """Return the days begun since the deadline, and the percent they cost.

        Examples
        --------
        >>> from datetime import UTC
        >>> noon = datetime(2026, 12, 1, 12, tzinfo=UTC)
        >>> policy = HandInPolicy(deadline=noon, late_percent_per_day=10.0)
        >>> policy.late(noon), policy.late(noon + timedelta(days=1, seconds=1))
        ((0, 0.0), (2, 20.0))
        """
        if self.deadline is None or received_at <= self.deadline:
            return 0, 0.0
        days = math.ceil((received_at - self.deadline) / _DAY)
        percent = min(days * self.late_percent_per_day, self.late_percent_at_most)
        return days, percent


@dataclass(frozen=True, slots=True, kw_only=True)
class Rubric:
    """Marks of each step of an exercise.

    Attributes
    ----------
    weights : mapping of str to float
        By step, in the order of marking.
    policy : HandInPolicy
        Which of several hand-ins counts, and what a late one loses.
    method : tuple of Step
        In which order tests are done: who follows it loses nothing by it.
    """

    # A mapping has no hash.
    weights: Mapping[str, float] = field(hash=False)
    policy: HandInPolicy = field(default_factory=HandInPolicy)
    method: tuple[Step, ...] = DEFAULT_METHOD

    @property
    def total(self) -> float:
        """Marks of a whole exercise."""
        return math.fsum(self.weights.values())

    @property
    def sha256(self) -> str:
        """Fingerprint of all that marks of a step depend on."""
        # Not the policy: what counts, and what is late, is decided beside the marks.
        judged = [dict(self.weights), self.method]
        text = json.dumps(judged, sort_keys=True)
        return hashlib.sha256(text.encode("ascii")).hexdigest()
