"""What became of each returned file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Receipt", "Status"]

Status = Literal["graded", "superseded", "undecided", "refused", "unread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What became of one returned file.

    Attributes
    ----------
    name : str
    status : {"graded", "superseded", "undecided", "refused", "unread"}
        Undecided is what is no continuation of the hand-in that counts, until the
        instructor chooses; unread what was not even looked at.
    student : str or None
        Where the file tells it and it belongs to this class.
    reason : str
        For a graded file, what the instructor should know of it, if anything.
    code : str
        Short for the file among those of its student, where it can be graded.
    """

    name: str
    status: Status
    student: str | None = None
    reason: str = ""
    code: str = ""
