"""Tables that people save from a spreadsheet: one reader for all of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass


class CsvError(Exception):
    """Where a file is no table: ``line``, from 1, and a sentence of what to do."""

    def __init__(self, line: int, message: str) -> None:
        super().__init__(message)
        self.line = line


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvRow:
    """One row with the line that it begins on: a quoted cell may hold line ends."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvTable:
    """A table whose first line names its columns.

    Rows without anything in them are left out, blanks around cells are cut off.
    """

    columns: tuple[str, ...]
    rows: tuple[CsvRow, ...]
    separator: str


def csv_table(data: bytes) -> CsvTable:
    """Read a table: UTF-8 with or without a byte order mark.

    Cells are separated by what the first line has most of: commas, semicolons or tabs.

    Raises
    ------
    CsvError
        Where the bytes are no text, or a quotation mark is not closed.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        message = "is not UTF-8 text. Save the table as “CSV UTF-8”."
        raise CsvError(line, message) from error
    separator = max(",;\t", key=text.partition("\n")[0].count)
    rows = list(_rows(text, separator))
    head = rows.pop(0) if rows and rows[0].line == 1 else CsvRow(line=1, cells=())
    rows = [row for row in rows if any(row.cells)]
    return CsvTable(columns=head.cells, rows=tuple(rows), separator=separator)


def _rows(text: str, separator: str) -> Iterator[CsvRow]:
    reader, line = csv.reader(io.StringIO(text), delimiter=separator, strict=True), 1
    try:
        for row in reader:
            yield CsvRow(line=line, cells=tuple(map(str.strip, row)))
            line = reader.line_num + 1
    except csv.Error as error:
        message = (
            f"cannot be split into columns ({error}). Close every quotation mark that "
            "is opened."
        )
        raise CsvError(line, message) from error
