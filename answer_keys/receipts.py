"""What became of each returned file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Receipt"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What became of one returned file.

    Attributes
    ----------
    name : str
    status : {"graded", "superseded", "refused"}
    student : str or None
        Where the file tells it and it belongs to this class.
    reason : str
        For a graded file, what the instructor should know of it, if anything.
    """

    name: str
    status: Literal["graded", "superseded", "refused"]
    student: str | None = None
    reason: str = ""
