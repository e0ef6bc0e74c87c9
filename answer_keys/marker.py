"""Read, check and grade what came back, file by file; pure but for reading."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from answer_keys.belonging import check_belongs
from answer_keys.errors import KeyContentError, RefusedError
from answer_keys.grading import grade_exercise
from answer_keys.hand_in import HandIn, journal_rows
from answer_keys.marked import Marked, MarkedWork, packed_rows
from answer_keys.marks import marks_text, total_of
from answer_keys.returned_files import Found, found_at, returned_paths
from workbook.progress import replay

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime
    from pathlib import Path

    from answer_keys.answer_key import AnswerKey
    from answer_keys.key_record import KeyRecord
    from answer_keys.marks import ExerciseMarks
    from answer_keys.rubric import Rubric
    from workbook.progress import ExerciseProgress

__all__ = ["Marker"]


@dataclass(slots=True)
class _Before:
    """The newest work of the student whose hand-in was marked last, by exercise.

    Who hands in again has changed an exercise or two; the marks of the others stand.
    """

    student: str = ""
    marked: dict[int, tuple[ExerciseProgress, ExerciseMarks]] = field(
        default_factory=dict
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """Marks what came back for one class set.

    Attributes
    ----------
    key : AnswerKey
    rubric : Rubric
    students : frozenset of str
        Ids of the roster.
    """

    key: AnswerKey
    rubric: Rubric
    students: frozenset[str]
    _before: _Before = field(default_factory=_Before, repr=False, compare=False)

    def marked_in(self, folder: Path) -> Iterator[Marked]:
        """Mark every file below a folder, in the order of their names."""
        paths, left = returned_paths(folder)
        for path in paths:
            yield from self.marked_at(folder, path)
        if left is not None:
            yield self.marked(left)

    def marked_at(self, folder: Path, path: Path) -> Iterator[Marked]:
        """Mark one file below a folder: one hand-in, or all of an archive."""
        return map(self.marked, found_at(folder, path, self.key))

    def marked(self, found: Found) -> Marked:
        """Check and grade what was found; never raises."""
        if found.hand_in is None:
            return Marked(name=found.name, refusal=found.refusal or "")
        try:
            check_belongs(found.hand_in, self.key, self.students)
            return Marked(name=found.name, work=self._work(found.hand_in, found))
        except RefusedError as error:
            return Marked(name=found.name, refusal=error.reason)
        except KeyContentError as error:
            return Marked(name=found.name, refusal=str(error))
        except Exception as error:
            # A fault of ours, and yet the files of the others must be graded.
            kind = type(error).__name__
            reason = f"Grading failed on this file ({kind}). Please report it."
            return Marked(name=found.name, refusal=reason)

    def _work(self, hand_in: HandIn, found: Found) -> MarkedWork:
        rows = journal_rows(hand_in)
        records: Mapping[int, KeyRecord] = self.key.of_student(hand_in.student)
        starts = {number: record.start for number, record in records.items()}
        by_exercise = replay(rows, starts)
        if self._before.student != hand_in.student:
            self._before.student, self._before.marked = hand_in.student, {}
        exercises = [
            self._graded(record, by_exercise[number])
            for number, record in sorted(records.items())
        ]
        mark, out_of = total_of(exercises)
        return MarkedWork(
            name=hand_in.name,
            sha256=hand_in.sha256,
            set_id=hand_in.set_id,
            student=hand_in.student,
            edition=hand_in.edition,
            newest=hand_in.newest,
            received_at=self._received_at(found, hand_in),
            notices=hand_in.notices,
            entries=len(rows),
            journal=packed_rows(rows),
            marks=marks_text(exercises),
            mark=mark,
            out_of=out_of,
        )

    def _graded(self, record: KeyRecord, progress: ExerciseProgress) -> ExerciseMarks:
        known, marks = self._before.marked.get(record.exercise, (None, None))
        if marks is None or known != progress:
            marks = grade_exercise(record, progress, self.rubric)
            self._before.marked[record.exercise] = progress, marks
        return marks

    def _received_at(self, found: Found, hand_in: HandIn) -> datetime:
        match self.rubric.policy.clock:
            case "student":
                return hand_in.newest
            case "archive":
                return found.archived or found.modified
        return found.modified
