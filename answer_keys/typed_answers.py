"""Typed answers: a table of what students wrote on paper, read as strictly as hand-ins.

One row a step, in the order in which the student went. Tests, predictions and questions
go by their number on the handout, which is their place in the answer key, and options
by their letter.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from typing import TYPE_CHECKING

import msgspec

from answer_keys.errors import RefusedError
from answer_keys.hand_in import NEVER, HandIn
from answer_keys.hand_in_lines import Entry, entry_from
from answer_keys.typed_steps import RowError, fields_of, one_of
from answer_keys.typed_table import rows_of
from answer_keys.visible_text import visible
from workbook.progress import after

if TYPE_CHECKING:
    from collections.abc import Sequence

    from answer_keys.answer_key import AnswerKey
    from answer_keys.key_record import KeyRecord
    from answer_keys.typed_table import Row
    from workbook.progress import ExerciseProgress

__all__ = ["SOFTWARE", "is_typed", "typed_hand_ins"]

SOFTWARE = "typed answers"
_MOST_FAULTS = 50
# Paper has no clock: rows keep their order by number, and hand-ins are newer.
_TIME = "2000-01-01T00:00:00Z"


def is_typed(name: str) -> bool:
    """Tell whether a returned file is to be read as typed answers."""
    return name.lower().endswith(".csv")


def typed_hand_ins(name: str, data: bytes, key: AnswerKey) -> tuple[HandIn, ...]:
    """Read a table of typed answers, as one hand-in a student.

    Parameters
    ----------
    name : str
        Name of the file; each hand-in is called ``name/student``.
    data : bytes
        CSV in UTF-8, with commas or semicolons between.
    key : AnswerKey

    Returns
    -------
    tuple of HandIn
        In the order in which the students first come up.

    Raises
    ------
    RefusedError
        With every fault of the file, each with its row and what is allowed.
    """
    rows, faults = rows_of(data)
    reader = _Reader(key=key, faults=faults)
    for row in rows:
        reader.take(row)
    if reader.faults:
        raise RefusedError(_listed(reader.faults))
    if not reader.entries:
        raise RefusedError("The table holds no answer; allowed is one or more.")
    return tuple(
        HandIn(
            name=visible(f"{name}/{student}"),
            sha256=_digest(student, entries),
            set_id=key.set_id,
            student=student,
            edition=key.edition,
            mode=key.mode,
            software=SOFTWARE,
            entries=tuple((SOFTWARE, entry) for entry in entries),
            notices=(),
            is_unbroken=True,
            newest=NEVER,
            trail={},
        )
        for student, entries in reader.entries.items()
    )


def _digest(student: str, entries: Sequence[Entry]) -> str:
    """Hash one student's answers: the rows of others change nothing."""
    return hashlib.sha256(msgspec.json.encode([student, entries])).hexdigest()


def _listed(faults: Sequence[str]) -> str:
    more = len(faults) - _MOST_FAULTS
    tail = [f"And {more} more."] if more > 0 else []
    return "\n".join([*faults[:_MOST_FAULTS], *tail])


class _Reader:
    """Takes rows one by one, and keeps what each student has done so far."""

    def __init__(self, *, key: AnswerKey, faults: list[str]) -> None:
        self.key = key
        self.faults = faults
        self.entries: defaultdict[str, list[Entry]] = defaultdict(list)
        self._progress: dict[tuple[str, int], ExerciseProgress] = {}

    def take(self, row: Row) -> None:
        """Take one row; one without any answer was left empty."""
        if not (row.answer or row.second_answer):
            return
        try:
            self._add(row)
        except RowError as error:
            self.faults.append(f"Row {row.number}: {error}.")

    def _add(self, row: Row) -> None:
        record = self._record(row)
        fields = fields_of(row, record)
        entries = self.entries[record.student]
        common = {"seq": len(entries) + 1, "time": _TIME, "prev": "-"}
        entry = entry_from({**common, "exercise": record.exercise, **fields})
        place = record.student, record.exercise
        before = self._progress.get(place, record.start)
        progress = after(before, msgspec.to_builtins(entry))
        if progress is before:
            raise RowError(
                f"the {entry.kind} is not due here; allowed are predictions before the "
                "first test, each test once with its finding after it, then one "
                "conclusion and one verification, without what the handout has done "
                "already; or each question once"
            )
        self._progress[place] = progress
        entries.append(entry)

    def _record(self, row: Row) -> KeyRecord:
        one_of("set", row.set, [self.key.set_id])
        one_of("student", row.student, sorted(self.key.students))
        records = self.key.of_student(row.student)
        number = one_of("exercise", row.exercise, [str(n) for n in sorted(records)])
        return records[int(number)]
