"""The class list: a CSV with an id and a name column, checked as a whole."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Sequence
from pathlib import Path

from answer_keys.csv_table import CsvError, CsvRow, csv_table
from answer_keys.errors import Problem
from generator.drawing.request import Student
from generator.errors import RosterError

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._@+-]{0,39}")
# Names that a file may not have on every system, whatever its ending.
_RESERVED = {"con", "prn", "aux", "nul"} | {
    f"{device}{number}" for device in ("com", "lpt") for number in range(1, 10)
}
_GIVEN = ("Ada", "Bruno", "Carla", "Dario", "Edda", "Finn", "Greta", "Hanno")
_FAMILY = ("Almer", "Brunner", "Colm", "Dorn", "Egger", "Falk", "Gasser")


def invented_roster(count: int) -> tuple[Student, ...]:
    """Make up a class: ids s01, s02, ... and invented names."""
    width = max(2, len(str(count)))
    return tuple(
        Student(
            id=f"s{number + 1:0{width}}",
            name=f"{_GIVEN[number % len(_GIVEN)]} {_FAMILY[number % len(_FAMILY)]}",
        )
        for number in range(count)
    )


def read_roster(path: Path) -> tuple[Student, ...]:
    """Read a class list with the columns id and name, in any order.

    Raises
    ------
    RosterError
        With every fault of the file.
    """
    try:
        table = csv_table(path.read_bytes())
    except CsvError as error:
        problem = Problem(path=path, line=error.line, message=str(error))
        raise RosterError([problem]) from error
    except OSError as error:
        message = f"cannot be read ({error.strerror}). Check its name and its rights."
        raise RosterError([Problem(path=path, line=None, message=message)]) from error
    head = [name.lower() for name in table.columns]
    missing = [name for name in ("id", "name") if name not in head]
    if missing:
        message = (
            f"no column called {' and '.join(missing)}. Name the columns id and name "
            "in the first line."
        )
        raise RosterError([Problem(path=path, line=1, message=message)])
    return _students(path, table.rows, head)


def _students(
    path: Path, rows: Iterable[CsvRow], head: Sequence[str]
) -> tuple[Student, ...]:
    problems = list[Problem]()
    students: dict[str, Student] = {}
    for row in rows:
        cells = dict(zip(head, row.cells, strict=False))
        id_ = cells.get("id", "")
        if said := id_problem(id_, students):
            problems.append(Problem(path=path, line=row.line, message=said))
        students[id_.casefold()] = Student(id=id_, name=cells.get("name") or id_)
    if not students:
        message = "there is no student. Write one line or more, an id and a name each."
        problems.append(Problem(path=path, line=2, message=message))
    if problems:
        raise RosterError(problems)
    return tuple(students.values())


def id_problem(student_id: str, seen: Container[str]) -> str:
    """Say why an id cannot be a student's; empty where it can.

    Parameters
    ----------
    seen : container of str
        Ids of the students before, in `str.casefold`.
    """
    if not _ID.fullmatch(student_id) or student_id.endswith("."):
        return (
            f"{student_id!r} cannot be an id. Write 1 to 40 of the letters a to z, "
            "digits and ._@+-, with a letter or digit first and no stop last."
        )
    if student_id.split(".")[0].casefold() in _RESERVED:
        return (
            f"{student_id!r} cannot be an id: some systems keep it for a device. Put a "
            "letter before it."
        )
    if student_id.casefold() in seen:
        return (
            f"id {student_id!r} stands here twice. Give each student an id of their "
            "own; small and capital letters are the same."
        )
    return ""
