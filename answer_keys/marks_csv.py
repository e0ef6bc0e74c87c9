"""Marks as a table for people, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from answer_keys.visible_text import name_text

if TYPE_CHECKING:
    from answer_keys.results import ClassResult

__all__ = ["guarded", "marks_csv"]

# What a spreadsheet takes for the start of a formula, in ASCII and full width.
_FORMULA_STARTS = "=+-@\t\r\n\0＝＋－＠"


def guarded(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would take for a formula.

    Examples
    --------
    >>> guarded("=1+1"), guarded("Mira Aldeen")
    ("'=1+1", 'Mira Aldeen')
    """
    start = text.lstrip(" \u00a0")[:1]
    return f"'{text}" if start and start in _FORMULA_STARTS else text


def marks_csv(result: ClassResult) -> str:
    """Write one row a student: marks of each exercise, total, what was graded.

    Parameters
    ----------
    result : ClassResult

    Returns
    -------
    str
        CSV with a byte order mark, by which spreadsheets know UTF-8.
    """
    numbers = sorted(
        {
            one.record.exercise
            for student in result.students
            for one in student.exercises
        }
    )
    file = io.StringIO()
    table = csv.writer(file, lineterminator="\r\n")
    exercises = [f"exercise {number}" for number in numbers]
    table.writerow(["id", "name", *exercises, "total", "out of", "hand-in"])
    for student in result.students:
        marks = {one.record.exercise: one.marks.mark for one in student.exercises}
        row = [f"{marks[n]:.2f}" if n in marks else "" for n in numbers]
        totals = [f"{student.total:.2f}", f"{student.out_of:.2f}"]
        came = student.file or "none"
        table.writerow(
            [
                guarded(student.id),
                guarded(name_text(student.name)),
                *row,
                *(totals if student.file else ["", ""]),
                guarded(came),
            ]
        )
    return "\ufeff" + file.getvalue()
