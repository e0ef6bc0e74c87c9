"""A school's table as rows of text, whether it is CSV or a spreadsheet's own file."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from answer_keys.csv_table import CsvError, CsvRow, csv_rows
from answer_keys.errors import Problem
from generator.errors import RosterError
from workbook.texts import _, grouped

_MAX_BYTES = 50_000_000
_MAX_ROWS, _MAX_COLUMNS = 20_000, 200
# Of what spreadsheets write, only the newer kind is read.
_OLDER = b"\xd0\xcf\x11\xe0"
_NEWER_PART = "xl/workbook.xml"


def is_workbook(path: Path) -> bool:
    """Tell whether a file is one that a spreadsheet program writes as XLSX."""
    try:
        with zipfile.ZipFile(path) as archive:
            return _NEWER_PART in archive.namelist()
    except (OSError, zipfile.BadZipFile, ValueError):
        return False


def school_rows(path: Path) -> list[CsvRow]:
    """Read all rows of a table that have anything in them.

    Of a spreadsheet's file it is the first sheet, with what its formulas last gave.

    Raises
    ------
    RosterError
        Where the file cannot be read, or is no table.
    """
    try:
        if path.stat().st_size > _MAX_BYTES:
            raise CsvError(
                1,
                _("is larger than {most} bytes. Save less.").format(
                    most=grouped(_MAX_BYTES)
                ),
            )
        data = path.read_bytes()
        if data.startswith((_OLDER, b"%PDF")):
            raise CsvError(
                1, _("is no table that can be read. Save it as XLSX or CSV.")
            )
        if is_workbook(path):
            rows = list(_sheet_rows(data))
        elif zipfile.is_zipfile(path):
            raise CsvError(1, _("is an archive, and no table. Save it as XLSX or CSV."))
        else:
            rows = csv_rows(data)[0]
    except CsvError as error:
        problem = Problem(path=path, line=error.line, message=str(error))
        raise RosterError([problem]) from error
    except OSError as error:
        message = _(
            "cannot be read ({strerror}). Check its name and its rights."
        ).format(strerror=error.strerror)
        raise RosterError([Problem(path=path, line=None, message=message)]) from error
    return [row for row in rows if any(row.cells)]


def _sheet_rows(data: bytes) -> Iterator[CsvRow]:
    """Read a sheet row by row: what it says of its own size is not believed."""
    # The library takes long to read, and only this needs it.
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(one.file_size for one in archive.infolist()) > 4 * _MAX_BYTES:
                raise CsvError(
                    1, _("the sheet is too large. Save only the class list.")
                )
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        # A sheet may claim a million rows: no more are read than a school could have.
        rows = book.worksheets[0].iter_rows(
            max_row=_MAX_ROWS, max_col=_MAX_COLUMNS, values_only=True
        )
        for number, cells in enumerate(rows, start=1):
            yield CsvRow(line=number, cells=tuple(map(_text, cells)))
    except CsvError:
        raise
    except Exception as error:
        # Whatever a damaged file makes of a library that expects a sound one.
        message = _("cannot be read as a spreadsheet. Open it, and save it as CSV.")
        raise CsvError(1, message) from error


def _text(value: Any) -> str:  # noqa: ANN401 - whatever a cell holds
    """Write a cell as it is seen: numbers of students are no decimals."""
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return str(value).strip()
