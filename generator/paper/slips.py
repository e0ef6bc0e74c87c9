"""The instructor's slips: each reading of a class under its code, all of one size."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from answer_keys.keys.key_record import KeyRecord
from generator.drawing.stream import Stream
from generator.paper.printing import page_text
from generator.pictures.scope import turn_off_picture
from generator.pictures.scope_screen import ScopePicture
from generator.workbooks.workbook import Workbook
from workbook.texts import decimal

# Without letters and digits that look alike in a bad print.
_CHARACTERS = "abcdefghjkmnpqrstuvwxyz23456789"
# Some 900 million codes: nobody finds another slip by trying.
_LENGTH = 6
Place = tuple[str, int, str]
"""Student, exercise, test."""


def reading_codes(secret: bytes, records: Iterable[KeyRecord]) -> dict[Place, str]:
    """Draw a code for each reading that students may order, no two alike.

    Readings are ordered in a diagnosis only, not where questions are asked.

    Parameters
    ----------
    secret : bytes
        The class secret.
    """
    codes, taken = dict[Place, str](), set[str]()
    for record in records:
        if record.questions:
            continue
        for test in record.tests:
            place = (record.student, record.exercise, test.id)
            stream = Stream(secret, "reading code", *place)
            # Drawn on from the same stream, so that paper written again has the same
            # codes.
            while (code := _code(stream)) in taken:
                pass
            taken.add(code)
            codes[place] = code
    return codes


def _code(stream: Stream) -> str:
    code = "".join(stream.choice(_CHARACTERS) for _ in range(_LENGTH))
    return f"{code[:3]}-{code[3:]}"


_ROWS = 22
"""Rows of slips on a sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """What one instrument shows, with its screen where that is a scope."""

    place: Place
    display: str
    picture: ScopePicture | None


def slips_of(workbook: Workbook) -> list[Slip]:
    """Return every reading that a student may order: those of diagnoses.

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


def slips_text(
    set_id: str,
    slips: Sequence[Slip],
    codes: Mapping[Place, str],
    span: tuple[str, str] | None = None,
) -> str:
    """Write readings of some students, sorted by code: to look up, or to cut.

    Their order and their size say nothing of student, exercise, test or cause.

    Parameters
    ----------
    codes : mapping
        As `reading_codes` gives them.
    span : (str, str) or None
        Ids of the first and the last student; None is the whole class.
    """
    by_code = sorted((codes[slip.place], slip) for slip in slips)
    return page_text(
        "slips.html.j2",
        set_id=set_id,
        span=span,
        rows=_ROWS,
        slips=[(code, slip.display) for code, slip in by_code],
        screens=[
            (code, slip.display, slip.picture)
            for code, slip in by_code
            if slip.picture is not None
        ],
    )
