"""The class list out of a OneRoster 1.2 CSV bundle, a folder or a zip archive.

References
----------
1EdTech, OneRoster CSV Binding 1.2.1, final release of 22 August 2023. Names of files
and columns, modes and roles were read from two open implementations, as
`answer_keys.interchange.oneroster` says.
"""

from __future__ import annotations

import unicodedata
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from answer_keys.csv_table import CsvError, csv_table
from answer_keys.errors import Problem
from answer_keys.interchange.school_class import OneRosterClass
from answer_keys.visible_text import name_text
from generator.drawing.request import Student
from generator.errors import RosterError
from generator.sets.roster import id_problem
from generator.sets.school_table import is_workbook
from workbook.texts import _

# At some 200 bytes a row, a quarter of a million students.
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
    """Tell whether a path is a zip archive of files, or a folder with a manifest."""
    is_archive = zipfile.is_zipfile(path) and not is_workbook(path)
    return is_archive or (path / "manifest.csv").is_file()


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
    tables = _tables(path)
    its = _its(_chosen(path, tables["classes"], class_id))
    users = {row["sourcedId"]: row for row in tables["users"]}
    return _students(path, users, tables["enrollments"], its.id), its


@dataclass(frozen=True, slots=True, kw_only=True)
class BundleClass:
    """A class of a bundle with its students, or with the faults of its list."""

    title: str
    its: OneRosterClass
    students: tuple[Student, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_all_classes(path: Path) -> tuple[BundleClass, ...]:
    """Read all classes of a bundle; one whose students cannot be read tells why.

    Raises
    ------
    RosterError
        With every fault of the bundle as a whole.
    """
    tables = _tables(path)
    users = {row["sourcedId"]: row for row in tables["users"]}
    # A school has thousands of rows, and each class wants only its own.
    enrolled: dict[str, list[_Row]] = {}
    for row in tables["enrollments"]:
        enrolled.setdefault(row["classSourcedId"], []).append(row)
    found = list[BundleClass]()
    for row in tables["classes"]:
        its = _its(row)
        own = enrolled.get(its.id, [])
        read = BundleClass(title=row["title"], its=its)
        try:
            read = replace(read, students=_students(path, users, own, its.id))
        except RosterError as error:
            read = replace(read, problems=error.problems)
        found.append(read)
    return tuple(found)


def _its(row: _Row) -> OneRosterClass:
    return OneRosterClass(
        id=row["sourcedId"],
        school=row["schoolSourcedId"],
        # A class may be held in several terms, and a result names one.
        session=row["termSourcedIds"].split(",")[0].strip(),
    )


def classes_in(path: Path) -> tuple[tuple[str, str], ...]:
    """Return id and title of each class of a bundle; raises as `read_oneroster`."""
    return tuple((row["sourcedId"], row["title"]) for row in _tables(path)["classes"])


def _tables(path: Path) -> dict[str, list[_Row]]:
    """Read the files of a bundle that are used here, without what is to be deleted."""
    files = _files(path)
    _check_manifest(path, _rows(path, files, "manifest", ("propertyName", "value")))
    return {
        name: [
            row
            for row in _rows(path, files, name, columns)
            if row["status"] != "tobedeleted"
        ]
        for name, columns in _NEEDED.items()
    }


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
                # A byte more than is taken tells that there is more.
                data[name] = opened.read(_MAX_BYTES + 1)
    except (OSError, *_BROKEN_ZIP) as error:
        message = _("the bundle cannot be read ({error}). Export it anew.").format(
            error=error
        )
        raise RosterError([Problem(path=path, line=None, message=message)]) from error
    problems = [
        _problem(path, name, None, _("is missing. Export all files of the bundle."))
        for name in ("manifest", *_NEEDED)
        if name not in data
    ]
    problems += [
        _problem(
            path,
            name,
            None,
            _("is larger than {most} bytes. Export less.").format(most=_MAX_BYTES),
        )
        for name, each in data.items()
        if len(each) > _MAX_BYTES
    ]
    if problems:
        raise RosterError(problems)
    return data


def _rows(
    path: Path, files: Mapping[str, bytes], name: str, needed: Sequence[str]
) -> list[_Row]:
    """Read a file whose first line names its columns."""
    try:
        table = csv_table(files[name])
    except CsvError as error:
        problem = _problem(path, name, error.line, str(error))
        raise RosterError([problem]) from error
    head = table.columns
    if missing := [column for column in needed if column not in head]:
        message = _("no column called {missing}. Export the bundle anew.").format(
            missing=", ".join(missing)
        )
        raise RosterError([_problem(path, name, 1, message)])
    problems = [
        _problem(path, name, row.line, said)
        for row in table.rows
        for said in _faults_of(row.cells, len(head))
    ]
    if problems:
        raise RosterError(problems)
    return [
        _Row(line=row.line, cells=dict(zip(head, row.cells, strict=True)))
        for row in table.rows
    ]


def _faults_of(cells: Sequence[str], count: int) -> Iterator[str]:
    if len(cells) != count:
        yield _("has {cells} cells. Write {count}, as line 1 has.").format(
            cells=len(cells), count=count
        )
    for cell in cells:
        if name_text(cell) != unicodedata.normalize("NFC", cell):
            yield _("{cell} has hidden characters. Type it anew.").format(
                cell=repr(cell)
            )


def _problem(path: Path, name: str, line: int | None, message: str) -> Problem:
    return Problem(path=path / f"{name}.csv", line=line, message=message)


def _check_manifest(path: Path, rows: Sequence[_Row]) -> None:
    said = {row["propertyName"]: row["value"] for row in rows}
    wanted = {"manifest.version": ("1.0",), "oneroster.version": _VERSIONS}
    wanted |= {f"file.{name}": ("bulk",) for name in _NEEDED}
    problems = [
        _problem(
            path,
            "manifest",
            None,
            _("{name} is {found}. Export a bundle with {known}.").format(
                name=name, found=repr(said.get(name)), known=_(" or ").join(known)
            ),
        )
        for name, known in wanted.items()
        if said.get(name) not in known
    ]
    if problems:
        raise RosterError(problems)


def _chosen(path: Path, classes: Sequence[_Row], class_id: str | None) -> _Row:
    found = [row for row in classes if class_id in (None, row["sourcedId"])]
    if len(found) == 1:
        return found[0]
    there = "; ".join(f"{row['sourcedId']} ({row['title']})" for row in classes)
    said = (
        _("it is not said which class. Name with --class one of: {there}.")
        if class_id is None
        else _("no {class_id}. Name with --class one of: {there}.")
    )
    message = said.format(class_id=repr(class_id), there=there or _("none is here"))
    raise RosterError([_problem(path, "classes", None, message)])


def _students(
    path: Path, users: Mapping[str, _Row], enrollments: Sequence[_Row], class_id: str
) -> tuple[Student, ...]:
    problems = list[Problem]()
    students: dict[str, Student] = {}
    for row in _enrolled(enrollments, class_id):
        id_ = row["userSourcedId"]
        said = id_problem(id_, students)
        if id_ not in users:
            said = _("user {id_} is not in users.csv. Add them there.").format(
                id_=repr(id_)
            )
        if said:
            problems.append(_problem(path, "enrollments", row.line, said))
        else:
            students[id_.casefold()] = Student(id=id_, name=_name(users[id_]))
    if not students and not problems:
        message = _(
            "no student in class {class_id}. Enroll one, or name another."
        ).format(class_id=repr(class_id))
        problems.append(_problem(path, "enrollments", None, message))
    if problems:
        raise RosterError(problems)
    return tuple(students.values())


def _enrolled(rows: Sequence[_Row], class_id: str) -> Iterable[_Row]:
    """Return one row a student: who is enrolled for two terms is here once."""
    first: dict[str, _Row] = {}
    for row in rows:
        if row["classSourcedId"] == class_id and row["role"] == "student":
            first.setdefault(row["userSourcedId"], row)
    return first.values()


def _name(user: _Row) -> str:
    given = user["preferredGivenName"] or user["givenName"]
    family = user["preferredFamilyName"] or user["familyName"]
    return f"{given} {family}".strip() or user["sourcedId"]
