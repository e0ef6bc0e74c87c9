"""The table of formats in which results can be written for other programs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from answer_keys.errors import ExportError
from answer_keys.gradebook.results import ClassResult
from answer_keys.interchange.column import filled_column
from answer_keys.interchange.marks_files import (
    Decimal,
    mark_text,
    marks_csv,
    marks_xlsx,
)
from answer_keys.interchange.oneroster import oneroster_results
from answer_keys.interchange.school_class import OneRosterClass
from answer_keys.interchange.xapi import Accounts, xapi_lines
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What can be asked for, beside the format.

    Attributes
    ----------
    decimal : {"point", "comma"}
        Point or comma before decimals, in what people read.
    column, id_column : str
        Of the instructor's own table: the column to fill, and the one with ids.
    school_class : OneRosterClass or None
        Where the students came from a school's information system.
    assigned : datetime.date
        The day on which the set was made.
    due : datetime.date or None
        The day of the deadline, where there is one.
    accounts : Accounts
        How students are named in what a learning record store keeps.
    """

    decimal: Decimal = "point"
    column: str = ""
    id_column: str = "id"
    school_class: OneRosterClass | None = None
    assigned: date
    due: date | None = None
    accounts: Accounts


@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """A file in one of the formats, and what the instructor should know of it."""

    data: bytes
    notes: tuple[str, ...] = ()


def _csv(result: ClassResult, wishes: Wishes, __: Path) -> Export:
    return Export(data=marks_csv(result, wishes.decimal).encode())


def _xlsx(result: ClassResult, __: Wishes, ___: Path) -> Export:
    return Export(data=marks_xlsx(result))


def _column(result: ClassResult, wishes: Wishes, path: Path) -> Export:
    marks = {one.id: mark_text(one.total, wishes.decimal) for one in result.graded}
    try:
        filled = filled_column(
            path.read_bytes(),
            marks,
            id_column=wishes.id_column,
            column=wishes.column,
        )
    except ExportError as error:
        raise ExportError(f"{path}, {error}") from error
    notes = (
        (_("marks of students who are not in it"), filled.missing),
        (_("rows without a mark here, left as they were"), filled.unknown),
    )
    return Export(
        data=filled.data,
        notes=tuple(f"{what}: {', '.join(ids)}" for what, ids in notes if ids),
    )


def _oneroster(result: ClassResult, wishes: Wishes, path: Path) -> Export:
    its = wishes.school_class
    if its is None:
        raise ExportError(
            _(
                "{file}: OneRoster needs the ids of class and students, and this set "
                "has none. Make a set from a OneRoster class list."
            ).format(file=path.name)
        )
    data = oneroster_results(result, its, wishes.assigned, wishes.due)
    return Export(data=data)


def _xapi(result: ClassResult, wishes: Wishes, __: Path) -> Export:
    return Export(data=xapi_lines(result, wishes.accounts).encode())


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A format: what writes it, and what a file of it is called where nobody says.

    ``write`` takes results, wishes and the file to write, which ``column`` reads first.
    """

    write: Callable[[ClassResult, Wishes, Path], Export]
    file: str


FORMATS: Mapping[str, Format] = {
    "csv": Format(write=_csv, file="marks.csv"),
    "xlsx": Format(write=_xlsx, file="marks.xlsx"),
    "column": Format(write=_column, file="table.csv"),
    "oneroster": Format(write=_oneroster, file="results-oneroster.zip"),
    "xapi": Format(write=_xapi, file="statements.jsonl"),
}
"""Every format, by its name."""
