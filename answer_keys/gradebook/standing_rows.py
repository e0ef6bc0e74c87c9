"""Rows of what counts for each student, and of what became of each file."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

import msgspec
import sqlalchemy as sa

from answer_keys.gradebook.bulk import among
from answer_keys.gradebook.gradebook_rows import is_changed, moment_of, values_of
from answer_keys.gradebook.gradebook_schema import GRADINGS, HAND_INS, STANDINGS
from answer_keys.gradebook.standings import Receipt, Standing
from answer_keys.marking.marked import Counted, Span, entries_in, spans_of
from answer_keys.marking.marks import marks_in

# Fetched together.
_AT_A_TIME = 100


def standing_of(row: sa.Row[Any]) -> Standing:
    """Read one row of `newest_standings`."""
    return msgspec.convert(values_of(row) | {"hand_in_sha256": row.hand_in}, Standing)


def counted_of(row: sa.Row[Any]) -> tuple[str, str, Counted | str]:
    """Read set, student and marks that count by a row of `newest_standings`.

    Where the marks were changed, their file stands in their place.
    """
    standing = standing_of(row)
    if is_changed(row):
        return row.set_id, standing.student, row.file_name
    counted = Counted(
        file=row.file_name,
        graded_at=moment_of(row.graded_at),
        spans=_spans_in(row),
        exercises=marks_in(row.marks),
        late_days=standing.late_days,
        deducted_percent=standing.deducted_percent,
    )
    return row.set_id, standing.student, counted


def receipt_of(row: sa.Row[Any]) -> Receipt:
    """Read what became of a returned file."""
    return msgspec.convert(values_of(row), Receipt)


def newest_standings(
    connection: sa.Connection, set_ids: Collection[str]
) -> sa.Select[Any]:
    """Newest standing of each student, with the hand-in that its grading is of.

    The students of a set come one after the other.
    """
    return (
        sa.select(
            STANDINGS,
            GRADINGS.c.hand_in,
            GRADINGS.c.graded_at,
            GRADINGS.c.marks,
            GRADINGS.c.marks_sha256,
            HAND_INS.c.file_name,
            HAND_INS.c.newest_entry,
            HAND_INS.c.journal,
        )
        .join(GRADINGS, GRADINGS.c.id == STANDINGS.c.grading)
        .join(HAND_INS, HAND_INS.c.sha256 == GRADINGS.c.hand_in)
        .where(STANDINGS.c.id.in_(_newest_of_each(connection, set_ids)))
        .order_by(STANDINGS.c.set_id, STANDINGS.c.student)
        # Those of a school are more than a memory should have to hold.
        .execution_options(yield_per=_AT_A_TIME)
    )


def held_standings(connection: sa.Connection, set_id: str) -> sa.Select[Any]:
    """Newest standing of each student of a set by itself: their work is large."""
    newest = _newest_of_each(connection, [set_id])
    return sa.select(STANDINGS).where(STANDINGS.c.id.in_(newest))


def _newest_of_each(
    connection: sa.Connection, set_ids: Collection[str]
) -> sa.Select[Any]:
    return (
        sa.select(sa.func.max(STANDINGS.c.id))
        .where(among(connection, STANDINGS.c.set_id, set_ids))
        .group_by(STANDINGS.c.set_id, STANDINGS.c.student)
    )


def _spans_in(row: sa.Row[Any]) -> dict[int, Span]:
    """Times of each exercise, by a row of `newest_standings`.

    There are none of what was typed in from paper.
    """
    has_times = moment_of(row.newest_entry).year > datetime.min.year
    return spans_of(entries_in(row.journal)) if has_times else {}


def standing_row(set_id: str, one: Standing, grading: int) -> dict[str, Any]:
    """A standing, as a row."""
    row = asdict(one) | {"set_id": set_id, "grading": grading}
    del row["hand_in_sha256"]  # the grading's own
    return row


def is_held(row: Mapping[str, Any], held: sa.Row[Any] | None) -> bool:
    """Tell whether a standing says what the one that holds says."""
    return held is not None and all(
        getattr(held, name) == value for name, value in row.items()
    )
