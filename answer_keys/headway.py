"""How long work says how far it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

from workbook.texts import _, later

Stage = Literal[
    "drawing",
    "validating",
    "working",
    "grading",
    "writing",
    "handouts",
    "printing",
    "building",
    "students",
    "classes",
]
"""What is being done, by an id that stays the same in all languages."""

Progress = Callable[[Stage, int, int], None]
"""Told the stage, how much of it is done, and of how much: 0 where nobody knows yet.

Whatever it raises ends the work, which leaves nothing half-written behind.
"""

_TEXTS: Mapping[Stage, str] = {
    "drawing": later("drawing workbooks"),
    "validating": later("validating workbooks"),
    "working": later("working exercises"),
    "grading": later("grading"),
    "writing": later("writing reports"),
    "handouts": later("writing handouts"),
    "printing": later("printing to PDF"),
    "building": later("building the site"),
    "students": later("adding students"),
    "classes": later("classes done"),
}


def stage_text(stage: Stage) -> str:
    """Say what is being done, in the language spoken.

    Examples
    --------
    >>> stage_text("drawing")
    'drawing workbooks'
    """
    return _(_TEXTS[stage])
