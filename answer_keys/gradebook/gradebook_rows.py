"""Rows of the gradebook: records put into them, and read back."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import (
    Callable,
    Collection,
    Iterable,
    Iterator,
    Mapping,
    Sequence,
    Set,
)
from dataclasses import asdict
from datetime import UTC, datetime
from functools import partial
from typing import Annotated, Any, TypeVar

import msgspec
import sqlalchemy as sa

from answer_keys.decoding import in_words
from answer_keys.gradebook.bulk import among, insert
from answer_keys.gradebook.gradebook_faults import damaged
from answer_keys.gradebook.gradebook_schema import (
    CHOICES,
    GRADINGS,
    HAND_INS,
    OVERRIDES,
    STANDINGS,
)
from answer_keys.gradebook.standings import Override
from answer_keys.marking.marked import (
    Grading,
    Known,
    MarkedWork,
    Source,
)
from answer_keys.marking.marks import marks_in, marks_text

_AT_A_TIME = 100
_MOST_NAMED = 1000  # in one query
_Read = TypeVar("_Read")
_Moment = Annotated[datetime, msgspec.Meta(tz=True)]
# What reading a row raises where its content is not what was written.
_NOT_WRITTEN_SO = (
    AttributeError,
    LookupError,
    TypeError,
    ValueError,
    msgspec.MsgspecError,
    zlib.error,
)


def read_rows(
    connection: sa.Connection,
    query: sa.Select[Any],
    read: Callable[[sa.Row[Any]], _Read],
) -> Iterator[_Read]:
    """Read each row that a query finds.

    Raises
    ------
    GradebookError
        Where a row holds what was never written so. SQLite keeps any value in any
        column.
    """
    for row in connection.execute(query):
        try:
            yield read(row)
        except _NOT_WRITTEN_SO as error:
            about = row._mapping.get("student") or "a file"
            what = f"in a row about {about}: {in_words(error)}"
            raise damaged(connection.engine.url, what) from error


def values_of(row: sa.Row[Any]) -> dict[str, Any]:
    """Return what a row holds under names that are plain text."""
    return {str(name): value for name, value in row._mapping.items()}


def moment_of(text: str) -> datetime:
    """Read a moment that the gradebook has written, which has a time zone."""
    moment: datetime = msgspec.convert(text, _Moment)
    return moment


def utc_text(at: datetime) -> str:
    """A moment as the gradebook writes it."""
    return at.astimezone(UTC).isoformat(timespec="seconds")


def fingerprint_of(marks: bytes) -> str:
    """Fingerprint of all marks and reasons, as they are packed."""
    return hashlib.sha256(marks).hexdigest()


def receive(
    connection: sa.Connection, works: Mapping[str, MarkedWork], at: datetime
) -> set[str]:
    """Note the hand-ins that were not received before; give those that were."""
    is_here = among(connection, HAND_INS.c.sha256, works)
    query = sa.select(HAND_INS.c.sha256).where(is_here)
    known = set(connection.execute(query).scalars())
    seen_at = at.astimezone(UTC).isoformat()
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
            "seen_at": seen_at,
            "heads": msgspec.json.encode(work.heads).decode(),
        }
        for work in works.values()
        if work.sha256 not in known
    ]
    insert(connection, HAND_INS, rows)
    return known


def newest_gradings(
    connection: sa.Connection, works: Collection[str]
) -> dict[str, tuple[str, bytes, str]]:
    """What the newest grading of hand-ins was made of, and the JSON of its marks.

    The marks are those that stand there now, not what was noted of them.
    """
    # Rows are only added and ids only grow: the highest is the newest.
    newest = (
        sa.select(sa.func.max(GRADINGS.c.id))
        .where(among(connection, GRADINGS.c.hand_in, works))
        .group_by(GRADINGS.c.hand_in)
    )
    query = sa.select(GRADINGS).where(GRADINGS.c.id.in_(newest))
    return dict(read_rows(connection, query, _made_of))


def _made_of(row: sa.Row[Any]) -> tuple[str, tuple[str, bytes, str]]:
    # Another zlib packs the same marks into other bytes.
    return row.hand_in, (row.rubric_sha256, marks_text(row.marks), row.software)


def made_of(work: MarkedWork, source: Source) -> tuple[str, bytes, str]:
    """What a grading would be made of, and the JSON of its marks."""
    return source.rubric_sha256, marks_text(work.marks), source.software


def grading_ids_by(
    connection: sa.Connection, hand_ins: Sequence[str], source: Source
) -> dict[str, int]:
    """Return the newest grading of each of some hand-ins that one source has made."""
    found = dict[str, int]()
    for start in range(0, len(hand_ins), _MOST_NAMED):
        some = hand_ins[start : start + _MOST_NAMED]
        query = (
            sa.select(GRADINGS.c.hand_in, sa.func.max(GRADINGS.c.id))
            .where(among(connection, GRADINGS.c.hand_in, some))
            .where(GRADINGS.c.rubric_sha256 == source.rubric_sha256)
            .where(GRADINGS.c.software == source.software)
            .group_by(GRADINGS.c.hand_in)
        )
        found |= {row[0]: row[1] for row in connection.execute(query)}
    return found


def newest_of_hand_in(sha256: str) -> sa.Select[Any]:
    """A hand-in with the marks of its newest grading."""
    return (
        sa.select(HAND_INS, GRADINGS.c.marks, GRADINGS.c.mark, GRADINGS.c.out_of)
        .join(GRADINGS, GRADINGS.c.hand_in == HAND_INS.c.sha256)
        .where(HAND_INS.c.sha256 == sha256)
        .order_by(GRADINGS.c.id.desc())
        .limit(1)
    )


def marks_of_set(set_id: str) -> sa.Select[Any]:
    """The newest marks of each hand-in of a set."""
    newest = (
        sa.select(sa.func.max(GRADINGS.c.id))
        .where(GRADINGS.c.set_id == set_id)
        .group_by(GRADINGS.c.hand_in)
    )
    columns = (GRADINGS.c[name] for name in ("hand_in", "marks", "marks_sha256"))
    return (
        sa.select(*columns)
        .where(GRADINGS.c.id.in_(newest))
        # Those of a large class are more than a memory should have to hold.
        .execution_options(yield_per=_AT_A_TIME)
    )


def changed_in(row: sa.Row[Any]) -> str | None:
    """Tell of which hand-in a row of `marks_of_set` is, if its marks are changed."""
    return row.hand_in if is_changed(row) else None


def is_changed(row: sa.Row[Any]) -> bool:
    """Tell whether the marks of a grading are not those that were recorded."""
    recorded: str = row.marks_sha256
    return fingerprint_of(row.marks) != recorded


def grading_row(work: MarkedWork, source: Source, at: datetime) -> dict[str, Any]:
    """A grading, as a row."""
    return {
        "set_id": work.set_id,
        "student": work.student,
        "hand_in": work.sha256,
        "rubric_sha256": source.rubric_sha256,
        "marks_sha256": fingerprint_of(work.marks),
        "software": source.software,
        "graded_at": utc_text(at),
        "mark": work.mark,
        "out_of": work.out_of,
        "marks": work.marks,
    }


def grading_of(row: sa.Row[Any]) -> Grading:
    """Read one grading."""
    own = {
        "hand_in_sha256": row.hand_in,
        "graded_at": moment_of(row.graded_at),
        "exercises": marks_in(row.marks),
    }
    return msgspec.convert(values_of(row) | own, Grading)


def work_of(row: sa.Row[Any]) -> MarkedWork:
    """Read one hand-in."""
    own = {
        "name": row.file_name,
        "newest": moment_of(row.newest_entry),
        "received_at": moment_of(row.received_at),
        "notices": json.loads(row.notices),
        "heads": json.loads(row.heads),
    }
    return msgspec.convert(values_of(row) | own, MarkedWork)


def known_in(connection: sa.Connection, set_id: str) -> Iterator[Known]:
    """Every hand-in of a set that was ever graded."""
    counted = (
        sa.select(GRADINGS.c.hand_in)
        .join(STANDINGS, STANDINGS.c.grading == GRADINGS.c.id)
        .where(STANDINGS.c.set_id == set_id)
    )
    columns = "sha256", "student", "file_name", "received_at", "seen_at", "heads"
    query = sa.select(*(HAND_INS.c[name] for name in columns))
    ever = set(connection.execute(counted).scalars())
    own = query.where(HAND_INS.c.set_id == set_id)
    # Of many years they are more than need lie in memory.
    own = own.execution_options(yield_per=_AT_A_TIME)
    return read_rows(connection, own, partial(_known_of, ever=ever))


def _known_of(row: sa.Row[Any], ever: Set[str]) -> Known:
    own = {
        "file": row.file_name,
        "received_at": moment_of(row.received_at),
        "seen_at": moment_of(row.seen_at),
        "heads": json.loads(row.heads),
        "has_counted": row.sha256 in ever,
    }
    return msgspec.convert(values_of(row) | own, Known)


def choices_of(connection: sa.Connection, set_id: str) -> dict[str, tuple[str, ...]]:
    """The newest of each student."""
    query = sa.select(CHOICES).where(CHOICES.c.set_id == set_id)
    # In the order of writing, so that a later row takes the place of an earlier one.
    return dict(read_rows(connection, query.order_by(CHOICES.c.id), _choice_of))


def _choice_of(row: sa.Row[Any]) -> tuple[str, tuple[str, ...]]:
    return row.student, tuple(row.hand_ins.split())


def choice_row(
    set_id: str, student: str, hand_ins: Iterable[str], at: datetime
) -> dict[str, Any]:
    """Which hand-ins the instructor takes, as a row."""
    return {
        "set_id": set_id,
        "student": student,
        "hand_ins": " ".join(hand_ins),
        "made_at": utc_text(at),
    }


def overrides_of(
    connection: sa.Connection, *set_ids: str
) -> dict[tuple[str, str, int, str], Override]:
    """The newest of each place, by set, student, exercise and step."""
    query = sa.select(OVERRIDES).where(among(connection, OVERRIDES.c.set_id, set_ids))
    return {
        (set_id, one.student, one.exercise, one.step): one
        for set_id, one in read_rows(
            connection, query.order_by(OVERRIDES.c.id), _override_of
        )
    }


def _override_of(row: sa.Row[Any]) -> tuple[str, Override]:
    return row.set_id, msgspec.convert(values_of(row), Override)


def override_row(set_id: str, one: Override, at: datetime) -> dict[str, Any]:
    """What was set by hand, as a row."""
    return asdict(one) | {"set_id": set_id, "made_at": utc_text(at)}
