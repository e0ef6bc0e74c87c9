"""The instructor's slips: each reading of a class under its code, all of one size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.writing.printing import page_text
from generator.writing.turn_off_picture import turn_off_picture
from workbook.texts import decimal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from generator.writing.reading_codes import Place
    from generator.writing.scope import ScopePicture
    from generator.writing.workbooks import Workbook

__all__ = ["Slip", "slips_of", "slips_text"]

_ROWS = 20
"""Rows of slips on a sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """What one instrument shows, with its screen where that is a scope."""

    place: Place
    display: str
    picture: ScopePicture | None


def slips_of(workbook: Workbook) -> list[Slip]:
    """Give every reading that a student may order: those of diagnoses.

    What is shown is written as in the language spoken.
    """
    return [
        Slip(
            place=(workbook.student, number, test.id),
            display=decimal(reading.said),
            picture=None if shown is None else turn_off_picture(shown),
        )
        for number, exercise in enumerate(workbook.exercises, start=1)
        if exercise.radical.kind == "diagnosis"
        for test, reading in zip(exercise.tests, exercise.readings, strict=True)
        for shown in (reading.turn_off,)
    ]


def slips_text(set_id: str, slips: Sequence[Slip], codes: Mapping[Place, str]) -> str:
    """Write all readings of a class, sorted by code: to look up, or to cut.

    Their order and their size say nothing of student, exercise, test or cause.

    Parameters
    ----------
    set_id : str
    slips : sequence of Slip
    codes : mapping
        As `reading_codes` gives them.
    """
    by_code = sorted((codes[slip.place], slip) for slip in slips)
    return page_text(
        "slips.html.j2",
        set_id=set_id,
        rows=_ROWS,
        slips=[(code, slip.display) for code, slip in by_code],
        screens=[
            (code, slip.display, slip.picture)
            for code, slip in by_code
            if slip.picture is not None
        ],
    )
