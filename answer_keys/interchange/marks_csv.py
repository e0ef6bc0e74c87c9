"""Marks as CSV for people, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Literal

from answer_keys.interchange.marks_table import Cell, marks_rows

if TYPE_CHECKING:
    from answer_keys.results import ClassResult

__all__ = ["Decimal", "mark_text", "marks_csv"]

Decimal = Literal["point", "comma"]
"""The sign before the decimals."""


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
    result : ClassResult
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
