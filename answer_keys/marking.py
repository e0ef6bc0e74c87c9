"""Grade a class: from the folder of returned files to gradebook, report and sheets."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING, Any

from answer_keys.gradebook import Gradebook, Grading
from answer_keys.grading import grade_exercise
from answer_keys.hand_in import HandIn, journal_rows
from answer_keys.inbox import sorted_inbox
from answer_keys.key_record import AnswerKey, KeyRecord, answer_key_from_content
from answer_keys.marks_csv import marks_csv
from answer_keys.reading_path import visits
from answer_keys.report import class_report, student_sheet
from answer_keys.results import ClassResult, GradedExercise, StudentResult
from answer_keys.returned_files import Found, hand_ins_in
from workbook.progress import ExerciseProgress, replay

if TYPE_CHECKING:
    from pathlib import Path

    from answer_keys.rubric import Rubric

__all__ = ["SOFTWARE", "ClassFolders", "grade_class", "graded_class", "sheet_names"]

SOFTWARE = "answer_keys 0.1.0"

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and of how much."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassFolders:
    """Where the files of a class are.

    Attributes
    ----------
    handed_in : pathlib.Path
        Read only.
    results : pathlib.Path
        Made where it is missing.
    """

    handed_in: Path
    results: Path


def grade_class(
    content: Mapping[str, Any],
    roster: Sequence[tuple[str, str]],
    rubric: Rubric,
    folders: ClassFolders,
    progress: Progress = lambda *_: None,
) -> dict[str, Any]:
    """Grade every returned file and write gradebook, report, sheets and table.

    Parameters
    ----------
    content : mapping
        The opened answer key.
    roster : sequence of (id, name)
    rubric : Rubric
    folders : ClassFolders
    progress : callable
        Told what is being done, how much is done and of how much.

    Returns
    -------
    dict
        As JSON can hold it: ``files`` accounts for every returned file by name,
        ``students`` gives the totals, ``written`` the files written.

    Raises
    ------
    KeyContentError
        Where the answer key does not hold what grading needs.
    """
    key = answer_key_from_content(content)
    result = graded_class(key, roster, rubric, folders.handed_in, progress)
    folders.results.mkdir(parents=True, exist_ok=True)
    added = _record(result, rubric, folders.results / "gradebook.sqlite")
    written = _write(result, folders.results, progress)
    return {
        "set_id": key.set_id,
        "files": [
            {
                "name": one.name,
                "status": one.status,
                "student": one.student,
                "reason": one.reason,
            }
            for one in result.receipts
        ],
        "students": [_student_summary(one) for one in result.students],
        "gradings_added": added,
        "written": written,
    }


def graded_class(
    key: AnswerKey,
    roster: Sequence[tuple[str, str]],
    rubric: Rubric,
    handed_in: Path,
    progress: Progress = lambda *_: None,
) -> ClassResult:
    """Grade every returned file without writing anything.

    Parameters
    ----------
    key : AnswerKey
    roster : sequence of (id, name)
    rubric : Rubric
    handed_in : pathlib.Path
    progress : callable

    Returns
    -------
    ClassResult
    """
    found = _told(hand_ins_in(handed_in, key), progress)
    inbox = sorted_inbox(key, {id_ for id_, _ in roster}, found)
    sheets = sheet_names(id_ for id_, _ in roster)
    students = []
    for number, (id_, name) in enumerate(roster, 1):
        hand_in = inbox.counting.get(id_)
        records = key.of_student(id_)
        graded = () if hand_in is None else _graded(hand_in, records, rubric)
        students.append(
            StudentResult(
                id=id_,
                name=name,
                sheet=sheets[id_],
                hand_in=hand_in,
                exercises=tuple(graded),
            )
        )
        progress("grading", number, len(roster))
    return ClassResult(
        set_id=key.set_id,
        mode=key.mode,
        students=tuple(students),
        receipts=tuple(inbox.receipts),
    )


def sheet_names(ids: Iterable[str]) -> dict[str, str]:
    """Give each student a file name that is safe and unlike all others.

    Parameters
    ----------
    ids : iterable of str

    Returns
    -------
    dict of str to str

    Examples
    --------
    >>> sheet_names(["a/b", "A/B"])
    {'a/b': 'sheet-a-b.html', 'A/B': 'sheet-A-B-2.html'}
    """
    names: dict[str, str] = {}
    taken: set[str] = set()
    for id_ in ids:
        plain = re.sub(r"[^A-Za-z0-9_]+", "-", id_)[:60].strip("-") or "student"
        name, number = plain, 1
        # Some disks take names that differ in case only for the same.
        while name.casefold() in taken:
            number += 1
            name = f"{plain}-{number}"
        taken.add(name.casefold())
        names[id_] = f"sheet-{name}.html"
    return names


def _told(found: Iterable[Found], progress: Progress) -> Iterator[Found]:
    """Tell of each file as it is read; how many there are is not known before."""
    for number, one in enumerate(found, 1):
        progress("reading", number, 0)
        yield one


def _graded(
    hand_in: HandIn, records: Mapping[int, KeyRecord], rubric: Rubric
) -> Iterable[GradedExercise]:
    by_exercise = replay(journal_rows(hand_in))
    for number, record in sorted(records.items()):
        progress = by_exercise.get(number, ExerciseProgress())
        yield GradedExercise(
            record=record,
            progress=progress,
            marks=grade_exercise(record, progress, rubric),
            path=visits(record, progress),
        )


def _record(result: ClassResult, rubric: Rubric, place: Path) -> int:
    """Record all gradings; give the number that are new."""
    now, added = datetime.now(UTC), 0
    with Gradebook(place) as gradebook:
        for student in result.students:
            if student.hand_in is None:
                continue
            gradebook.receive(student.hand_in, now)
            grading = Grading(
                set_id=result.set_id,
                student=student.id,
                hand_in_sha256=student.hand_in.sha256,
                rubric_sha256=rubric.sha256,
                software=SOFTWARE,
                exercises=tuple(one.marks for one in student.exercises),
            )
            added += gradebook.record(grading, now)
    return added


def _write(result: ClassResult, folder: Path, progress: Progress) -> list[str]:
    """Write report, sheets and table; give their names below the folder."""
    sheets = {f"sheets/{one.sheet}": one for one in result.graded}
    texts = {
        "class-report.html": partial(class_report, result),
        "marks.csv": partial(marks_csv, result),
    } | {name: partial(student_sheet, result, one) for name, one in sheets.items()}
    for number, (name, text) in enumerate(texts.items(), 1):
        _write_whole(folder / name, text())
        progress("writing", number, len(texts))
    return ["gradebook.sqlite", *texts]


def _write_whole(path: Path, text: str) -> None:
    """Write a file that appears whole or not at all."""
    path.parent.mkdir(exist_ok=True)
    draft = path.with_name(path.name + ".part")
    draft.write_text(text, encoding="utf-8", newline="")
    draft.replace(path)


def _student_summary(student: StudentResult) -> dict[str, Any]:
    is_graded = student.hand_in is not None
    return {
        "id": student.id,
        "name": student.name,
        "status": "graded" if is_graded else "no hand-in",
        "total": round(student.total, 2) if is_graded else None,
        "out_of": round(student.out_of, 2) if is_graded else None,
    }
