"""What an inbox keeps of each file until all have come: on the disk, by student.

Only when the last file has come is it known which one counts, and all that a class has
handed in during a year is more than should lie in memory meanwhile.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from msgspec import msgpack

from answer_keys.errors import GradebookError
from answer_keys.gradebook.contenders import Contender
from answer_keys.gradebook.standings import Receipt
from answer_keys.marking.marked import Known
from workbook.texts import _

_TABLES = """
    CREATE TABLE known (sha256 TEXT PRIMARY KEY, student TEXT, packed BLOB);
    CREATE INDEX known_of_student ON known (student);
    CREATE TABLE contender
        (number INTEGER PRIMARY KEY, student TEXT, sha256 TEXT, packed BLOB);
    CREATE INDEX contender_of_student ON contender (student, sha256);
    CREATE TABLE receipt (number INTEGER PRIMARY KEY, name TEXT, packed BLOB);
"""
_KNOWN = msgpack.Decoder(Known)
_CONTENDER = msgpack.Decoder(Contender)
_RECEIPT = msgpack.Decoder(Receipt)


class InboxFile:
    """Takes what is known, contenders and receipts; gives them in the order asked for.

    Notes
    -----
    A database without a name is a temporary file of SQLite's own, which ends with this
    process however that ends; of it a few megabytes lie in memory
    (sqlite.org/inmemorydb.html, section 3).
    """

    def __init__(self) -> None:
        self._database = sqlite3.connect("", isolation_level=None)
        # One transaction, never ended: nobody else reads it, and nothing of it stays.
        with _on_the_disk():
            self._database.executescript(f"PRAGMA journal_mode=OFF; BEGIN; {_TABLES}")

    def close(self) -> None:
        """Let go of all that is kept."""
        self._database.close()

    def add_known(self, one: Known) -> None:
        """Keep a hand-in that the gradebook has."""
        row = one.sha256, one.student, msgpack.encode(one)
        self._write("INSERT INTO known VALUES (?, ?, ?)", *row)

    def known_as(self, sha256: str) -> Known | None:
        """Return what the gradebook has of a hand-in, if it has it."""
        query = "SELECT packed FROM known WHERE sha256 = ?"
        return next(map(_KNOWN.decode, self._read(query, sha256)), None)

    def gone_of(self, student: str) -> list[Known]:
        """Return what the gradebook has of a student that has not come this time."""
        query = """
            SELECT packed FROM known WHERE student = ? AND sha256 NOT IN
                (SELECT sha256 FROM contender WHERE student = known.student)
            ORDER BY rowid
        """
        return [*map(_KNOWN.decode, self._read(query, student))]

    def add_contender(self, one: Contender) -> None:
        """Keep a hand-in that can be graded."""
        row = one.standing.student, one.sha256, msgpack.encode(one)
        self._write("INSERT INTO contender VALUES (NULL, ?, ?, ?)", *row)

    def contenders_of(self, student: str) -> list[Contender]:
        """Return all hand-ins of a student, in the order in which they were taken."""
        query = "SELECT packed FROM contender WHERE student = ? ORDER BY number"
        return [*map(_CONTENDER.decode, self._read(query, student))]

    def students(self) -> list[str]:
        """Return who has handed in, in the order of the first hand-ins."""
        query = "SELECT student FROM contender GROUP BY student ORDER BY min(number)"
        return [*self._read(query)]

    def add_receipt(self, one: Receipt) -> None:
        """Keep what became of a file."""
        row = one.name, msgpack.encode(one)
        self._write("INSERT INTO receipt VALUES (NULL, ?, ?)", *row)

    def receipts(self) -> Iterator[Receipt]:
        """Return what became of the files, one by one in the order of their names."""
        query = "SELECT packed FROM receipt ORDER BY name, number"
        yield from map(_RECEIPT.decode, self._read(query))

    def _write(self, statement: str, *values: object) -> None:
        with _on_the_disk():
            self._database.execute(statement, values)

    def _read(self, query: str, *values: object) -> Iterator[Any]:
        """Return the first column of each row."""
        with _on_the_disk():
            for row in self._database.execute(query, values):
                yield row[0]


@contextmanager
def _on_the_disk() -> Iterator[None]:
    try:
        yield
    except sqlite3.OperationalError as error:
        raise GradebookError(
            _(
                "The folder for temporary files could not take what grading keeps "
                "there until the last file is read ({reason}). Make room on its disk, "
                "or name a folder on another disk as TMPDIR (on Windows as TMP), and "
                "grade again; what was recorded before stands."
            ).format(reason=error)
        ) from error
