"""The class list: a CSV with an id and a name column, checked as a whole."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Container, Iterable
from pathlib import Path

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

    Commas, semicolons and tabs are taken as separators, and UTF-8 with or without a
    byte order mark.

    Raises
    ------
    RosterError
        With every fault of the file.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        problem = f"line 1: cannot be read as UTF-8 text ({type(error).__name__})"
        raise RosterError(path, [problem]) from error
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    numbered = _numbered(path, text, delimiter)
    head = [cell.strip().lower() for cell in (numbered or [(1, [])])[0][1]]
    missing = [name for name in ("id", "name") if name not in head]
    if missing:
        problem = (
            f"line 1: no column called {' and '.join(missing)}; allowed is a first "
            "line that names the columns id and name"
        )
        raise RosterError(path, [problem])
    return _students(path, numbered[1:], (head.index("id"), head.index("name")))


def _numbered(path: Path, text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    """All rows with the line that each begins on: a quoted name may hold line ends."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    numbered, line = [], 1
    try:
        for row in rows:
            numbered.append((line, row))
            line = rows.line_num + 1
    except csv.Error as error:
        problem = f"line {line}: cannot be read as CSV ({error})"
        raise RosterError(path, [problem]) from error
    return numbered


def _students(
    path: Path, rows: Iterable[tuple[int, list[str]]], at: tuple[int, int]
) -> tuple[Student, ...]:
    problems: list[str] = []
    students: dict[str, Student] = {}
    for line, row in rows:
        if not any(cell.strip() for cell in row):
            continue
        cells = [row[i].strip() if i < len(row) else "" for i in at]
        student = Student(id=cells[0], name=cells[1] or cells[0])
        problem = id_problem(student.id, students)
        if problem:
            problems.append(f"line {line}: {problem}")
        students[student.id.casefold()] = student
    if not students:
        problems.append("line 2: there is no student; allowed are 1 and more")
    if problems:
        raise RosterError(path, problems)
    return tuple(students.values())


def id_problem(student_id: str, seen: Container[str]) -> str:
    """Say why an id cannot be a student's; empty where it can.

    Parameters
    ----------
    student_id : str
    seen : container of str
        Ids of students before, small and capital letters being the same.
    """
    if not _ID.fullmatch(student_id) or student_id.endswith("."):
        return (
            f"id {student_id!r}; allowed are 1 to 40 letters and digits of ASCII with "
            "._@+- between them"
        )
    if student_id.split(".")[0].casefold() in _RESERVED:
        return f"id {student_id!r} is a name that some systems keep for a device"
    if student_id.casefold() in seen:
        return (
            f"id {student_id!r} stands here twice; allowed is once for each student, "
            "small and capital letters being the same"
        )
    return ""
