"""The gradebook: every grading that was ever made, never overwritten."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Self

import sqlalchemy as sa

from answer_keys.errors import GradebookError
from answer_keys.marks import ExerciseMarks, StepMark
from answer_keys.receipts import Receipt

if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import TracebackType

    from answer_keys.hand_in import HandIn

__all__ = ["Counted", "Gradebook", "Grading"]

_META = sa.MetaData()
_HAND_INS = sa.Table(
    "hand_in",
    _META,
    sa.Column("sha256", sa.String(64), primary_key=True),
    sa.Column("set_id", sa.Text, nullable=False),
    sa.Column("student", sa.Text, nullable=False),
    sa.Column("edition", sa.Integer, nullable=False),
    sa.Column("file_name", sa.Text, nullable=False),
    sa.Column("newest_entry", sa.Text, nullable=False),
    sa.Column("received_at", sa.Text, nullable=False),
)
_GRADINGS = sa.Table(
    "grading",
    _META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("set_id", sa.Text, nullable=False),
    sa.Column("student", sa.Text, nullable=False),
    sa.Column("hand_in", sa.ForeignKey("hand_in.sha256"), nullable=False),
    sa.Column("rubric_sha256", sa.String(64), nullable=False),
    sa.Column("marks_sha256", sa.String(64), nullable=False),
    sa.Column("software", sa.Text, nullable=False),
    sa.Column("graded_at", sa.Text, nullable=False),
    sa.Column("mark", sa.Float, nullable=False),
    sa.Column("out_of", sa.Float, nullable=False),
    sa.Index("grading_of_student", "set_id", "student", "id"),
)
_MARKS = sa.Table(
    "mark",
    _META,
    sa.Column("grading", sa.ForeignKey("grading.id"), primary_key=True),
    sa.Column("exercise", sa.Integer, primary_key=True),
    sa.Column("position", sa.Integer, primary_key=True),
    sa.Column("step", sa.Text, nullable=False),
    sa.Column("item", sa.Text, nullable=False),
    sa.Column("title", sa.Text, nullable=False),
    sa.Column("mark", sa.Float, nullable=False),
    sa.Column("out_of", sa.Float, nullable=False),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("misconception", sa.Text, nullable=False),
    sa.Column("minutes_wasted", sa.Float, nullable=False),
    sa.Column("answer", sa.Text, nullable=False),
    sa.Column("hints", sa.Integer, nullable=False),
)
_RECEIPTS = sa.Table(
    "returned_file",
    _META,
    sa.Column("set_id", sa.Text, primary_key=True),
    sa.Column("position", sa.Integer, primary_key=True),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("status", sa.Text, nullable=False),
    sa.Column("student", sa.Text),
    sa.Column("reason", sa.Text, nullable=False),
)
_RECEIPT_COLUMNS = tuple(Receipt.__dataclass_fields__)
_STEP_COLUMNS = tuple(StepMark.__dataclass_fields__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grading:
    """The marks of one hand-in under one rubric.

    Attributes
    ----------
    set_id, student, hand_in_sha256, rubric_sha256, software : str
    exercises : tuple of ExerciseMarks
    """

    set_id: str
    student: str
    hand_in_sha256: str
    rubric_sha256: str
    software: str
    exercises: tuple[ExerciseMarks, ...]

    @property
    def marks_sha256(self) -> str:
        """Fingerprint of all marks and reasons."""
        text = json.dumps([asdict(one) for one in self.exercises], sort_keys=True)
        return hashlib.sha256(text.encode("ascii")).hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """The marks of a student that count, and the file that they are of."""

    file: str
    exercises: tuple[ExerciseMarks, ...]


class Gradebook:
    """A gradebook in a database; use it as a context manager.

    Parameters
    ----------
    place : pathlib.Path or str
        A file for SQLite, or the address of another database.

    Notes
    -----
    The newest grading of a student counts. A grading that equals the newest one in
    hand-in, rubric, software and marks adds nothing; any other is a new row.
    """

    def __init__(self, place: Path | str) -> None:
        address = f"sqlite:///{place}" if isinstance(place, Path) else place
        self._engine = sa.create_engine(address)
        if self._engine.dialect.name == "sqlite":  # pragma: no branch # no other here
            sa.event.listen(self._engine, "connect", _set_up_sqlite)
        try:
            _META.create_all(self._engine)
        except sa.exc.DatabaseError as error:
            raise GradebookError(
                f"{place}: is no gradebook that can be read ({error.orig}); move it "
                "away, and grading writes a new one"
            ) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()

    def receive(self, hand_in: HandIn, at: datetime) -> None:
        """Note a hand-in; one that was received before keeps its first date."""
        row = {
            "sha256": hand_in.sha256,
            "set_id": hand_in.set_id,
            "student": hand_in.student,
            "edition": hand_in.edition,
            "file_name": hand_in.name,
            "newest_entry": hand_in.newest.isoformat(),
            "received_at": _utc(at),
        }
        known = sa.select(_HAND_INS.c.sha256).where(
            _HAND_INS.c.sha256 == hand_in.sha256
        )
        with self._engine.begin() as connection:
            if connection.execute(known).first() is None:
                connection.execute(_HAND_INS.insert().values(row))

    def record(self, grading: Grading, at: datetime) -> bool:
        """Record a grading of a hand-in that was received.

        Parameters
        ----------
        grading : Grading
        at : datetime.datetime
            When it was made.

        Returns
        -------
        bool
            Whether a row was added; False where the newest grading equals this one.
        """
        row = {
            "set_id": grading.set_id,
            "student": grading.student,
            "hand_in": grading.hand_in_sha256,
            "rubric_sha256": grading.rubric_sha256,
            "marks_sha256": grading.marks_sha256,
            "software": grading.software,
        }
        with self._engine.begin() as connection:
            newest = connection.execute(
                sa.select(*(_GRADINGS.c[name] for name in row))
                .where(_GRADINGS.c.set_id == grading.set_id)
                .where(_GRADINGS.c.student == grading.student)
                .order_by(_GRADINGS.c.id.desc())
                .limit(1)
            ).first()
            if newest is not None and tuple(newest) == tuple(row.values()):
                return False
            more = {
                "graded_at": _utc(at),
                "mark": sum(one.mark for one in grading.exercises),
                "out_of": sum(one.out_of for one in grading.exercises),
            }
            insert = _GRADINGS.insert().values(row | more).returning(_GRADINGS.c.id)
            number = connection.execute(insert).scalar_one()
            connection.execute(_MARKS.insert(), _mark_rows(number, grading.exercises))
        return True

    def gradings(self, set_id: str, student: str) -> tuple[Grading, ...]:
        """Give all gradings of a student, the newest last: that one counts."""
        query = (
            sa.select(_GRADINGS)
            .where(_GRADINGS.c.set_id == set_id)
            .where(_GRADINGS.c.student == student)
            .order_by(_GRADINGS.c.id)
        )
        with self._engine.connect() as connection:
            return tuple(
                Grading(
                    set_id=row.set_id,
                    student=row.student,
                    hand_in_sha256=row.hand_in,
                    rubric_sha256=row.rubric_sha256,
                    software=row.software,
                    exercises=_marks_of(connection, [row.id])[row.id],
                )
                for row in connection.execute(query)
            )

    def counted(self, set_id: str) -> dict[str, Counted]:
        """Give the marks that count of every graded student, by student id."""
        newest = (
            sa.select(sa.func.max(_GRADINGS.c.id))
            .where(_GRADINGS.c.set_id == set_id)
            .group_by(_GRADINGS.c.student)
        )
        files = (
            sa.select(_GRADINGS.c.id, _GRADINGS.c.student, _HAND_INS.c.file_name)
            .join(_HAND_INS)
            .where(_GRADINGS.c.id.in_(newest))
        )
        with self._engine.connect() as connection:
            marks = _marks_of(connection, newest)
            return {
                row.student: Counted(
                    file=row.file_name, exercises=marks.get(row.id, ())
                )
                for row in connection.execute(files)
            }

    def account(self, set_id: str, receipts: Sequence[Receipt]) -> None:
        """Note what became of every returned file, in place of what was noted."""
        rows = [
            {"set_id": set_id, "position": position, **asdict(receipt)}
            for position, receipt in enumerate(receipts)
        ]
        with self._engine.begin() as connection:
            connection.execute(_RECEIPTS.delete().where(_RECEIPTS.c.set_id == set_id))
            if rows:
                connection.execute(_RECEIPTS.insert(), rows)

    def receipts(self, set_id: str) -> tuple[Receipt, ...]:
        """Give what became of every file that was returned for the last grading."""
        query = (
            sa.select(*(_RECEIPTS.c[name] for name in _RECEIPT_COLUMNS))
            .where(_RECEIPTS.c.set_id == set_id)
            .order_by(_RECEIPTS.c.position)
        )
        with self._engine.connect() as connection:
            rows = connection.execute(query).mappings()
            return tuple(Receipt(**row) for row in rows)


def _set_up_sqlite(connection: sa.engine.interfaces.DBAPIConnection, _: object) -> None:
    cursor = connection.cursor()
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


def _utc(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="seconds")


def _mark_rows(
    number: int, exercises: Sequence[ExerciseMarks]
) -> list[dict[str, object]]:
    return [
        {"grading": number, "exercise": one.exercise, "position": position}
        | asdict(step)
        for one in exercises
        for position, step in enumerate(one.steps)
    ]


def _marks_of(
    connection: sa.Connection, gradings: sa.Select[tuple[int]] | Sequence[int]
) -> dict[int, tuple[ExerciseMarks, ...]]:
    """Read the marks of some gradings, by their number."""
    columns = (_MARKS.c[name] for name in _STEP_COLUMNS)
    query = (
        sa.select(_MARKS.c.grading, _MARKS.c.exercise, *columns)
        .where(_MARKS.c.grading.in_(gradings))
        .order_by(_MARKS.c.grading, _MARKS.c.exercise, _MARKS.c.position)
    )
    found: dict[int, list[ExerciseMarks]] = {}
    rows = connection.execute(query)
    for (number, exercise), group in groupby(rows, key=lambda row: tuple(row[:2])):
        steps = tuple(
            StepMark(**dict(zip(_STEP_COLUMNS, row[2:], strict=True))) for row in group
        )
        marks = ExerciseMarks(exercise=exercise, steps=steps)
        found.setdefault(number, []).append(marks)
    return {number: tuple(marks) for number, marks in found.items()}
