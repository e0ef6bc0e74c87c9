"""The table of typed answers: its rows as they stand in a file, and an empty one."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.limits import (
    MAX_HAND_IN_BYTES,
    MAX_LINE_BYTES,
    MAX_TYPED_ROWS,
)
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.visible_text import has_hidden_signs

COLUMNS = (
    "set",
    "student",
    "exercise",
    "step",
    "item",
    "answer",
    "second_answer",
)


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


def empty_table(key: AnswerKey, orders: int) -> str:
    """Write the table with nothing answered yet.

    A diagnosis has a row a prediction that is the student's own, those of the order
    form, conclusion and verification; else a question has one. A row that stays without
    an answer counts for nothing.

    Parameters
    ----------
    key : AnswerKey
    orders : int
        Lines of the order form.
    """
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(COLUMNS)
    for record in key.exercises:
        place = (key.set_id, record.student, record.exercise)
        writer.writerows(
            (*place, step, item, "", "") for step, item in _steps(record, orders)
        )
    return file.getvalue()


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
    """Part a file into rows, and say what is no row.

    Parameters
    ----------
    data : bytes
        CSV in UTF-8, with commas or semicolons between.

    Returns
    -------
    rows : list of Row
    faults : list of str
        Each with its row and what is allowed.

    Raises
    ------
    RefusedError
        Where the file is no such table.
    """
    return _rows(_text(data))


def _text(data: bytes) -> str:
    if len(data) > MAX_HAND_IN_BYTES:
        raise RefusedError(
            f"The file is larger than {MAX_HAND_IN_BYTES:,} bytes; allowed are typed "
            "answers of one class."
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RefusedError(
            f"Byte {error.start} is not UTF-8; allowed is a table saved as “CSV UTF-8”."
        ) from error
    lines = text.splitlines()
    if len(lines) > MAX_TYPED_ROWS:
        raise RefusedError(f"The file has more than {MAX_TYPED_ROWS:,} rows.")
    if any(len(line) > MAX_LINE_BYTES for line in lines):
        raise RefusedError(f"A row is longer than {MAX_LINE_BYTES:,} characters.")
    return text


def _rows(text: str) -> tuple[list[Row], list[str]]:
    """Part the table into rows, and say what is no row."""
    head = text.partition("\n")[0]
    separator = ";" if head.count(";") > head.count(",") else ","
    lines = csv.reader(io.StringIO(text), delimiter=separator, strict=True)
    rows, faults = list[Row](), list[str]()
    try:
        names = [name.strip().lower() for name in next(lines, [])]
        if names != list(COLUMNS):
            raise RefusedError(
                "Row 1: the columns are not those of typed answers; allowed are "
                f"{separator.join(COLUMNS)}, in this order."
            )
        for cells in lines:
            if len(cells) != len(COLUMNS):
                faults += _miscounted(lines.line_num, cells, separator)
            elif any(has_hidden_signs(cell) for cell in cells):
                faults.append(
                    f"Row {lines.line_num}: holds control or hidden characters; "
                    "allowed are letters, digits and signs that show."
                )
            else:
                texts = dict(zip(COLUMNS, map(str.strip, cells), strict=True))
                rows.append(Row(number=lines.line_num, **texts))
    except csv.Error as error:
        faults.append(
            f"Row {lines.line_num}: cannot be parted into columns ({error}); allowed "
            "are quotes in pairs."
        )
    return rows, faults


def _miscounted(number: int, cells: Sequence[str], separator: str) -> list[str]:
    if not any(cells):
        return []
    hint = "; a number with a comma needs quotes" if separator == "," else ""
    return [
        f"Row {number}: has {len(cells)} columns; allowed are {len(COLUMNS)}{hint}."
    ]
