"""The class list: who is in it, whatever a school calls the columns."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from answer_keys.csv_table import CsvRow
from answer_keys.errors import Problem
from generator.drawing.request import Student
from generator.errors import RosterError
from generator.sets.school_table import school_rows
from workbook.texts import _

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._@+-]{0,39}")
# Names that a file may not have on every system, whatever its ending.
_RESERVED = {"con", "prn", "aux", "nul"} | {
    f"{device}{number}" for device in ("com", "lpt") for number in range(1, 10)
}
_GIVEN = ("Ada", "Bruno", "Carla", "Dario", "Edda", "Finn", "Greta", "Hanno")
_FAMILY = ("Almer", "Brunner", "Colm", "Dorn", "Egger", "Falk", "Gasser")
# What schools call their columns, English and German, in small letters and digits only;
# the likeliest first (common practice, no source).
_CALLED = {
    "id": (
        *("id", "studentid", "studentnumber", "studentno", "sisid", "personid"),
        *("identifier", "uniqueid", "admissionnumber", "candidatenumber"),
        *("matriculationnumber", "matrikelnummer", "matrikelnr", "matrikel"),
        *("schuelerid", "schulerid", "schuelernummer", "schulernummer"),
        *("schuelernr", "schulernr", "personalnummer", "kennung", "ausweisnummer"),
    ),
    "name": (
        *("name", "fullname", "studentname", "displayname", "student"),
        *("vollstandigername", "vollername", "anzeigename", "schuelername"),
        *("schulername", "namevorname", "vornamename", "teilnehmer", "teilnehmerin"),
    ),
    "given": ("givenname", "firstname", "forename", "vorname", "rufname", "given"),
    "family": (
        *("familyname", "lastname", "surname", "nachname", "familienname"),
        *("zuname", "family"),
    ),
    "login": (
        *("login", "loginid", "username", "userid", "user", "account"),
        *("benutzername", "benutzer", "anmeldename", "emailaddress", "email"),
    ),
}
_TITLE_ROWS = 10  # above the names of the columns, at most


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Which columns of a class list hold what, by their places from 0.

    Attributes
    ----------
    name : int or None
        The whole name; else it is put together of ``given`` and ``family``.
    login : int or None
        What the student is called on a school's hub.
    """

    id: int
    name: int | None = None
    given: int | None = None
    family: int | None = None
    login: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """The row that names the columns of a class list.

    Attributes
    ----------
    columns : Columns or None
        None where the names are not such as schools use.
    lacking : tuple of str
        What none of the names tells.
    """

    row: CsvRow
    columns: Columns | None
    lacking: tuple[str, ...]


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


def heading_of(rows: Sequence[CsvRow]) -> Heading:
    """Find the row that names the columns: the first, or one below a title."""
    first = rows[0] if rows else CsvRow(line=1, cells=())
    found = [_heading(row) for row in rows[:_TITLE_ROWS]]
    return next((one for one in found if one.columns), _heading(first))


def _heading(row: CsvRow) -> Heading:
    called = [_plain(cell) for cell in row.cells]
    places = {
        what: next((called.index(name) for name in names if name in called), None)
        for what, names in _CALLED.items()
    }
    # A login tells students apart as well.
    id_ = places["id"] if places["id"] is not None else places["login"]
    # Beside a column of given names, "Name" is that of family names.
    if places["given"] is not None and places["family"] is None:
        places["family"], places["name"] = places["name"], None
    has_name = any(places[what] is not None for what in ("name", "given", "family"))
    lacking = ("id",) * (id_ is None) + ("name",) * (not has_name)
    columns = None
    if id_ is not None and has_name:
        columns = Columns(
            id=id_,
            name=places["name"],
            given=places["given"],
            family=places["family"],
            login=places["login"],
        )
    return Heading(row=row, columns=columns, lacking=lacking)


def _plain(text: str) -> str:
    """Write a name of a column in small letters and digits only.

    Examples
    --------
    >>> _plain("Schüler-ID")
    'schulerid'
    """
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(each for each in parts if each.isascii() and each.isalnum())


def read_roster(path: Path, columns: Columns | None = None) -> tuple[Student, ...]:
    """Read a class list.

    Parameters
    ----------
    path : pathlib.Path
        CSV in any common encoding, or XLSX; the columns stand in any order, and in the
        first line or below a title.
    columns : Columns or None
        Where the names of the columns do not tell.

    Raises
    ------
    RosterError
        With every fault of the file.
    """
    rows = school_rows(path)
    heading = heading_of(rows)
    wanted = columns or heading.columns
    if wanted is None:
        message = _(
            "no column called {lacking}. Name the columns id and name in the "
            "first line."
        ).format(lacking=_(" and ").join(heading.lacking))
        raise RosterError([Problem(path=path, line=1, message=message)])
    below = [row for row in rows if row.line > heading.row.line]
    return _students(path, below, wanted)


def _students(
    path: Path, rows: Sequence[CsvRow], columns: Columns
) -> tuple[Student, ...]:
    problems = list[Problem]()
    first = dict[str, tuple[int, Student]]()
    for row in rows:
        id_ = _cell(row, columns.id)
        student = Student(
            id=id_, name=_name(row, columns) or id_, login=_cell(row, columns.login)
        )
        line, holder = first.setdefault(id_.casefold(), (row.line, student))
        said = id_problem(id_, ())
        if not said and holder is not student:
            said = _doubled_id(student, holder, line)
        if said:
            problems.append(Problem(path=path, line=row.line, message=said))
    students = [one for _line, one in first.values()]
    if not students:
        message = _(
            "there is no student. Write one line or more, an id and a name each."
        )
        problems.append(Problem(path=path, line=2, message=message))
    problems += _doubled_logins(path, students)
    if problems:
        raise RosterError(problems)
    return tuple(students)


def _doubled_id(student: Student, holder: Student, line: int) -> str:
    return _(
        "id '{id}' stands here twice: {name} has that of {other}, line {line}. Give "
        "each student an id of their own, or take the ids from another column; small "
        "and capital letters are the same."
    ).format(id=student.id, name=student.name, other=holder.name, line=line)


def _cell(row: CsvRow, place: int | None) -> str:
    return "" if place is None or place >= len(row.cells) else row.cells[place]


def _name(row: CsvRow, columns: Columns) -> str:
    parts = (columns.name, columns.given, columns.family)
    return " ".join(filter(None, (_cell(row, part) for part in parts)))


def _doubled_logins(path: Path, students: Iterable[Student]) -> Iterator[Problem]:
    # Who has none goes by the id: another's login there would open the wrong work.
    counts = Counter((one.login or one.id).casefold() for one in students)
    for login, count in counts.items():
        if count > 1:
            message = _(
                "login {login} stands here {count} times, or is the id of a student "
                "without one. Give each student a login of their own, or leave it out."
            ).format(login=repr(login), count=count)
            yield Problem(path=path, line=None, message=message)


def is_reserved(name: str) -> bool:
    """Whether no file may be called so on some system, whatever its ending."""
    return name.split(".")[0].casefold() in _RESERVED


def id_problem(student_id: str, seen: Container[str]) -> str:
    """Say why an id cannot be a student's; empty where it can.

    Parameters
    ----------
    seen : container of str
        Ids of the students before, in `str.casefold`.
    """
    if not _ID.fullmatch(student_id) or student_id.endswith("."):
        return _(
            "{student_id} cannot be an id. Write 1 to 40 of the letters a to "
            "z, digits and ._@+-, with a letter or digit first and no stop "
            "last."
        ).format(student_id=repr(student_id))
    if is_reserved(student_id):
        return _(
            "{student_id} cannot be an id: some systems keep it for a device. "
            "Put a letter before it."
        ).format(student_id=repr(student_id))
    if student_id.casefold() in seen:
        return _(
            "id {student_id} stands here twice. Give each student an id of "
            "their own; small and capital letters are the same."
        ).format(student_id=repr(student_id))
    return ""
