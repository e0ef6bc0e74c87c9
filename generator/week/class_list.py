"""A class list looked at and read, whatever a school gives out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from answer_keys.interchange.school_class import OneRosterClass
from generator.drawing.request import Student
from generator.sets.oneroster_roster import classes_in, is_oneroster, read_oneroster
from generator.sets.roster import Columns, heading_of, invented_roster, read_roster
from generator.sets.school_table import school_rows

_SAMPLE = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassList:
    """The students of a class.

    ``school_class`` is the class that they were read from, where a school's information
    system gave it.
    """

    students: tuple[Student, ...]
    school_class: OneRosterClass | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """What a class list looks like, for its owner to tell what is what.

    Attributes
    ----------
    columns : tuple of str
        What they are called, in their order; none of a OneRoster bundle.
    rows : tuple of tuple of str
        The first few below.
    count : int
        How many rows there are.
    guess : Columns or None
        What the names tell; None where they do not tell enough.
    classes : tuple of (str, str)
        Of a OneRoster bundle, id and title of each class.
    """

    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    count: int = 0
    guess: Columns | None = None
    classes: tuple[tuple[str, str], ...] = ()


def look_at(path: Path) -> Sample:
    """Look at a class list before it is read.

    Raises
    ------
    RosterError
        Where the file is no table.
    """
    if is_oneroster(path):
        return Sample(classes=classes_in(path))
    rows = school_rows(path)
    heading = heading_of(rows)
    below = [row.cells for row in rows if row.line > heading.row.line]
    return Sample(
        columns=heading.row.cells,
        rows=tuple(below[:_SAMPLE]),
        count=len(below),
        guess=heading.columns,
    )


def invented_list(count: int) -> ClassList:
    """Make up a class."""
    return ClassList(students=invented_roster(count))


def read_class_list(
    path: Path, class_id: str | None = None, columns: Columns | None = None
) -> ClassList:
    """Read a class list.

    Parameters
    ----------
    class_id : str or None
        The class to take from a OneRoster bundle with several.
    columns : Columns or None
        What is what in a table whose names do not tell.

    Raises
    ------
    RosterError
        With every fault of the list.
    """
    if is_oneroster(path):
        students, its = read_oneroster(path, class_id)
        return ClassList(students=students, school_class=its)
    return ClassList(students=read_roster(path, columns))
