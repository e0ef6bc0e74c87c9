"""Tables that people save from a spreadsheet: one reader for all of them."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from workbook.texts import _

_SEPARATORS = ",;\t|"
# Those with a mark at their beginning, else UTF-8 or what Windows wrote before it.
_MARKED = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
# Windows leaves five bytes of its code page without a letter; latin-1 reads any.
_OF_ONE_BYTE = ("cp1252", "latin-1")
_UNMARKED = ("utf-8", *_OF_ONE_BYTE)


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


def decoded(data: bytes) -> tuple[str, str]:
    """Read text so that writing it again gives the same bytes; a mark stays in it.

    Returns
    -------
    text, encoding : str
        What has no mark at its beginning is UTF-8, or what Windows wrote before it.
    """
    marked = [name for mark, name in _MARKED if data.startswith(mark)]
    for encoding in (*marked, *_UNMARKED):
        try:
            return data.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    raise AssertionError("latin-1 reads all bytes")  # pragma: no cover


def csv_table(data: bytes) -> CsvTable:
    """Read a table whose first line names its columns.

    Raises
    ------
    CsvError
        Where the bytes are no text, or a quotation mark is not closed.
    """
    rows, separator = csv_rows(data)
    head = rows.pop(0) if rows else CsvRow(line=1, cells=())
    rows = [row for row in rows if any(row.cells)]
    return CsvTable(columns=head.cells, rows=tuple(rows), separator=separator)


def csv_rows(data: bytes) -> tuple[list[CsvRow], str]:
    """Read all rows of a table, and what separates their cells.

    That is what the first line that has any of them has most of: commas, semicolons,
    tabs or bars. Text is UTF-8 or UTF-16, or what Windows writes by itself.

    Raises
    ------
    CsvError
        As `csv_table` does.
    """
    text, encoding = decoded(data)
    text = text.removeprefix("\ufeff")
    # An encoding of one byte reads anything, a picture too: a zero byte gives it away.
    if "\0" in text and encoding in _OF_ONE_BYTE:
        line = text[: text.index("\0")].count("\n") + 1
        raise CsvError(line, _("is no text. Save the table as CSV."))
    # A table of one column has none, and any of them then reads it alike.
    parted = (line for line in text.split("\n") if any(s in line for s in _SEPARATORS))
    separator = max(_SEPARATORS, key=next(parted, "").count)
    return list(_rows(text, separator)), separator


def _rows(text: str, separator: str) -> Iterator[CsvRow]:
    reader, line = csv.reader(io.StringIO(text), delimiter=separator, strict=True), 1
    try:
        for row in reader:
            yield CsvRow(line=line, cells=tuple(map(str.strip, row)))
            line = reader.line_num + 1
    except csv.Error as error:
        message = _(
            "cannot be split into columns ({error}). Close every quotation "
            "mark that is opened."
        ).format(error=error)
        raise CsvError(line, message) from error
