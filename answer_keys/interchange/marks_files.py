"""Marks as a table for people: rows of cells, as CSV and as a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Literal

import xlsxwriter

from answer_keys.gradebook.results import ClassResult, StudentResult
from answer_keys.visible_text import name_text

Cell = str | float | None
"""Text, a mark, or nothing."""

# What a spreadsheet takes for the start of a formula, in ASCII and full width.
_FORMULA_STARTS = "=+-@\t\r\n\0＝＋－＠"


def guarded(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would take for a formula.

    Examples
    --------
    >>> guarded("=1+1"), guarded("Mira Aldeen")
    ("'=1+1", 'Mira Aldeen')

    References
    ----------
    CWE-1236, Improper Neutralization of Formula Elements in a CSV File; OWASP ASVS
    5.0, 1.2.10.
    """
    start = text.lstrip(" \u00a0")[:1]
    return f"'{text}" if start and start in _FORMULA_STARTS else text


def marks_rows(result: ClassResult) -> Iterator[tuple[Cell, ...]]:
    """Return a heading, then one row a student: marks of each exercise and their total.

    Yields
    ------
    tuple of str, float or None
        Text is guarded already.
    """
    numbers = sorted(
        {one.marks.exercise for each in result.students for one in each.exercises}
    )
    exercises = (f"exercise {number}" for number in numbers)
    yield ("id", "name", *exercises, "total", "out of", "hand-in")
    for student in result.students:
        yield _row(student, numbers)


def _row(student: StudentResult, numbers: list[int]) -> tuple[Cell, ...]:
    marks = {one.marks.exercise: one.marks.mark for one in student.exercises}
    is_graded = student.file is not None
    return (
        guarded(student.id),
        guarded(name_text(student.name)),
        *(marks.get(number) for number in numbers),
        student.total if is_graded else None,
        student.out_of if is_graded else None,
        guarded(student.file or "none"),
    )


Decimal = Literal["point", "comma"]
"""What stands before the decimals."""


def mark_text(mark: float, decimal: Decimal = "point") -> str:
    """Write a mark with two decimals.

    Examples
    --------
    >>> mark_text(87.5), mark_text(87.5, "comma")
    ('87.50', '87,50')
    """
    text = f"{mark:.2f}"
    return text.replace(".", ",") if decimal == "comma" else text


def marks_csv(result: ClassResult, decimal: Decimal = "point") -> str:
    """Write one row a student: marks of each exercise, total, what was graded.

    Parameters
    ----------
    decimal : {"point", "comma"}
        Where commas stand before decimals, semicolons stand between cells: so do
        spreadsheets, wherever people write numbers like that.

    Returns
    -------
    str
        CSV with a byte order mark, by which spreadsheets know UTF-8.
    """
    file = io.StringIO()
    delimiter = ";" if decimal == "comma" else ","
    table = csv.writer(file, delimiter=delimiter, lineterminator="\r\n")
    for row in marks_rows(result):
        table.writerow([_text(cell, decimal) for cell in row])
    return "\ufeff" + file.getvalue()


def _text(cell: Cell, decimal: Decimal) -> str:
    if cell is None:
        return ""
    return cell if isinstance(cell, str) else mark_text(cell, decimal)


# No text is ever taken for more than text.
_TEXT_STAYS_TEXT = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}
# The same marks give the same bytes, whenever they are written.
_WRITTEN = datetime(2000, 1, 1, tzinfo=UTC).replace(tzinfo=None)


def marks_xlsx(result: ClassResult) -> bytes:
    """Write the same table as `marks_csv`, with its marks as numbers.

    Returns
    -------
    bytes
        An Office Open XML workbook of one sheet, whose heading stays in view.
    """
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, _TEXT_STAYS_TEXT) as book:
        book.set_properties({"created": _WRITTEN, "title": f"Set {result.set_id}"})
        heading, mark = book.add_format({"bold": True}), book.add_format()
        mark.set_num_format("0.00")
        sheet = book.add_worksheet("marks")
        for number, row in enumerate(marks_rows(result)):
            for column, cell in enumerate(row):
                if isinstance(cell, str):
                    style = None if number else heading
                    sheet.write_string(number, column, cell, style)
                elif cell is not None:
                    # The digits of the CSV: both are the same table.
                    sheet.write_number(number, column, round(cell, 2), mark)
        sheet.freeze_panes(1, 2)
        sheet.autofit()
    return file.getvalue()
