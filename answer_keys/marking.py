"""Grade a class: from the folder of returned files to gradebook, report and sheets."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from answer_keys.gradebook import Gradebook, Grading
from answer_keys.grading import grade_exercise
from answer_keys.hand_in import HandIn, journal_rows
from answer_keys.inbox import sorted_inbox
from answer_keys.key_record import AnswerKey, answer_key_from_content
from answer_keys.reporting import class_in, write_reports
from answer_keys.returned_files import Found, hand_ins_in
from workbook.progress import ExerciseProgress, replay

if TYPE_CHECKING:
    from pathlib import Path

    from answer_keys.results import StudentResult
    from answer_keys.rubric import Rubric

__all__ = ["SOFTWARE", "ClassFolders", "grade_class", "grade_into"]

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
    folders.results.mkdir(parents=True, exist_ok=True)
    with Gradebook(folders.results / "gradebook.sqlite") as gradebook:
        added = grade_into(
            gradebook,
            key,
            {id_ for id_, _ in roster},
            rubric,
            folders.handed_in,
            progress,
        )
        result = class_in(gradebook, key, roster)
    written = write_reports(result, folders.results, progress)
    return {
        "set_id": key.set_id,
        "files": [asdict(one) for one in result.receipts],
        "students": [_student_summary(one) for one in result.students],
        "gradings_added": added,
        "written": ["gradebook.sqlite", *written],
    }


def grade_into(
    gradebook: Gradebook,
    key: AnswerKey,
    students: Set[str],
    rubric: Rubric,
    handed_in: Path,
    progress: Progress = lambda *_: None,
) -> int:
    """Grade every returned file into a gradebook.

    Parameters
    ----------
    gradebook : Gradebook
    key : AnswerKey
    students : set of str
        Ids of the roster.
    rubric : Rubric
    handed_in : pathlib.Path
    progress : callable

    Returns
    -------
    int
        Gradings that are new.
    """
    inbox = sorted_inbox(key, students, _told(hand_ins_in(handed_in, key), progress))
    now, added = datetime.now(UTC), 0
    gradebook.account(key.set_id, inbox.receipts)
    for number, hand_in in enumerate(inbox.counting.values(), 1):
        gradebook.receive(hand_in, now)
        added += gradebook.record(_grading(hand_in, key, rubric), now)
        progress("grading", number, len(inbox.counting))
    return added


def _told(found: Iterable[Found], progress: Progress) -> Iterator[Found]:
    """Tell of each file as it is read; how many there are is not known before."""
    for number, one in enumerate(found, 1):
        progress("reading", number, 0)
        yield one


def _grading(hand_in: HandIn, key: AnswerKey, rubric: Rubric) -> Grading:
    by_exercise = replay(journal_rows(hand_in))
    marks = [
        grade_exercise(record, by_exercise.get(number, ExerciseProgress()), rubric)
        for number, record in sorted(key.of_student(hand_in.student).items())
    ]
    return Grading(
        set_id=key.set_id,
        student=hand_in.student,
        hand_in_sha256=hand_in.sha256,
        rubric_sha256=rubric.sha256,
        software=SOFTWARE,
        exercises=tuple(marks),
    )


def _student_summary(student: StudentResult) -> dict[str, Any]:
    is_graded = student.file is not None
    return {
        "id": student.id,
        "name": student.name,
        "status": "graded" if is_graded else "no hand-in",
        "total": round(student.total, 2) if is_graded else None,
        "out_of": round(student.out_of, 2) if is_graded else None,
    }
