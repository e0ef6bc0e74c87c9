"""The table of typed answers: its rows as they stand in a file, and an empty one."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields

from answer_keys.csv_table import CsvError, csv_table
from answer_keys.errors import RefusedError
from answer_keys.hand_ins.limits import (
    MAX_HAND_IN_BYTES,
    MAX_LINE_BYTES,
    MAX_TYPED_ROWS,
    refuse_above,
)
from answer_keys.keys.key_record import KeyRecord
from answer_keys.visible_text import has_hidden_characters
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of the table; ``number`` is its line in the file."""

    number: int
    set: str
    student: str
    exercise: str
    step: str
    item: str
    answer: str
    second_answer: str


COLUMNS = tuple(each.name for each in fields(Row) if each.name != "number")


def table_text(rows: Iterable[Sequence[object]]) -> str:
    """Write rows below the names of their columns."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(rows)
    return file.getvalue()


def empty_table(set_id: str, exercises: Iterable[KeyRecord], orders: int) -> str:
    """Write the table with nothing answered yet.

    A diagnosis has a row a prediction that is the student's own, those of the order
    form, conclusion and verification; else a question has one. A row that stays without
    an answer counts for nothing.

    Parameters
    ----------
    exercises : iterable of KeyRecord
        Of all students.
    orders : int
        Lines of the order form.
    """
    return table_text(
        (set_id, record.student, record.exercise, step, item, "", "")
        for record in exercises
        for step, item in _steps(record, orders)
    )


def _steps(record: KeyRecord, orders: int) -> Iterator[tuple[str, int | str]]:
    if record.questions:
        for number in range(1, len(record.questions) + 1):
            yield "answer", number
        return
    given = record.start.given_predictions
    for number, asked in enumerate(record.predictions, start=1):
        if asked.id not in given:
            yield "prediction", number
    yield from (("test", ""), ("finding", "")) * orders
    yield "conclusion", ""
    yield "verification", ""


def rows_of(data: bytes) -> tuple[list[Row], list[str]]:
    """Read the rows of a file, and say what is no row.

    Parameters
    ----------
    data : bytes
        CSV in UTF-8.

    Returns
    -------
    rows : list of Row
    faults : list of str
        Each with its row and what to write.

    Raises
    ------
    RefusedError
        Where the file is no such table.
    """
    _check_size(data)
    try:
        table = csv_table(data)
    except CsvError as error:
        raise RefusedError(
            _("Row {line}: {error}").format(line=error.line, error=error)
        ) from error
    if tuple(map(str.lower, table.columns)) != COLUMNS:
        raise RefusedError(
            _(
                "Row 1: the columns are not those of typed answers. Write "
                "{columns}, in this order, one a column."
            ).format(columns=", ".join(COLUMNS))
        )
    rows, faults = list[Row](), list[str]()
    for row in table.rows:
        if len(row.cells) != len(COLUMNS):
            said = _(
                "Row {line}: has {cells} columns. Write {columns}, as row 1 names them."
            ).format(line=row.line, cells=len(row.cells), columns=len(COLUMNS))
            # A decimal comma parts a cell where commas separate them.
            if table.separator == ",":
                said += " " + _("Put a number with a comma into quotes.")
            faults.append(said)
        elif any(map(has_hidden_characters, row.cells)):
            faults.append(
                _(
                    "Row {line}: holds control or hidden characters. Type its "
                    "cells anew."
                ).format(line=row.line)
            )
        else:
            texts = dict(zip(COLUMNS, row.cells, strict=True))
            rows.append(Row(number=row.line, **texts))
    return rows, faults


def _check_size(data: bytes) -> None:
    larger = _(
        "The file is larger than {most} bytes. Hand in the typed answers of one class "
        "at a time."
    )
    refuse_above(MAX_HAND_IN_BYTES, len(data), larger)
    lines = data.splitlines()
    more = _("The file has more than {most} rows. Delete the empty ones.")
    refuse_above(MAX_TYPED_ROWS, len(lines), more)
    longer = _("A row is longer than {most} bytes. Shorten its answers.")
    refuse_above(MAX_LINE_BYTES, max(map(len, lines), default=0), longer)
