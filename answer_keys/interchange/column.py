"""Fill one column of a CSV that is not ours, and leave every other byte as it was.

An instructor's system exports a table of students and takes it back only where all of
it is still there. So nothing is parsed and written again: the places of cells are
found in the text, and only those of marks are exchanged.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from answer_keys.csv_table import decoded
from answer_keys.errors import ExportError
from workbook.texts import _

_DELIMITERS = ",;\t|"


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A table with its column filled.

    Attributes
    ----------
    missing : tuple of str
        Ids that have a mark and stand in no row.
    unknown : tuple of str
        Ids of rows that no mark is for; these rows are as they were.
    """

    data: bytes
    missing: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """Where a cell lies in the text, with the quotes around it."""

    start: int
    end: int
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """A table's text, its delimiter, and its rows of cells."""

    text: str
    delimiter: str
    rows: tuple[tuple[_Cell, ...], ...]


def filled_column(
    data: bytes, marks: Mapping[str, str], *, id_column: str, column: str
) -> Filled:
    """Write marks into a column, by the ids in another.

    Parameters
    ----------
    data : bytes
        CSV in UTF-8, UTF-16 or a code page of one byte, with any line ends, quotes and
        one of the delimiters comma, semicolon, tab and bar.
    marks : mapping of str to str
        By student id; small and capital letters count as the same.
    id_column, column : str
        As the first row names them.

    Returns
    -------
    Filled
        Encoding, marks of order, line ends, quotes, delimiters and all other cells are
        those of `data`. Filling it again changes nothing.

    Raises
    ------
    ExportError
        Where a column is missing or named twice, an id stands in two rows, or a row
        ends before the column.
    """
    text, encoding = decoded(data)
    table = _table(text, (id_column, column))
    at_id, at_mark = (_place(table.rows[0], name) for name in (id_column, column))
    wanted = {id_.casefold(): mark for id_, mark in marks.items()}
    by_id = _rows_by_id(table, at_id)
    pieces, done = [], 0
    for id_, row in by_id.items():
        if id_.casefold() in wanted:
            cell = _cell(table, row, at_mark, id_)
            new = _written(text[cell.start : cell.end], wanted[id_.casefold()], table)
            pieces += [text[done : cell.start], new]
            done = cell.end
    there = {id_.casefold() for id_ in by_id}
    return Filled(
        data="".join([*pieces, text[done:]]).encode(encoding),
        missing=tuple(id_ for id_ in marks if id_.casefold() not in there),
        unknown=tuple(id_ for id_ in by_id if id_.casefold() not in wanted),
    )


def _table(text: str, names: Sequence[str]) -> _Table:
    """Read with the delimiter that finds the columns in the first row."""
    tables = [_split(text, delimiter) for delimiter in _DELIMITERS]
    for table in tables:
        if {cell.value for cell in table.rows[0]}.issuperset(names):
            return table
    # What parts the first row into the most cells is likeliest to be its delimiter.
    heads = max((table.rows[0] for table in tables), key=len)
    there = {cell.value for table in tables for cell in table.rows[0]}
    missing = _(" and ").join(repr(name) for name in names if name not in there)
    known = ", ".join(repr(cell.value) for cell in heads)
    raise ExportError(
        _("line 1: no column {missing}. Name one of {known}.").format(
            missing=missing, known=known
        )
    )


def _split(text: str, delimiter: str) -> _Table:
    """Find the cells of every row, quoted ones with delimiters and line ends in them.

    RFC 4180, section 2, and as spreadsheets write: text behind a closing quote belongs
    to the cell, and a quote within a cell that has none before it is text.
    """
    mark = re.escape(delimiter)
    # A quoted part, where the cell begins with one, and then what is not: either may be
    # empty, so it always matches. A quote that is never closed goes on to the end.
    cell = re.compile(rf'(?:"((?:[^"]|"")*)(?:"|\Z))?([^{mark}\r\n]*)')
    # The byte order mark is no part of the first cell, and stays in the text.
    rows, row, position = [], list[_Cell](), int(text.startswith("\ufeff"))
    while True:
        found = cell.match(text, position)
        assert found is not None  # noqa: S101 - it matches nothing too
        value = (found[1] or "").replace('""', '"') + found[2]
        row.append(_Cell(start=position, end=found.end(), value=value.strip()))
        position = found.end()
        if text.startswith(delimiter, position):
            position += len(delimiter)
            continue
        rows.append(tuple(row))
        row = []
        position += 2 if text.startswith("\r\n", position) else 1
        if position >= len(text):
            return _Table(text=text, delimiter=delimiter, rows=tuple(rows))


def _place(head: Sequence[_Cell], name: str) -> int:
    places = [number for number, cell in enumerate(head) if cell.value == name]
    if len(places) > 1:
        raise ExportError(
            _("line 1: {count} columns are called {name}. Rename all but one.").format(
                count=len(places), name=repr(name)
            )
        )
    return places[0]


def _rows_by_id(table: _Table, at_id: int) -> dict[str, tuple[_Cell, ...]]:
    """Return the rows that have an id, by it, in their order."""
    rows = [row for row in table.rows[1:] if len(row) > at_id and row[at_id].value]
    by_id: dict[str, list[tuple[_Cell, ...]]] = {}
    for row in rows:
        # As marks are looked up: ids that differ by capitals would take the same mark.
        by_id.setdefault(row[at_id].value.casefold(), []).append(row)
    for same in by_id.values():
        if len(same) > 1:
            lines = ", ".join(_line(table, row[0]) for row in same)
            raise ExportError(
                _("lines {lines} have one id, {id}. Leave one row a student.").format(
                    lines=lines, id=repr(same[0][at_id].value)
                )
            )
    return {row[at_id].value: row for row in rows}


def _cell(table: _Table, row: Sequence[_Cell], at_mark: int, id_: str) -> _Cell:
    if len(row) <= at_mark:
        raise ExportError(
            _(
                "line {line}: the row of {id} has {cells} cells. Give it {count}, as "
                "the first row has."
            ).format(
                line=_line(table, row[0]),
                id=repr(id_),
                cells=len(row),
                count=len(table.rows[0]),
            )
        )
    return row[at_mark]


def _line(table: _Table, cell: _Cell) -> str:
    before = table.text[: cell.start]
    return str(1 + len(re.findall(r"\r\n|\r|\n", before)))


def _written(old: str, mark: str, table: _Table) -> str:
    """Put a mark where something was, in quotes where that was or where it needs it."""
    return f'"{mark}"' if old.startswith('"') or table.delimiter in mark else mark
