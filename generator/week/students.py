"""All that is kept of one student, to give to them or to delete."""

from __future__ import annotations

import html
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.gradebook_persons import mentions
from answer_keys.hand_ins.returned_files import returned_names
from answer_keys.reports.report import PAGES, drafts_below, sheet_names
from answer_keys.visible_text import visible
from generator.sets.class_set import ClassSet
from generator.sets.graded_set import open_gradebook
from generator.week.collecting import paper_file
from generator.week.opened import check_student
from workbook.texts import _

_Tables = Mapping[str, Sequence[Mapping[str, Any]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgottenStudent:
    """What was deleted of a student, and what is left.

    Attributes
    ----------
    rows : mapping of str to int
        How many were deleted from the gradebook, by table.
    blanked : sequence of mapping
        Of what each row of another student is whose free text named this one.
    deleted : tuple of str
        Files of the set.
    left : tuple of str
        Files that may still hold something of the student.
    kept : tuple of str
        Sentences: where else to look.
    """

    student: str
    rows: Mapping[str, int]
    blanked: Sequence[Mapping[str, Any]]
    deleted: tuple[str, ...]
    left: tuple[str, ...]
    kept: tuple[str, ...]


def everything_of(
    class_set: ClassSet, student: str, gradebook: str | None = None
) -> dict[str, Any]:
    """Give all that the gradebook holds of one student, as JSON can hold it.

    Raises
    ------
    ClassSetError
        Where there is no such student, or nothing was graded yet.
    """
    name = _name_of(class_set, student)
    with open_gradebook(class_set, gradebook) as book:
        tables = _held(book, class_set, student, name)
    return {
        "set_id": class_set.set_id,
        "student": student,
        "name": name,
        "gradebook": tables,
    }


def _held(book: Gradebook, class_set: ClassSet, student: str, name: str) -> _Tables:
    held = book.everything_of(class_set.set_id, student, name)
    # Of somebody who has left the class list the gradebook may hold something still:
    # only where it holds nothing, the name has to be one of the list.
    if not any(held.values()):
        check_student(class_set, student)
    return held


def forget(
    class_set: ClassSet,
    student: str,
    gradebook: str | None = None,
    *,
    with_hand_ins: bool = False,
) -> ForgottenStudent:
    """Delete all that gradebook and results hold of one student.

    Parameters
    ----------
    with_hand_ins : bool
        Whether files of ``handed-in/`` that are this student's alone go, too; else
        the next grading takes them up again. Archives stay.

    Raises
    ------
    ClassSetError
        Where there is no such student, or nothing was graded yet.
    """
    name = _name_of(class_set, student)
    with open_gradebook(class_set, gradebook) as book:
        held = _held(book, class_set, student, name)
        deleted = _pages_about(class_set, student, name)
        if with_hand_ins:
            deleted += _hand_ins_of(class_set, student, held)
        for file in deleted:
            file.unlink()
        forgotten = book.forget(class_set.set_id, student, name)
        kept = _kept(is_file=book.is_file)
    gone = tuple(p.relative_to(class_set.folder).as_posix() for p in deleted)
    left = _left(class_set, student, name, held)
    return ForgottenStudent(
        student=student,
        rows=forgotten.rows,
        blanked=forgotten.blanked,
        deleted=gone,
        left=tuple(place for place in left if place not in gone),
        kept=kept,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgottenWork:
    """What was deleted of students who have handed in nothing new.

    Attributes
    ----------
    students : mapping of str to tuple of str
        Their ids, by set.
    rows : mapping of str to int
        How many were deleted from gradebooks, by table.
    deleted : tuple of pathlib.Path
        Pages that had something of them.
    kept : tuple of str
        Sentences: where else to look.
    """

    students: Mapping[str, Sequence[str]]
    rows: Mapping[str, int]
    deleted: tuple[Path, ...]
    kept: tuple[str, ...]


def forget_before(
    day: date, class_sets: Sequence[ClassSet] = (), gradebook: str | None = None
) -> ForgottenWork:
    """Delete all of students whose newest hand-in was graded before a day.

    Pages go before the rows that tell whose they are: a fault between leaves what is
    found the next time.

    Parameters
    ----------
    class_sets : sequence of ClassSet
        None of them are all sets of the gradebook, also those without a folder.
    gradebook : str or None
        Address of a database; None is each set's own file.

    Raises
    ------
    ClassSetError, GradebookError
        Where a set was never graded, or a gradebook cannot be written.
    """
    before = datetime.combine(day, time(), tzinfo=UTC)
    students, rows, pages = dict[str, Sequence[str]](), Counter[str](), list[Path]()
    is_file = True
    shares = [class_sets] if gradebook is not None else [[one] for one in class_sets]
    for share in shares:
        by_id = {one.set_id: one for one in share}
        with _gradebook_of(share, gradebook) as book:
            for set_id in book.old_students(before, by_id.keys() or None):
                if set_id in by_id:
                    pages += _pages_of(by_id[set_id])
            for page in pages:
                page.unlink(missing_ok=True)
            found, deleted = book.forget_before(before, by_id.keys() or None)
            is_file = book.is_file
        students |= found
        rows.update(deleted)
    return ForgottenWork(
        students=students, rows=rows, deleted=tuple(pages), kept=_kept(is_file=is_file)
    )


def _gradebook_of(share: Sequence[ClassSet], gradebook: str | None) -> Gradebook:
    """Open the gradebook at an address, or the own file of the one set."""
    if gradebook is not None:
        return Gradebook(gradebook)
    return open_gradebook(share[0], None)


def _pages_of(class_set: ClassSet) -> list[Path]:
    """All that is written of a class and comes back with the next report."""
    results = class_set.results
    pages = [results / page for page in PAGES] + drafts_below(results)
    pages += [*results.glob("sheets/sheet-*.html"), *results.glob("sheets/sheet-*.pdf")]
    return [page for page in pages if page.is_file()]


def _kept(*, is_file: bool) -> tuple[str, ...]:
    """Say where more of a student may be than can be looked for from here."""
    server = _(
        "PostgreSQL keeps the bytes of deleted rows in its tables until 'VACUUM FULL' "
        "has run, and in its write-ahead log until that is written over; run VACUUM "
        "FULL as the owner of the database."
    )
    return (
        *(() if is_file else (server,)),
        _(
            "Only texts with the id or the whole name were blanked. Not looked "
            "through: what other students have written in their hand-ins, tables of "
            "marks set by hand, results and copies that were saved elsewhere, sets "
            "drawn after this one, other folders that students' journals were copied "
            "to, and backups of any of it."
        ),
    )


def _pages_about(class_set: ClassSet, student: str, name: str) -> list[Path]:
    """What is written about one student, alone or among others, and can be again.

    A reason on another student's sheet may name this one.
    """
    results = class_set.results
    pages = [results / page for page in PAGES] + drafts_below(results)
    sheet = sheet_names(one.id for one in class_set.request.students).get(student)
    own = () if sheet is None else (results / "sheets" / sheet,)
    others = [
        path
        for path in sorted((results / "sheets").glob("sheet-*.html"))
        if path not in own
        and mentions(html.unescape(path.read_text("utf-8", "replace")), student, name)
    ]
    for path in (*own, *others):
        pages += [path, path.with_suffix(".pdf")]
    return [page for page in pages if page.is_file()]


def _hand_ins_of(class_set: ClassSet, student: str, held: _Tables) -> list[Path]:
    """Find the files that hold one student's work and nothing else."""
    folder = class_set.handed_in
    if not folder.is_dir():
        return []
    # What is in an archive is no file, nor are one student's rows of a table; and a
    # refused file that only names the student may be somebody else's.
    names = {row["file_name"] for row in held["hand_in"]} | {paper_file(student)}
    came, _unread = returned_names(folder)
    return [folder / name for name in came if visible(name) in names]


def _left(class_set: ClassSet, student: str, name: str, held: _Tables) -> list[str]:
    """Name what still holds something of a student, or may do so."""
    folder = class_set.folder
    names = {row["file_name"] for row in held["hand_in"]}
    names |= {row["name"] for row in held["returned_file"]}
    names |= {
        path.relative_to(class_set.handed_in).as_posix()
        for path in class_set.handed_in.rglob("*")
        if mentions(path.name, student, name)
    }
    left = [f"handed-in/{name}" for name in sorted(names)]
    # A 'generate' or 'site' that was killed leaves what it had begun, names and all.
    drafts = [*folder.parent.glob(f".{folder.name}.part*"), *folder.glob(".*.part*")]
    left += [str(path) for path in sorted(drafts)]
    places = [folder / "for-students" / student, folder / "site"]
    places += sorted((folder / "for-instructor").glob("[!.]*"))
    # Keys and rubric name nobody; what else lies in results/ is the instructor's own.
    nobodys = {class_set.secret_file, class_set.rubric_file}
    places += [
        path
        for path in sorted(class_set.results.iterdir())
        if path.is_file() and not path.name.startswith(class_set.gradebook_file.name)
    ]
    left += [
        path.relative_to(folder).as_posix()
        for path in places
        if path.exists() and path not in nobodys
    ]
    return left


def _name_of(class_set: ClassSet, student: str) -> str:
    names = {one.id: one.name for one in class_set.request.students}
    return names.get(student, "")
