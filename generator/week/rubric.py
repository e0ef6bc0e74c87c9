"""The rubric of a set: read, written, and whose marks another one would change."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.headway import Progress
from answer_keys.marking.policy import Rubric
from answer_keys.marking.rubric import read_rubric, rubric_file_text, rubric_from_text
from answer_keys.reports.report import class_in
from answer_keys.written_files import write_whole
from generator.grading.class_grading import grade_into, told
from generator.grading.processes import mark_in_processes
from generator.sets.class_set import ClassSet
from generator.sets.graded_set import open_gradebook
from generator.week.opened import OpenedSet

_LEAST = 0.005  # marks are shown with two digits


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A student whose marks change, in all; None where there are none."""

    student: str
    name: str
    before: float | None
    after: float | None


def rubric_of(class_set: ClassSet) -> Rubric:
    """Read the rubric of a set; raises a `RubricError` with every fault."""
    return read_rubric(class_set.rubric_file)


def keep_rubric(class_set: ClassSet, rubric: Rubric) -> None:
    """Write the rubric of a set anew: comments that somebody put there go.

    Raises
    ------
    RubricError
        Where it is none; the file stays as it was.
    """
    text = rubric_file_text(rubric)
    rubric_from_text(text)
    write_whole(class_set.rubric_file, text.encode())


def effect_of(
    opened: OpenedSet, rubric: Rubric, tell: Progress = lambda *_: None
) -> tuple[Change, ...]:
    """Tell whose marks a rubric would change; nothing of it is recorded.

    All that came back is graded into a copy of the gradebook, which is thrown away.

    Raises
    ------
    ClassSetError
        Where nothing was graded yet.
    GradebookError
        Where the gradebook is in a server, of which no copy can be made.
    """
    class_set, key = opened.class_set, opened.key
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "gradebook.sqlite"
        with open_gradebook(class_set, opened.gradebook) as book:
            before = class_in(book, key, class_set.roster)
            book.copy_to(copy)
        with Gradebook(copy) as book:
            grade_into(
                book,
                key,
                dict(class_set.roster),
                rubric,
                class_set.handed_in,
                lambda marker, came: told(mark_in_processes(marker, came), tell),
            )
            after = class_in(book, key, class_set.roster)
    pairs = zip(before.students, after.students, strict=True)
    changes = (
        Change(
            student=old.id,
            name=old.name,
            before=None if old.file is None else old.total,
            after=None if new.file is None else new.total,
        )
        for old, new in pairs
    )
    return tuple(one for one in changes if _differs(one))


def _differs(change: Change) -> bool:
    if change.before is None or change.after is None:
        return change.before is not change.after
    return abs(change.before - change.after) >= _LEAST
