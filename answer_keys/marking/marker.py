"""Read, check and grade what came back, file by file; pure but for reading."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from msgspec.structs import replace

from answer_keys.errors import KeyContentError, RefusedError
from answer_keys.hand_ins.belonging import check_belongs
from answer_keys.hand_ins.continuation import heads_of
from answer_keys.hand_ins.hand_in import HandIn
from answer_keys.hand_ins.returned_files import Found, found_at, returned_names
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.keys.set_ups import with_set_ups
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.marked import Marked, MarkedWork, packed
from answer_keys.marking.marks import ExerciseMarks, marks_packed, total_of
from answer_keys.marking.policy import Rubric
from workbook.record.entries import Entry, in_order
from workbook.record.progress import replay
from workbook.texts import _, language, speaking

_SAME_WORK, _SAME_HAND_INS = 64, 8
"""Exercises of which the marks are remembered, and hand-ins: who hands in once more has
done most of them before, or all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """Marks what came back for one class set.

    Attributes
    ----------
    students : frozenset of str
        Ids of the roster.
    language : str
        In which it is said why a file is refused: that of who reads it.
    """

    key: AnswerKey
    rubric: Rubric
    students: frozenset[str]
    language: str = field(default_factory=language)

    def marked_in(self, folder: Path) -> Iterator[Marked]:
        """Mark every file below a folder, in the order of their names."""
        names, unread = returned_names(folder)
        for name in names:
            yield from self.marked_at(folder, name)
        yield from map(self.marked, unread)

    def marked_at(self, folder: Path, name: str) -> Iterator[Marked]:
        """Mark one file below a folder: one hand-in, or all of an archive."""
        with speaking(self.language):
            yield from map(self.marked, found_at(folder, name, self.key))

    def marked(self, found: Found) -> Marked:
        """Check and grade what was found; never raises."""
        if found.hand_in is None:
            return Marked(
                name=found.name,
                refusal=found.refusal or "",
                is_unread=found.is_unread,
            )
        try:
            check_belongs(found.hand_in, self.key, self.students)
            return Marked(
                name=found.name,
                work=self._work(found.hand_in, found),
                trail=found.hand_in.trail,
                modified=found.modified,
            )
        except RefusedError as error:
            return Marked(name=found.name, refusal=error.reason)
        except KeyContentError as error:
            return Marked(name=found.name, refusal=str(error))
        except Exception as error:
            # A fault of ours, and yet the files of the others must be graded.
            kind = type(error).__name__
            reason = _(
                "Grading failed on this file ({kind}). Please report it."
            ).format(kind=kind)
            return Marked(name=found.name, refusal=reason)

    def together(self, works: Sequence[MarkedWork]) -> MarkedWork:
        """Mark several hand-ins of one student as one: all their entries by time.

        Parameters
        ----------
        works : sequence of MarkedWork
            In any order: the same ones give the same work.
        """
        ordered = sorted(works, key=lambda one: one.sha256)
        # What is in several is the same entry.
        entries = dict.fromkeys(entry for one in ordered for entry in one.recorded)
        by_time = in_order(("", entry) for entry in entries)
        hashes = "".join(one.sha256 for one in ordered)
        return replace(
            ordered[0],
            **self._marks(ordered[0].student, by_time),
            name=" + ".join(one.name for one in ordered),
            sha256=hashlib.sha256(hashes.encode()).hexdigest(),
            newest=max(one.newest for one in ordered),
            received_at=max(one.received_at for one in ordered),
            notices=tuple(dict.fromkeys(n for one in ordered for n in one.notices)),
            # No file is this work, so that none is ever missed, or goes on from it.
            heads={},
        )

    def marked_again(self, work: MarkedWork) -> MarkedWork | None:
        """Mark a hand-in from its journal; None where that journal was changed too."""
        try:
            return replace(work, **self._marks(work.student, work.recorded))
        except Exception:  # whatever is made of what nobody has checked
            return None

    def _work(self, hand_in: HandIn, found: Found) -> MarkedWork:
        return MarkedWork(
            **self._marks(hand_in.student, hand_in.entries),
            name=hand_in.name,
            sha256=hand_in.sha256,
            set_id=hand_in.set_id,
            student=hand_in.student,
            edition=hand_in.edition,
            newest=hand_in.newest,
            received_at=self._received_at(found, hand_in),
            notices=hand_in.notices,
            heads=heads_of(hand_in.trail),
        )

    def _marks(self, student: str, entries: Iterable[Entry]) -> dict[str, Any]:
        """Give the fields of a `MarkedWork` that entries in order of time decide."""
        own = sorted(self.key.of_student(student).items())
        records = tuple(record for _number, record in own)
        with speaking(self.key.language):
            marks = _marks_of_all(records, tuple(entries), self.rubric, language())
        return marks._asdict()

    def _received_at(self, found: Found, hand_in: HandIn) -> datetime:
        match self.rubric.policy.clock:
            case "student":
                return hand_in.newest
            case "archive":
                return found.archived or found.modified
        return found.modified


class _Marks(NamedTuple):
    """What a `MarkedWork` has that hangs on nothing but its entries."""

    entries: int
    journal: bytes
    marks: bytes
    mark: float
    out_of: float


@lru_cache(maxsize=_SAME_HAND_INS)
def _marks_of_all(
    records: tuple[KeyRecord, ...],
    entries: tuple[Entry, ...],
    rubric: Rubric,
    spoken: str,
) -> _Marks:
    """Mark all exercises of a student, by entries in order of time."""
    own = defaultdict[int, list[Entry]](list)
    for entry in entries:
        own[entry.exercise].append(entry)
    exercises = [
        _marks_of(record, tuple(own[record.exercise]), rubric, spoken)
        for record in records
    ]
    mark, out_of = total_of(exercises)
    return _Marks(
        entries=len(entries),
        journal=packed(entries),
        marks=marks_packed(exercises),
        mark=mark,
        out_of=out_of,
    )


@lru_cache(maxsize=_SAME_WORK)
def _marks_of(
    record: KeyRecord, entries: tuple[Entry, ...], rubric: Rubric, _spoken: str
) -> ExerciseMarks:
    """Mark one exercise by its own entries, in order of time."""
    done = replay(entries, {record.exercise: record.start})[record.exercise]
    tests = [test.item for test in done.tests]
    return grade_exercise(with_set_ups(record, tests), done, rubric)
