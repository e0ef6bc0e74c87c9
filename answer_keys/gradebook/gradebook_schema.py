"""Tables of the gradebook, and how an older gradebook becomes a present one.

Rows are only ever added. What was once written is changed by nobody, so that a mark
can be traced to the file, the rubric and the software that it came from.
"""

from __future__ import annotations

from collections.abc import Mapping

import sqlalchemy as sa

from answer_keys.errors import GradebookError
from answer_keys.gradebook.gradebook_faults import damaged, shown

META = sa.MetaData()
VERSION = sa.Table(
    "gradebook_version",
    META,
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
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
    sa.Column("notices", sa.Text, nullable=False),
    sa.Column("entries", sa.Integer, nullable=False),
    sa.Column("journal", sa.LargeBinary, nullable=False),
    # When it was graded first, and where its sessions end, as JSON.
    sa.Column("seen_at", sa.Text, nullable=False),
    sa.Column("heads", sa.Text, nullable=False),
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
    # Every step with its mark and its reason, as packed JSON: they are read together.
    sa.Column("marks", sa.LargeBinary, nullable=False),
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

# A row that a page holds stays whole in it: parted, each part is a row of its own.
_WHOLE_ROWS = tuple(
    # The most that there can be: a page of 8 kB less its header.
    f"ALTER TABLE {table} SET (toast_tuple_target = 8160)"
    for table in ("hand_in", "grading")
)

sa.Index("grading_of_student", GRADINGS.c.set_id, GRADINGS.c.student, GRADINGS.c.id)
sa.Index("grading_of_hand_in", GRADINGS.c.hand_in, GRADINGS.c.id)
sa.Index("override_of_student", OVERRIDES.c.set_id, OVERRIDES.c.student, OVERRIDES.c.id)
sa.Index("standing_of_student", STANDINGS.c.set_id, STANDINGS.c.student, STANDINGS.c.id)
sa.Index("standing_of_grading", STANDINGS.c.grading)
sa.Index(
    "hand_in_of_student", HAND_INS.c.set_id, HAND_INS.c.student, HAND_INS.c.seen_at
)
sa.Index("choice_of_student", CHOICES.c.set_id, CHOICES.c.student, CHOICES.c.id)

# Statements that make version 2 out of the first, then 3 out of that, and so on; a new
# gradebook gets its tables as they stand above, and needs none. What stands here was
# run on gradebooks that exist: add a version, never change one.
# Where the databases say a thing differently, each has its own by its name.
_Change = str | Mapping[str, str]
_CHANGES: tuple[tuple[_Change, ...], ...] = (
    # Marks are packed from here on; those that are there stay as they are, as bytes.
    # Of a school's many sets one is looked up, and a grading is deleted, by an index.
    (
        {
            "sqlite": "UPDATE grading SET marks = CAST(marks AS BLOB)",
            "postgresql": "ALTER TABLE grading ALTER COLUMN marks TYPE bytea "
            "USING convert_to(marks, 'UTF8')",
        },
        *({"postgresql": statement} for statement in _WHOLE_ROWS),
        "CREATE INDEX standing_of_grading ON standing (grading)",
        "CREATE INDEX hand_in_of_student ON hand_in (set_id, student, seen_at)",
        "CREATE INDEX choice_of_student ON hand_in_choice (set_id, student, id)",
    ),
)
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
        # Of two that make the same table at once one would fail, IF NOT EXISTS or not.
        connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_ANY_NUMBER)))
    connection.execute(sa.schema.CreateTable(VERSION, if_not_exists=True))
    # Before the version is read: another grader may be bringing it up to date.
    take_turn(connection)
    number = connection.execute(sa.select(VERSION.c.number)).scalar()
    newest = 1 + len(_CHANGES)
    if number is None:
        META.create_all(connection)
        for whole in _WHOLE_ROWS if dialect == "postgresql" else ():
            connection.execute(sa.text(whole))
        connection.execute(VERSION.insert().values(number=newest))
        return
    if number < 1:
        raise damaged(connection.engine.url, f"version {number!r}")
    if number > newest:
        raise GradebookError(
            f"{shown(connection.engine.url)}: it has version {number}, and the newest "
            f"known here is version {newest}; take the newer software that "
            "wrote it"
        )
    for statements in _CHANGES[number - 1 :]:
        for statement in statements:
            own = {dialect: statement} if isinstance(statement, str) else statement
            if dialect in own:
                connection.execute(sa.text(own[dialect]))
    connection.execute(VERSION.update().values(number=newest))


def take_turn(connection: sa.Connection) -> None:
    """Wait until no other grader writes, and keep the others waiting till the end.

    Either database lets one transaction at a time change this row.
    """
    connection.execute(VERSION.update().values(number=VERSION.c.number))
