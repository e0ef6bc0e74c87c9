"""What a gradebook holds of one student: to be given out, or forgotten."""

from __future__ import annotations

import json
import re
import unicodedata
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import groupby
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from answer_keys.gradebook.bulk import among
from answer_keys.gradebook.gradebook_schema import (
    CHOICES,
    GRADINGS,
    HAND_INS,
    OVERRIDES,
    RECEIPTS,
    STANDINGS,
)
from answer_keys.marking.marked import unpacked
from answer_keys.marking.marks import marks_text

# What a person, or grading, may have written of one student beside another's work, and
# what stands there once it is forgotten.
_FREE_TEXTS = (
    (OVERRIDES.c.reason, "The reason named a student whose data were deleted."),
    (RECEIPTS.c.reason, ""),
    (HAND_INS.c.notices, "[]"),
)
_TOLD = ("student", "exercise", "step")


@dataclass(frozen=True, slots=True, kw_only=True)
class Forgotten:
    """What was forgotten of a student.

    Attributes
    ----------
    rows : dict of str to int
        How many were deleted, by table.
    blanked : list of dict
        Of what each row of another student is whose free text mentioned this one.
    """

    rows: dict[str, int]
    blanked: list[dict[str, Any]]


def _is_of(table: sa.Table, set_id: str, student: str) -> sa.ColumnElement[bool]:
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
    about = {table: _is_of(table, set_id, student) for table in tables}
    noted = sa.select(RECEIPTS).where(RECEIPTS.c.set_id == set_id)
    positions = [
        row.position
        for row in connection.execute(noted)
        if mentions(f"{row.name} {row.reason}", student, name)
    ]
    own, among = RECEIPTS.c.student == student, RECEIPTS.c.position.in_(positions)
    about[RECEIPTS] = sa.and_(RECEIPTS.c.set_id == set_id, sa.or_(own, among))
    return about


def old_students(
    connection: sa.Connection, before: datetime, set_ids: Collection[str] | None
) -> dict[str, tuple[str, ...]]:
    """Students by set of whom no hand-in is new since a moment.

    New is what was graded first then: by our clock, and by no file's.

    Parameters
    ----------
    set_ids : collection of str or None
        None looks at all sets.
    """
    query = (
        sa.select(HAND_INS.c.set_id, HAND_INS.c.student)
        .group_by(HAND_INS.c.set_id, HAND_INS.c.student)
        # Times are all written in UTC and alike, so that texts compare as they do.
        .having(sa.func.max(HAND_INS.c.seen_at) < before.astimezone(UTC).isoformat())
        .order_by(HAND_INS.c.set_id, HAND_INS.c.student)
    )
    if set_ids is not None:
        query = query.where(among(connection, HAND_INS.c.set_id, set_ids))
    found = groupby(connection.execute(query).all(), key=itemgetter(0))
    return {set_id: tuple(row.student for row in some) for set_id, some in found}


def forget_old(
    connection: sa.Connection, set_id: str, students: Sequence[str]
) -> Counter[str]:
    """Delete all of some students of a set; give how many rows, by table.

    With the last of them goes all that is left of the set. Texts of others that name
    one by id are blanked.
    """
    counts = Counter[str]()
    for table in (STANDINGS, GRADINGS, HAND_INS, OVERRIDES, CHOICES, RECEIPTS):
        own = sa.and_(
            table.c.set_id == set_id, among(connection, table.c.student, students)
        )
        counts[table.name] += connection.execute(sa.delete(table).where(own)).rowcount
    left = sa.select(HAND_INS.c.sha256).where(HAND_INS.c.set_id == set_id).limit(1)
    if connection.execute(left).first() is None:
        for table in (OVERRIDES, CHOICES, RECEIPTS):
            whole = sa.delete(table).where(table.c.set_id == set_id)
            counts[table.name] += connection.execute(whole).rowcount
    else:
        for student in students:
            blank_mentions(connection, set_id, student, "")
    return counts


def blank_mentions(
    connection: sa.Connection, set_id: str, student: str, name: str
) -> list[dict[str, Any]]:
    """Blank the free texts of others' rows that mention a student.

    The row itself is another's, and stays: a mark set by hand goes on counting. Gives
    of what each row is.
    """
    blanked = []
    for column, blank in _FREE_TEXTS:
        table = column.table
        query = sa.select(table).where(table.c.set_id == set_id)
        for row in connection.execute(query).mappings().all():
            if mentions(row[column.name] or "", student, name):
                place = [key == row[key.name] for key in table.primary_key.columns]
                connection.execute(
                    sa.update(table).where(*place).values({column.name: blank})
                )
                told = {what: row[what] for what in _TOLD if row.get(what) is not None}
                blanked.append({"table": table.name, **told})
    return blanked


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
    # Files turn a name round, or write it without a space.
    has_name = set(named) <= set(there) or "".join(named) in "".join(there)
    return has_id or (bool(named) and has_name)


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", unicodedata.normalize("NFKC", text).casefold())


def plain_row(row: sa.Row[Any]) -> dict[str, Any]:
    """A row as JSON can hold it, with its journal and its marks unpacked."""
    plain = {str(name): value for name, value in row._mapping.items()}
    if plain.get("journal") is not None:
        plain["journal"] = unpacked(plain["journal"])
    if "marks" in plain:
        plain["marks"] = json.loads(marks_text(plain["marks"]))
    return plain
