"""Marks as a workbook of a spreadsheet, for people."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import xlsxwriter

from answer_keys.interchange.marks_table import marks_rows

if TYPE_CHECKING:
    from answer_keys.results import ClassResult

__all__ = ["marks_xlsx"]

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

    Parameters
    ----------
    result : ClassResult

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
                    sheet.write_number(number, column, round(cell, 2), mark)
        sheet.freeze_panes(1, 2)
        sheet.autofit()
    return file.getvalue()
