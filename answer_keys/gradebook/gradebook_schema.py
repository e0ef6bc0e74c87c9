"""Tables of the gradebook, and how an older gradebook becomes a present one.

Rows are only ever added. What was once written is changed by nobody, so that a mark
can be traced to the file, the rubric and the software that it came from.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from itertools import groupby
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from answer_keys.errors import GradebookError
from answer_keys.gradebook.gradebook_faults import damaged, shown

META = sa.MetaData()
VERSION = sa.Table(
    "gradebook_version", META, sa.Column("number", sa.Integer, primary_key=True)
)
HAND_INS = sa.Table(
    "hand_in",
    META,
    sa.Column("sha256", sa.String(64), primary_key=True),
    sa.Column("set_id", sa.Text, nullable=False),
    sa.Column("student", sa.Text, nullable=False),
    sa.Column("edition", sa.Integer, nullable=False),
    sa.Column("file_name", sa.Text, nullable=False),
    sa.Column("newest_entry", sa.Text, nullable=False),
    sa.Column("received_at", sa.Text, nullable=False),
    # Those of a gradebook's first version are unknown.
    sa.Column("notices", sa.Text),
    sa.Column("entries", sa.Integer),
    sa.Column("journal", sa.Text),
    # When it was graded first, and where its sessions end, as JSON; before the sixth
    # version the latter is unknown.
    sa.Column("seen_at", sa.Text),
    sa.Column("heads", sa.Text),
)
GRADINGS = sa.Table(
    "grading",
    META,
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
    # Every step with its mark and its reason, as JSON: they are read together.
    sa.Column("marks", sa.Text, nullable=False),
)
# What became of every returned file at the last grading.
RECEIPTS = sa.Table(
    "returned_file",
    META,
    sa.Column("set_id", sa.Text, primary_key=True),
    sa.Column("position", sa.Integer, primary_key=True),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("status", sa.Text, nullable=False),
    sa.Column("student", sa.Text),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("code", sa.Text, nullable=False),
)
# Which hand-ins of a student the instructor takes, by their hashes with spaces
# between; a row without any takes an earlier one back.
CHOICES = sa.Table(
    "hand_in_choice",
    META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("set_id", sa.Text, nullable=False),
    sa.Column("student", sa.Text, nullable=False),
    sa.Column("hand_ins", sa.Text, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
)
# What the instructor set by hand; a row without a mark takes an earlier one back.
OVERRIDES = sa.Table(
    "mark_override",
    META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("set_id", sa.Text, nullable=False),
    sa.Column("student", sa.Text, nullable=False),
    sa.Column("exercise", sa.Integer, nullable=False),
    sa.Column("step", sa.Text, nullable=False),
    sa.Column("mark", sa.Float),
    sa.Column("out_of", sa.Float, nullable=False),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
)
# Which grading counts for a student, and the mark that follows; the newest row holds.
STANDINGS = sa.Table(
    "standing",
    META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("set_id", sa.Text, nullable=False),
    sa.Column("student", sa.Text, nullable=False),
    sa.Column("grading", sa.ForeignKey("grading.id"), nullable=False),
    sa.Column("counts", sa.Text, nullable=False),
    sa.Column("late_days", sa.Integer, nullable=False),
    sa.Column("deducted_percent", sa.Float, nullable=False),
    sa.Column("mark", sa.Float, nullable=False),
    sa.Column("out_of", sa.Float, nullable=False),
    sa.Column("decided_at", sa.Text, nullable=False),
)

_STEP = "step item title mark out_of reason misconception minutes_wasted answer hints"
_LEFT_OUT = frozenset({"misconception", "minutes_wasted", "answer", "hints"})
_MARKS_BEFORE = sa.text(
    f"SELECT exercise, {', '.join(_STEP.split())} FROM mark "  # noqa: S608 - our names
    "WHERE grading = :id ORDER BY exercise, position"
)
_MARKS_NOW = sa.text(
    "UPDATE grading SET marks = :marks, marks_sha256 = :sha WHERE id = :id"
)


def _gather_marks(connection: sa.Connection) -> None:
    """Put the marks of each grading, which had a row a step, into one text."""
    for id_ in connection.execute(sa.text("SELECT id FROM grading")).scalars().all():
        found = connection.execute(_MARKS_BEFORE, {"id": id_})
        exercises = [
            {"exercise": exercise, "steps": [_step(row) for row in steps]}
            for exercise, steps in groupby(found, key=itemgetter(0))
        ]
        text = json.dumps(exercises, ensure_ascii=False, separators=(",", ":"))
        sha = hashlib.sha256(text.encode()).hexdigest()
        connection.execute(_MARKS_NOW, {"id": id_, "marks": text, "sha": sha})


def _step(row: sa.Row[Any]) -> dict[str, Any]:
    """Name what a step has; the last four are left out where they are empty."""
    step: dict[str, Any] = dict(zip(_STEP.split(), row[1:], strict=True))
    return {n: value for n, value in step.items() if value or n not in _LEFT_OUT}


_ID = {
    "sqlite": "INTEGER NOT NULL PRIMARY KEY",
    "postgresql": "INTEGER GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY",
}
# What makes each version out of the one before. What stands here was run on gradebooks
# that exist: add a version, never change one.
_VERSIONS: tuple[tuple[str | Callable[[sa.Connection], None], ...], ...] = (
    (
        """CREATE TABLE hand_in (
            sha256 VARCHAR(64) NOT NULL PRIMARY KEY, set_id TEXT NOT NULL,
            student TEXT NOT NULL, edition INTEGER NOT NULL, file_name TEXT NOT NULL,
            newest_entry TEXT NOT NULL, received_at TEXT NOT NULL)""",
        """CREATE TABLE grading (
            id {id}, set_id TEXT NOT NULL, student TEXT NOT NULL,
            hand_in VARCHAR(64) NOT NULL REFERENCES hand_in (sha256),
            rubric_sha256 VARCHAR(64) NOT NULL, marks_sha256 VARCHAR(64) NOT NULL,
            software TEXT NOT NULL, graded_at TEXT NOT NULL, mark FLOAT NOT NULL,
            out_of FLOAT NOT NULL)""",
        """CREATE TABLE mark (
            grading INTEGER NOT NULL REFERENCES grading (id),
            exercise INTEGER NOT NULL, position INTEGER NOT NULL, step TEXT NOT NULL,
            item TEXT NOT NULL, title TEXT NOT NULL, mark FLOAT NOT NULL,
            out_of FLOAT NOT NULL, reason TEXT NOT NULL, misconception TEXT NOT NULL,
            minutes_wasted FLOAT NOT NULL,
            PRIMARY KEY (grading, exercise, position))""",
        """CREATE INDEX grading_of_student
            ON grading (set_id, student, id)""",
    ),
    (
        "ALTER TABLE mark ADD COLUMN answer TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE mark ADD COLUMN hints INTEGER NOT NULL DEFAULT 0",
        """CREATE TABLE returned_file (
            set_id TEXT NOT NULL, position INTEGER NOT NULL, name TEXT NOT NULL,
            status TEXT NOT NULL, student TEXT, reason TEXT NOT NULL,
            PRIMARY KEY (set_id, position))""",
    ),
    (
        "ALTER TABLE hand_in ADD COLUMN notices TEXT",
        "ALTER TABLE hand_in ADD COLUMN entries INTEGER",
        "ALTER TABLE hand_in ADD COLUMN journal TEXT",
        "CREATE INDEX grading_of_hand_in ON grading (hand_in, id)",
        """CREATE TABLE mark_override (
            id {id}, set_id TEXT NOT NULL, student TEXT NOT NULL,
            exercise INTEGER NOT NULL, step TEXT NOT NULL, mark FLOAT,
            reason TEXT NOT NULL, made_at TEXT NOT NULL)""",
        """CREATE TABLE standing (
            id {id}, set_id TEXT NOT NULL, student TEXT NOT NULL,
            grading INTEGER NOT NULL REFERENCES grading (id), counts TEXT NOT NULL,
            late_days INTEGER NOT NULL, deducted_percent FLOAT NOT NULL,
            mark FLOAT NOT NULL, out_of FLOAT NOT NULL, decided_at TEXT NOT NULL)""",
        """CREATE INDEX override_of_student
            ON mark_override (set_id, student, id)""",
        "CREATE INDEX standing_of_student ON standing (set_id, student, id)",
        # The newest grading was the one that counts.
        """INSERT INTO standing (set_id, student, grading, counts, late_days,
            deducted_percent, mark, out_of, decided_at)
            SELECT set_id, student, id, 'last', 0, 0.0, mark, out_of, graded_at
            FROM grading WHERE id IN (
                SELECT max(id) FROM grading GROUP BY set_id, student)""",
    ),
    ("ALTER TABLE mark_override ADD COLUMN out_of FLOAT NOT NULL DEFAULT 0",),
    (
        "ALTER TABLE grading ADD COLUMN marks TEXT NOT NULL DEFAULT '[]'",
        _gather_marks,
        "DROP TABLE mark",
    ),
    (
        "ALTER TABLE hand_in ADD COLUMN seen_at TEXT",
        "ALTER TABLE hand_in ADD COLUMN heads TEXT",
        """UPDATE hand_in SET seen_at = (
            SELECT min(graded_at) FROM grading
            WHERE grading.hand_in = hand_in.sha256)""",
        "ALTER TABLE returned_file ADD COLUMN code TEXT NOT NULL DEFAULT ''",
        """CREATE TABLE hand_in_choice (
            id {id}, set_id TEXT NOT NULL, student TEXT NOT NULL,
            hand_ins TEXT NOT NULL, made_at TEXT NOT NULL)""",
    ),
)
_VERSION_TABLE = """CREATE TABLE IF NOT EXISTS gradebook_version (
    number INTEGER NOT NULL PRIMARY KEY)"""
_ANY_NUMBER = 7_031_986  # of the lock under which a new database is set up


def bring_up_to_date(connection: sa.Connection) -> None:
    """Make all tables, or what an older gradebook lacks.

    Parameters
    ----------
    connection : sqlalchemy.Connection
        Within a transaction: a gradebook is brought up to date whole or not at all.

    Raises
    ------
    GradebookError
        Where newer software has written it.
    """
    dialect = connection.dialect.name
    if dialect == "postgresql":
        connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_ANY_NUMBER)))
    connection.execute(sa.text(_VERSION_TABLE))
    take_turn(connection)
    number = connection.execute(sa.select(VERSION.c.number)).scalar()
    if number is None:
        number = _version_without_number(connection)
        connection.execute(VERSION.insert().values(number=number))
    if number < 0:
        raise damaged(connection.engine.url, f"version {number!r}")
    if number > len(_VERSIONS):
        raise GradebookError(
            f"{shown(connection.engine.url)}: it has version {number}, and the newest "
            f"known here is version {len(_VERSIONS)}; take the newer software that "
            "wrote it"
        )
    for statements in _VERSIONS[number:]:
        for statement in statements:
            if callable(statement):
                statement(connection)
            else:
                connection.execute(sa.text(statement.format(id=_ID[dialect])))
    connection.execute(VERSION.update().values(number=len(_VERSIONS)))


def _version_without_number(connection: sa.Connection) -> int:
    """Tell the version of a gradebook that was written before versions had numbers."""
    found = sa.inspect(connection)
    if not found.has_table("mark"):
        return 0
    return 2 if found.has_table(RECEIPTS.name) else 1


def take_turn(connection: sa.Connection) -> None:
    """Wait until no other grader writes, and keep the others waiting till the end.

    Either database lets one transaction at a time change this row.
    """
    connection.execute(VERSION.update().values(number=VERSION.c.number))
