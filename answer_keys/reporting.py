"""Write report, sheets and table of a class from its gradebook; nothing is graded."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from answer_keys.errors import GradebookError
from answer_keys.graded import graded_exercise
from answer_keys.interchange.marks_csv import marks_csv
from answer_keys.report import Report, class_report
from answer_keys.results import ClassResult, GradedExercise, StudentResult
from answer_keys.sheet import student_sheet
from answer_keys.visible_text import visible
from answer_keys.written_files import write_private

if TYPE_CHECKING:
    from pathlib import Path

    from answer_keys.answer_key import AnswerKey
    from answer_keys.gradebook import Gradebook
    from answer_keys.key_record import KeyRecord
    from answer_keys.marked import Counted

__all__ = [
    "PAGES",
    "class_in",
    "class_results",
    "drafts_below",
    "sheet_names",
    "write_reports",
]

PAGES = ("class-report.html", "marks.csv")
"""Files among the results that hold something of every student."""

_DRAFT = re.compile(
    r"\.(class-report\.html|marks\.csv|sheet-[\w-]+\.(html|pdf))\.\d+\.part"
)
# Writing one takes far less: nobody writes at such a draft any more.
_LEFT_OVER_S = 60.0

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and of how much."""


def class_results(
    gradebook: Gradebook, key: AnswerKey, roster: Sequence[tuple[str, str]]
) -> Iterator[ClassResult]:
    """Give what `class_in` gives, to be written before the next is asked for.

    Another comes where a grader has decided anew in the meantime: two that write into
    one folder would leave pages of both there.
    """
    state: object = None
    while (now := gradebook.state(key.set_id)) != state:
        state = now
        yield class_in(gradebook, key, roster)


def class_in(
    gradebook: Gradebook, key: AnswerKey, roster: Sequence[tuple[str, str]]
) -> ClassResult:
    """Lay the marks of a gradebook that count beside the answer key.

    Parameters
    ----------
    gradebook : Gradebook
    key : AnswerKey
    roster : sequence of (id, name)

    Returns
    -------
    ClassResult

    Raises
    ------
    GradebookError
        Where the marks are no longer those that were recorded, or of another key.
    """
    counted = gradebook.counted(key.set_id)
    sheets = sheet_names(id_ for id_, _ in roster)
    students = []
    for id_, name in roster:
        student = StudentResult(id=id_, name=name, sheet=sheets[id_])
        if (one := counted.get(id_)) is not None:
            student = replace(
                student,
                file=one.file,
                late_days=one.late_days,
                deducted_percent=one.deducted_percent,
                graded_at=one.graded_at,
                exercises=_exercises(one, key.of_student(id_)),
            )
        students.append(student)
    return ClassResult(
        set_id=key.set_id,
        mode=key.mode,
        students=tuple(students),
        receipts=gradebook.receipts(key.set_id),
        history=key.history,
    )


def _exercises(
    one: Counted, records: Mapping[int, KeyRecord]
) -> tuple[GradedExercise, ...]:
    unknown = sorted({marks.exercise for marks in one.exercises} - records.keys())
    if unknown:
        raise GradebookError(
            f"The gradebook has marks of {visible(one.file)} for exercise "
            f"{unknown[0]}, which the answer key does not have; put back the key that "
            "belongs to it."
        )
    return tuple(
        graded_exercise(records[marks.exercise], marks, one.spans.get(marks.exercise))
        for marks in one.exercises
    )


def write_reports(
    report: Report, key: AnswerKey, folder: Path, progress: Progress = lambda *_: None
) -> list[str]:
    """Write report, sheets and table; give their names below the folder.

    Drafts that a killed writer has left there are removed.
    """

    def sheet(student: StudentResult) -> str:
        return student_sheet(result, student, key.of_student(student.id))

    for draft in drafts_below(folder, older_s=_LEFT_OVER_S):
        draft.unlink(missing_ok=True)
    result = report.result
    sheets = {f"sheets/{one.sheet}": one for one in result.graded}
    pages = (partial(class_report, report), partial(marks_csv, result))
    texts = dict(zip(PAGES, pages, strict=True))
    texts |= {name: partial(sheet, one) for name, one in sheets.items()}
    for number, (name, text) in enumerate(texts.items(), 1):
        write_private(folder / name, text().encode())
        progress("writing", number, len(texts))
    return list(texts)


def drafts_below(folder: Path, older_s: float = 0.0) -> list[Path]:
    """List drafts of our own results, and of nothing else, that are old enough [s]."""
    found = [*folder.glob(".*.part"), *folder.glob("sheets/.*.part")]
    own = [path for path in found if _DRAFT.fullmatch(path.name)]
    return [path for path in own if time.time() - path.stat().st_mtime >= older_s]


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
