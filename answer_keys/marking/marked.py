"""One returned file once it was read, checked and graded, small enough to be kept."""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from msgspec import Struct, convert, json

from answer_keys.hand_ins.continuation import Heads, Trail
from answer_keys.marking.marks import ExerciseMarks, marks_in
from workbook.record.entries import Entry, form_of

Span = tuple[datetime, datetime]
"""From when to when."""


class MarkedWork(Struct, frozen=True, kw_only=True):
    """A hand-in that belongs to the class set, with its marks.

    Attributes
    ----------
    name : str
        Of the file, hidden characters written out.
    newest : datetime.datetime
        Time of the newest entry, by the student's clock.
    received_at : datetime.datetime
        When it came, by the clock that the class set goes by.
    notices : tuple of str
        What the instructor should know; none of it costs a mark.
    entries : int
        How many there are.
    journal : bytes
        The entries in order of time, packed by `packed`.
    marks : bytes
        Those of all exercises, packed by `marks_packed`.
    mark, out_of : float
        Of all exercises.
    heads : dict of str to (int, str)
        Where each session of the workbook ends, as `heads_of` gives it; none of
        typed answers.
    """

    name: str
    sha256: str
    set_id: str
    student: str
    edition: int
    newest: datetime
    received_at: datetime
    notices: tuple[str, ...]
    entries: int
    journal: bytes
    marks: bytes
    mark: float
    out_of: float
    heads: Heads = {}

    @property
    def exercises(self) -> tuple[ExerciseMarks, ...]:
        """The marks, exercise by exercise."""
        return marks_in(self.marks)

    @property
    def recorded(self) -> tuple[Entry, ...]:
        """The entries in order of time."""
        return entries_in(self.journal)


class Marked(Struct, frozen=True, kw_only=True):
    """What came of one returned file or member of an archive.

    Attributes
    ----------
    refusal : str
        Why there is no work; empty where there is.
    is_unread : bool
        Whether something was not even looked at.
    trail : dict of str to bytes
        What tells the entries of the work.
    modified : datetime.datetime or None
        Time of the file.
    """

    name: str
    work: MarkedWork | None = None
    refusal: str = ""
    is_unread: bool = False
    trail: Trail = {}
    modified: datetime | None = None


SOFTWARE = "answer_keys 0.2.0"
"""What computes marks: another name wherever other marks come of the same work."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What marks were computed by."""

    rubric_sha256: str
    software: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A hand-in that the gradebook has seen.

    Attributes
    ----------
    file : str
        As it was called first.
    received_at : datetime.datetime
        When it came, by the clock that the class set went by.
    seen_at : datetime.datetime
        When it was graded first.
    heads : dict of str to (int, str)
        Where each session of it ends; none where that is not known.
    has_counted : bool
        Whether it ever counted for its student.
    """

    sha256: str
    student: str
    file: str
    received_at: datetime
    seen_at: datetime
    heads: Heads
    has_counted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Grading:
    """The marks of one hand-in under one rubric."""

    set_id: str
    student: str
    hand_in_sha256: str
    rubric_sha256: str
    software: str
    graded_at: datetime
    exercises: tuple[ExerciseMarks, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """The marks of a student that count.

    Attributes
    ----------
    file : str
        The returned file that they are of.
    spans : mapping of int to (datetime.datetime, datetime.datetime)
        From when to when each exercise was worked on, as `spans_of` finds it.
    late_days : int
        Days begun since the deadline.
    deducted_percent : float
        Of all marks, for being late.
    """

    file: str
    graded_at: datetime
    spans: Mapping[int, Span]
    exercises: tuple[ExerciseMarks, ...]
    late_days: int = 0
    deducted_percent: float = 0.0


def packed(entries: Sequence[Entry]) -> bytes:
    """Pack the entries of a journal: zlib of JSON."""
    # The quickest level: the usual one saves an eighth and takes half as long again.
    return zlib.compress(json.encode(entries), level=1)


def unpacked(journal: bytes) -> list[dict[str, Any]]:
    """Unpack what each entry of a journal that `packed` has packed holds."""
    rows: list[dict[str, Any]] = json.decode(zlib.decompress(journal))
    return rows


def entries_in(journal: bytes) -> tuple[Entry, ...]:
    """Read the entries of a journal that `packed` has packed.

    Examples
    --------
    >>> from workbook.record.entries import Hint
    >>> entries_in(packed([Hint(exercise=3, step=1)]))[0].exercise
    3
    """
    return tuple(convert(row, form_of(row)) for row in unpacked(journal))


def spans_of(entries: Iterable[Entry]) -> dict[int, Span]:
    """Find the first and the last entry of each exercise, by the student's clock."""
    times: dict[int, list[datetime]] = {}
    for entry in entries:
        times.setdefault(entry.exercise, []).append(entry.moment)
    return {exercise: (min(all_), max(all_)) for exercise, all_ in times.items()}
