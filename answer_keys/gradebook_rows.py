"""Rows of the gradebook: records put into them, and read back."""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import msgspec
import sqlalchemy as sa

from answer_keys.continuation import Heads
from answer_keys.gradebook_schema import (
    CHOICES,
    GRADINGS,
    HAND_INS,
    OVERRIDES,
    RECEIPTS,
    STANDINGS,
)
from answer_keys.marked import (
    Grading,
    Known,
    MarkedWork,
    Source,
    packed_rows,
    spans_of,
    unpacked_rows,
)
from answer_keys.marks import marks_from_text
from answer_keys.standings import Override, Standing

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from answer_keys.marked import Span

_SAME = ("rubric_sha256", "marks_sha256", "software")


def utc_text(at: datetime) -> str:
    """A moment as the gradebook writes it."""
    return at.astimezone(UTC).isoformat(timespec="seconds")


def fingerprint_of(marks: str) -> str:
    """Fingerprint of all marks and reasons."""
    return hashlib.sha256(marks.encode()).hexdigest()


def receive(
    connection: sa.Connection, works: Mapping[str, MarkedWork], at: datetime
) -> None:
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
            "seen_at": at.astimezone(UTC).isoformat(),
            "heads": msgspec.json.encode(work.heads).decode(),
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
    """A hand-in with the marks of its newest grading."""
    return (
        sa.select(HAND_INS, GRADINGS.c.marks, GRADINGS.c.mark, GRADINGS.c.out_of)
        .join(GRADINGS, GRADINGS.c.hand_in == HAND_INS.c.sha256)
        .where(HAND_INS.c.sha256 == sha256)
        .order_by(GRADINGS.c.id.desc())
        .limit(1)
    )


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
        "mark": work.mark,
        "out_of": work.out_of,
        "marks": work.marks,
    }


def grading_of(row: sa.Row[Any]) -> Grading:
    """Read one grading."""
    return Grading(
        set_id=row.set_id,
        student=row.student,
        hand_in_sha256=row.hand_in,
        rubric_sha256=row.rubric_sha256,
        software=row.software,
        graded_at=datetime.fromisoformat(row.graded_at),
        exercises=marks_from_text(row.marks),
    )


def work_of(row: sa.Row[Any]) -> MarkedWork:
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
        marks=row.marks,
        mark=row.mark,
        out_of=row.out_of,
        heads=_heads_in(row),
    )


def known_in(connection: sa.Connection, set_id: str) -> dict[str, Known]:
    """Every hand-in of a set that was ever graded, by its hash."""
    counted = (
        sa.select(GRADINGS.c.hand_in)
        .join(STANDINGS, STANDINGS.c.grading == GRADINGS.c.id)
        .where(STANDINGS.c.set_id == set_id)
    )
    columns = "sha256", "student", "file_name", "received_at", "seen_at", "heads"
    query = sa.select(*(HAND_INS.c[name] for name in columns))
    ever = set(connection.execute(counted).scalars())
    return {
        row.sha256: Known(
            sha256=row.sha256,
            student=row.student,
            file=row.file_name,
            received_at=datetime.fromisoformat(row.received_at),
            seen_at=datetime.fromisoformat(row.seen_at),
            heads=_heads_in(row),
            has_counted=row.sha256 in ever,
        )
        for row in connection.execute(query.where(HAND_INS.c.set_id == set_id))
    }


def _heads_in(row: sa.Row[Any]) -> Heads:
    return msgspec.json.decode(row.heads or "{}", type=Heads)


def choices_of(connection: sa.Connection, set_id: str) -> dict[str, tuple[str, ...]]:
    """The newest of each student."""
    query = sa.select(CHOICES).where(CHOICES.c.set_id == set_id)
    rows = connection.execute(query.order_by(CHOICES.c.id))
    return {row.student: tuple(row.hand_ins.split()) for row in rows}


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
            GRADINGS.c.marks,
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
    return sa.and_(table.c.set_id == set_id, table.c.student == student)


def abouts(
    connection: sa.Connection, set_id: str, student: str, name: str
) -> dict[sa.Table, sa.ColumnElement[bool]]:
    """Whether a row is about a student, for each table, in the order to delete in.

    A refused file is nobody's; it is about whom its name or its reason mentions, and so
    is a remark on another's.
    """
    tables = (STANDINGS, GRADINGS, HAND_INS, OVERRIDES, CHOICES)
    about = {table: is_of(table, set_id, student) for table in tables}
    noted = sa.select(RECEIPTS).where(RECEIPTS.c.set_id == set_id)
    positions = [
        row.position
        for row in connection.execute(noted)
        if mentions(f"{row.name} {row.reason}", student, name)
    ]
    own, among = RECEIPTS.c.student == student, RECEIPTS.c.position.in_(positions)
    about[RECEIPTS] = sa.and_(RECEIPTS.c.set_id == set_id, sa.or_(own, among))
    return about


def mentions(text: str, student: str, name: str) -> bool:
    """Tell whether a text speaks of a student, by id or by all words of the name.

    Examples
    --------
    >>> mentions("week 3/ALDEEN_mira.txt", "s01", "Mira Aldeen")
    True
    >>> mentions("hand-in-k7m2q-s011.jsonl", "s01", "Mira Aldeen")
    False
    """
    there, named = _words(text), _words(name)
    has_id = f" {' '.join(_words(student))} " in f" {' '.join(there)} "
    has_name = set(named) <= set(there) or "".join(named) in "".join(there)
    return has_id or (bool(named) and has_name)


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", unicodedata.normalize("NFKC", text).casefold())


def plain_row(row: Mapping[Any, Any]) -> dict[str, Any]:
    """A row as JSON can hold it, with its journal and its marks unpacked."""
    plain = {str(name): value for name, value in row.items()}
    if plain.get("journal") is not None:
        plain["journal"] = unpacked_rows(plain["journal"])
    if "marks" in plain:
        plain["marks"] = json.loads(plain["marks"])
    return plain
