"""The class list out of a OneRoster 1.2 CSV bundle, a folder or a zip archive.

References
----------
1EdTech, OneRoster CSV Binding 1.2.1, final release of 22 August 2023. Names of files
and columns, modes and roles were read from two open implementations, as
`answer_keys.interchange.oneroster` says.
"""

from __future__ import annotations

import csv
import io
import unicodedata
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from answer_keys.interchange.oneroster import OneRosterClass
from answer_keys.visible_text import name_text
from generator.drawing.request import Student
from generator.errors import RosterError
from generator.sets.roster import id_problem

_MAX_BYTES = 50_000_000
_BROKEN_ZIP = (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError)
_VERSIONS = ("1.2", "1.2.1")
_NEEDED: Mapping[str, tuple[str, ...]] = {
    "users": ("sourcedId", "givenName", "familyName"),
    "classes": ("sourcedId", "title", "schoolSourcedId", "termSourcedIds"),
    "enrollments": ("sourcedId", "classSourcedId", "userSourcedId", "role"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A row with the line that it begins on."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


def is_oneroster(path: Path) -> bool:
    """Tell whether a path is a zip archive, or a folder with a manifest."""
    return zipfile.is_zipfile(path) or (path / "manifest.csv").is_file()


def read_oneroster(
    path: Path, class_id: str | None = None
) -> tuple[tuple[Student, ...], OneRosterClass]:
    """Read the students of one class of a bundle, in the order of their enrollment.

    Parameters
    ----------
    path : pathlib.Path
        With manifest.csv, users.csv, classes.csv and enrollments.csv, in mode ``bulk``.
    class_id : str, optional
        The ``sourcedId`` of the class; it may be left out where there is one.

    Returns
    -------
    students : tuple of Student
        With the ``sourcedId`` of the user as id.
    its : OneRosterClass

    Raises
    ------
    RosterError
        With every fault of the bundle, or with the classes that there are.
    """
    files = _files(path)
    _check_manifest(path, _rows(path, files, "manifest", ("propertyName", "value")))
    tables = {
        name: [
            row
            for row in _rows(path, files, name, columns)
            if row["status"] != "tobedeleted"
        ]
        for name, columns in _NEEDED.items()
    }
    chosen = _chosen(path, tables["classes"], class_id)
    its = OneRosterClass(
        id=chosen["sourcedId"],
        school=chosen["schoolSourcedId"],
        session=chosen["termSourcedIds"].split(",")[0].strip(),
    )
    return _students(path, tables, its.id), its


def _files(path: Path) -> dict[str, bytes]:
    """Read the files of a bundle that are used here; an archive's size is checked."""
    place = path if path.is_dir() else zipfile.Path(path)
    try:
        found = {
            name: (place / f"{name}.csv")
            for name in ("manifest", *_NEEDED)
            if (place / f"{name}.csv").is_file()
        }
        data = {}
        for name, file in found.items():
            with file.open("rb") as opened:
                data[name] = opened.read(_MAX_BYTES + 1)
    except (OSError, *_BROKEN_ZIP) as error:
        raise RosterError(path, [f"the bundle cannot be read ({error})"]) from error
    missing = [f"{name}.csv" for name in ("manifest", *_NEEDED) if name not in data]
    large = [f"{name}.csv" for name, each in data.items() if len(each) > _MAX_BYTES]
    problems = [f"{name}: is missing; a bundle needs it" for name in missing]
    problems += [f"{name}: is larger than {_MAX_BYTES} bytes" for name in large]
    if problems:
        raise RosterError(path, problems)
    return data


def _rows(
    path: Path, files: Mapping[str, bytes], name: str, needed: Sequence[str]
) -> list[_Row]:
    """Read a file whose first line names its columns."""
    file = f"{name}.csv"
    try:
        numbered = list(_numbered(files[name].decode("utf-8-sig")))
    except (UnicodeDecodeError, csv.Error) as error:
        problem = f"{file}: cannot be read as CSV in UTF-8 ({error})"
        raise RosterError(path, [problem]) from error
    head = numbered[0][1] if numbered else []
    if missing := [column for column in needed if column not in head]:
        problem = f"{file}, line 1: no column called {', '.join(missing)}"
        raise RosterError(path, [problem])
    problems = [
        f"{file}, line {line}: {problem}"
        for line, row in numbered
        for problem in _problems_of_row(row, len(head))
    ]
    if problems:
        raise RosterError(path, problems)
    return [
        _Row(line=line, cells=dict(zip(head, map(str.strip, row), strict=True)))
        for line, row in numbered[1:]
    ]


def _problems_of_row(row: Sequence[str], count: int) -> Iterator[str]:
    if len(row) != count:
        yield f"{len(row)} cells; allowed are {count}, as in line 1"
    for cell in row:
        if name_text(cell) != unicodedata.normalize("NFC", cell).strip():
            yield f"{cell!r} has signs that do not show; allowed is plain text"


def _numbered(text: str) -> Iterator[tuple[int, list[str]]]:
    rows = csv.reader(io.StringIO(text, newline=""), strict=True)
    line = 1
    for row in rows:
        if row:
            yield line, row
        line = rows.line_num + 1


def _check_manifest(path: Path, rows: Sequence[_Row]) -> None:
    said = {row["propertyName"]: row["value"] for row in rows}
    wanted = {"manifest.version": ("1.0",), "oneroster.version": _VERSIONS}
    wanted |= {f"file.{name}": ("bulk",) for name in _NEEDED}
    problems = [
        f"manifest.csv: {name} is {said.get(name)!r}; allowed is {' or '.join(allowed)}"
        for name, allowed in wanted.items()
        if said.get(name) not in allowed
    ]
    if problems:
        raise RosterError(path, problems)


def _chosen(path: Path, classes: Sequence[_Row], class_id: str | None) -> _Row:
    found = [row for row in classes if class_id in (None, row["sourcedId"])]
    if len(found) == 1:
        return found[0]
    there = "; ".join(f"{row['sourcedId']} ({row['title']})" for row in classes)
    asked = "which class" if class_id is None else f"class {class_id!r}"
    problem = f"classes.csv: {asked}? allowed with --class is one of: {there or 'none'}"
    raise RosterError(path, [problem])


def _students(
    path: Path, tables: Mapping[str, Sequence[_Row]], class_id: str
) -> tuple[Student, ...]:
    users = {row["sourcedId"]: row for row in tables["users"]}
    problems: list[str] = []
    students: dict[str, Student] = {}
    for row in _enrolled(tables["enrollments"], class_id):
        id_ = row["userSourcedId"]
        problem = id_problem(id_, students)
        if id_ not in users:
            problem = f"user {id_!r} is not in users.csv; allowed are those who are"
        if problem:
            problems.append(f"enrollments.csv, line {row.line}: {problem}")
        else:
            students[id_.casefold()] = Student(id=id_, name=_name(users[id_]))
    if not students and not problems:
        problems.append(f"enrollments.csv: no student in class {class_id!r}")
    if problems:
        raise RosterError(path, problems)
    return tuple(students.values())


def _enrolled(rows: Sequence[_Row], class_id: str) -> Iterable[_Row]:
    """Give one row a student: who is enrolled for two terms is here once."""
    first: dict[str, _Row] = {}
    for row in rows:
        if row["classSourcedId"] == class_id and row["role"] == "student":
            first.setdefault(row["userSourcedId"], row)
    return first.values()


def _name(user: _Row) -> str:
    given = user["preferredGivenName"] or user["givenName"]
    family = user["preferredFamilyName"] or user["familyName"]
    return f"{given} {family}".strip() or user["sourcedId"]
