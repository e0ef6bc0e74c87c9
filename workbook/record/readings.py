"""A reading as the instructor's machine gives it in an examination."""

from __future__ import annotations

from dataclasses import dataclass

from workbook.record.payload import Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What an instrument displays; only one with a screen has a ``picture``."""

    display: str
    picture: Picture | None = None
