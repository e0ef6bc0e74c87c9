"""A class list read, from whatever a school gives out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from answer_keys.interchange.school_class import OneRosterClass
from generator.drawing.request import Student
from generator.sets.oneroster_roster import is_oneroster, read_oneroster
from generator.sets.roster import invented_roster, read_roster


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassList:
    """The students of a class.

    ``school_class`` is the class that they were read from, where a school's information
    system gave it.
    """

    students: tuple[Student, ...]
    school_class: OneRosterClass | None = None


def invented_list(count: int) -> ClassList:
    """Make up a class."""
    return ClassList(students=invented_roster(count))


def read_class_list(path: Path, class_id: str | None = None) -> ClassList:
    """Read a class list.

    Parameters
    ----------
    class_id : str or None
        The class to take from a OneRoster bundle with several.

    Raises
    ------
    RosterError
        With every fault of the list.
    """
    if is_oneroster(path):
        students, its = read_oneroster(path, class_id)
        return ClassList(students=students, school_class=its)
    return ClassList(students=read_roster(path))
