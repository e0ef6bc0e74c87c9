"""Rows of the gradebook: records put into them, and read back."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from pydantic import TypeAdapter

from answer_keys.gradebook_schema import (
    GRADINGS,
    HAND_INS,
    MARKS,
    OVERRIDES,
    RECEIPTS,
    STANDINGS,
)
from answer_keys.marked import (
    Grading,
    MarkedWork,
    Source,
    packed_rows,
    spans_of,
    unpacked_rows,
)
from answer_keys.marks import ExerciseMarks, StepMark
from answer_keys.standings import Override, Standing

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from answer_keys.marked import Span

_SAME = ("rubric_sha256", "marks_sha256", "software")
_EXERCISES: TypeAdapter[tuple[ExerciseMarks, ...]] = TypeAdapter(
    tuple[ExerciseMarks, ...]
)
_STEP_COLUMNS = tuple(StepMark.__dataclass_fields__)
_STEP_VALUES = attrgetter(*_STEP_COLUMNS)


def utc_text(at: datetime) -> str:
    """A moment as the gradebook writes it."""
    return at.astimezone(UTC).isoformat(timespec="seconds")


def fingerprint_of(exercises: tuple[ExerciseMarks, ...]) -> str:
    """Fingerprint of all marks and reasons."""
    return hashlib.sha256(_EXERCISES.dump_json(exercises)).hexdigest()


def _step_row(step: StepMark) -> dict[str, Any]:
    return dict(zip(_STEP_COLUMNS, _STEP_VALUES(step), strict=True))


def receive(connection: sa.Connection, works: Mapping[str, MarkedWork]) -> None:
    """Note the hand-ins that were not received before."""
    query = sa.select(HAND_INS.c.sha256).where(HAND_INS.c.sha256.in_(works))
    known = set(connection.execute(query).scalars())
    rows = [
        {
            "sha256": work.sha256,
            "set_id": work.set_id,
            "student": work.student,
            "edition": work.edition,
            "file_name": work.name,
            "newest_entry": work.newest.isoformat(),
            "received_at": utc_text(work.received_at),
            "notices": json.dumps(work.notices, ensure_ascii=False),
            "entries": work.entries,
            "journal": work.journal,
        }
        for work in works.values()
        if work.sha256 not in known
    ]
    if rows:
        connection.execute(HAND_INS.insert(), rows)


def newest_gradings(
    connection: sa.Connection, works: Iterable[str]
) -> dict[str, tuple[str, str, str]]:
    """What the newest grading of each hand-in was made of."""
    newest = (
        sa.select(sa.func.max(GRADINGS.c.id))
        .where(GRADINGS.c.hand_in.in_(works))
        .group_by(GRADINGS.c.hand_in)
    )
    columns = (GRADINGS.c[name] for name in _SAME)
    query = sa.select(GRADINGS.c.hand_in, *columns).where(GRADINGS.c.id.in_(newest))
    return {row[0]: (row[1], row[2], row[3]) for row in connection.execute(query)}


def newest_grading_ids(connection: sa.Connection, set_id: str) -> dict[str, int]:
    """Give the newest grading of each hand-in of a set."""
    query = (
        sa.select(GRADINGS.c.hand_in, sa.func.max(GRADINGS.c.id))
        .where(GRADINGS.c.set_id == set_id)
        .group_by(GRADINGS.c.hand_in)
    )
    return {row[0]: row[1] for row in connection.execute(query)}


def newest_of_hand_in(sha256: str) -> sa.Select[Any]:
    """A hand-in with the number of its newest grading."""
    return (
        sa.select(HAND_INS, GRADINGS.c.id)
        .join(GRADINGS, GRADINGS.c.hand_in == HAND_INS.c.sha256)
        .where(HAND_INS.c.sha256 == sha256)
        .order_by(GRADINGS.c.id.desc())
        .limit(1)
    )


def insert_gradings(
    connection: sa.Connection,
    works: Sequence[MarkedWork],
    gradings: Sequence[dict[str, Any]],
) -> None:
    """Add gradings, one a hand-in, with all their marks."""
    if not works:
        return
    insert = GRADINGS.insert().returning(GRADINGS.c.id, sort_by_parameter_order=True)
    ids = connection.execute(insert, gradings).scalars().all()
    marks = [
        row
        for number, work in zip(ids, works, strict=True)
        for row in mark_rows(number, work.exercises)
    ]
    if marks:
        connection.execute(MARKS.insert(), marks)


def grading_row(
    work: MarkedWork, fingerprint: str, source: Source, at: datetime
) -> dict[str, Any]:
    """A grading, as a row."""
    return {
        "set_id": work.set_id,
        "student": work.student,
        "hand_in": work.sha256,
        "rubric_sha256": source.rubric_sha256,
        "marks_sha256": fingerprint,
        "software": source.software,
        "graded_at": utc_text(at),
        "mark": sum(one.mark for one in work.exercises),
        "out_of": sum(one.out_of for one in work.exercises),
    }


def mark_rows(
    number: int, exercises: Sequence[ExerciseMarks]
) -> Iterator[dict[str, Any]]:
    """All marks of a grading, a row a step."""
    for one in exercises:
        for position, step in enumerate(one.steps):
            place = {
                "grading": number,
                "exercise": one.exercise,
                "position": position,
            }
            yield place | _step_row(step)


def exercises_of(
    connection: sa.Connection, gradings: Sequence[int] | sa.Select[tuple[int]]
) -> dict[int, tuple[ExerciseMarks, ...]]:
    """Read the marks of some gradings, by their number."""
    columns = (MARKS.c[name] for name in _STEP_COLUMNS)
    query = (
        sa.select(MARKS.c.grading, MARKS.c.exercise, *columns)
        .where(MARKS.c.grading.in_(gradings))
        .order_by(MARKS.c.grading, MARKS.c.exercise, MARKS.c.position)
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


def grading_of(row: sa.Row[Any], exercises: tuple[ExerciseMarks, ...]) -> Grading:
    """Read one grading."""
    return Grading(
        set_id=row.set_id,
        student=row.student,
        hand_in_sha256=row.hand_in,
        rubric_sha256=row.rubric_sha256,
        software=row.software,
        graded_at=datetime.fromisoformat(row.graded_at),
        exercises=exercises,
    )


def work_of(row: sa.Row[Any], exercises: tuple[ExerciseMarks, ...]) -> MarkedWork:
    """Read one hand-in."""
    return MarkedWork(
        name=row.file_name,
        sha256=row.sha256,
        set_id=row.set_id,
        student=row.student,
        edition=row.edition,
        newest=datetime.fromisoformat(row.newest_entry),
        received_at=datetime.fromisoformat(row.received_at),
        notices=tuple(json.loads(row.notices or "[]")),
        entries=row.entries or 0,
        journal=row.journal or packed_rows([]),
        exercises=exercises,
    )


def overrides_of(
    connection: sa.Connection, set_id: str
) -> dict[tuple[str, int, str], Override]:
    """The newest of each place."""
    query = sa.select(OVERRIDES).where(OVERRIDES.c.set_id == set_id)
    return {
        (row.student, row.exercise, row.step): Override(
            student=row.student,
            exercise=row.exercise,
            step=row.step,
            mark=row.mark,
            out_of=row.out_of,
            reason=row.reason,
        )
        for row in connection.execute(query.order_by(OVERRIDES.c.id))
    }


def override_row(set_id: str, one: Override, at: datetime) -> dict[str, Any]:
    """What was set by hand, as a row."""
    row = {name: getattr(one, name) for name in Override.__dataclass_fields__}
    return row | {"set_id": set_id, "made_at": utc_text(at)}


def standing_of(row: sa.Row[Any]) -> Standing:
    """Read one row of `newest_standings`."""
    return Standing(
        student=row.student,
        hand_in_sha256=row.hand_in,
        counts=row.counts,
        late_days=row.late_days,
        deducted_percent=row.deducted_percent,
        mark=row.mark,
        out_of=row.out_of,
    )


def newest_standings(set_id: str) -> sa.Select[Any]:
    """Newest standing of each student, with the hand-in that its grading is of."""
    newest = (
        sa.select(sa.func.max(STANDINGS.c.id))
        .where(STANDINGS.c.set_id == set_id)
        .group_by(STANDINGS.c.student)
    )
    return (
        sa.select(
            STANDINGS,
            GRADINGS.c.hand_in,
            GRADINGS.c.graded_at,
            HAND_INS.c.file_name,
            HAND_INS.c.newest_entry,
            HAND_INS.c.journal,
        )
        .join(GRADINGS, GRADINGS.c.id == STANDINGS.c.grading)
        .join(HAND_INS, HAND_INS.c.sha256 == GRADINGS.c.hand_in)
        .where(STANDINGS.c.id.in_(newest))
        .order_by(STANDINGS.c.student)
    )


def spans_in(row: sa.Row[Any]) -> dict[int, Span]:
    """Times of each exercise, by a row of `newest_standings`.

    There are none of an older gradebook, nor of what was typed in from paper.
    """
    has_times = datetime.fromisoformat(row.newest_entry).year > datetime.min.year
    return spans_of(unpacked_rows(row.journal)) if row.journal and has_times else {}


def standing_row(set_id: str, one: Standing, grading: int) -> dict[str, Any]:
    """A standing, as a row."""
    return {
        "set_id": set_id,
        "student": one.student,
        "grading": grading,
        "counts": one.counts,
        "late_days": one.late_days,
        "deducted_percent": one.deducted_percent,
        "mark": one.mark,
        "out_of": one.out_of,
    }


def is_held(row: Mapping[str, Any], held: sa.Row[Any] | None) -> bool:
    """Tell whether a standing says what the one that holds says."""
    return held is not None and all(
        getattr(held, name) == value for name, value in row.items()
    )


def is_of(table: sa.Table, set_id: str, student: str) -> sa.ColumnElement[bool]:
    """Whether a row is about a student."""
    if table is MARKS:
        own = sa.select(GRADINGS.c.id).where(is_of(GRADINGS, set_id, student))
        return MARKS.c.grading.in_(own)
    return sa.and_(table.c.set_id == set_id, table.c.student == student)


def rows_of(set_id: str, student: str) -> dict[str, sa.Select[Any]]:
    """Queries for every row about a student, by table."""
    tables = (HAND_INS, GRADINGS, MARKS, STANDINGS, OVERRIDES, RECEIPTS)
    return {
        table.name: sa.select(table)
        .where(is_of(table, set_id, student))
        .order_by(*table.primary_key.columns)
        for table in tables
    }


def plain_row(row: Mapping[Any, Any]) -> dict[str, Any]:
    """A row as JSON can hold it, with its journal unpacked."""
    plain = {str(name): value for name, value in row.items()}
    if plain.get("journal") is not None:
        plain["journal"] = unpacked_rows(plain["journal"])
    return plain
