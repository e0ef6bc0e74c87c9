"""The gradebook: every grading that was ever made, never overwritten."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from contextlib import contextmanager
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any, Self

import sqlalchemy as sa

from answer_keys import gradebook_rows as rows
from answer_keys.errors import GradebookError
from answer_keys.gradebook_schema import (
    CHOICES,
    GRADINGS,
    OVERRIDES,
    RECEIPTS,
    STANDINGS,
    bring_up_to_date,
    take_turn,
)
from answer_keys.marked import Counted, Grading, Known, MarkedWork, Source
from answer_keys.marks import marks_from_text
from answer_keys.own_command import extra_hint
from answer_keys.receipts import Receipt
from answer_keys.standings import Override, Standing, with_overrides

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from types import TracebackType

__all__ = ["Counted", "Gradebook", "Grading"]

_PATIENCE_S = 60.0


class Gradebook:
    """A gradebook in a database; use it as a context manager.

    Parameters
    ----------
    place : pathlib.Path or str
        A file for SQLite, or the address of a database, such as
        ``postgresql+psycopg://user@host/name``.

    Raises
    ------
    GradebookError
        Where it cannot be opened.

    Notes
    -----
    Several graders may write at once: they take turns, a transaction each, and what a
    killed one had not finished is not there. A grading that equals the newest one of
    its hand-in in rubric, software and marks adds nothing; any other is a new row.
    """

    def __init__(self, place: Path | str) -> None:
        address = f"sqlite:///{place}" if isinstance(place, Path) else place
        self._engine, shown = _engine(address)
        try:
            with self._engine.begin() as connection:
                bring_up_to_date(connection)
        except (sa.exc.DBAPIError, GradebookError) as error:
            self.close()
            why = str(error)
            if isinstance(error, sa.exc.DBAPIError):
                why = (
                    f"is no gradebook that can be read ({error.orig}); move it away, "
                    "and grading writes a new one"
                )
            raise GradebookError(f"{shown}: {why}") from error

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

    @contextmanager
    def _turn(self) -> Iterator[sa.Connection]:
        """Write alone: all of it stands at the end, or nothing."""
        with self._engine.begin() as connection:
            take_turn(connection)
            yield connection

    def record(self, works: Sequence[MarkedWork], source: Source, at: datetime) -> int:
        """Record hand-ins with their marks, all or none.

        Parameters
        ----------
        works : sequence of MarkedWork
            A hand-in that was received before keeps its first date.
        source : Source
        at : datetime.datetime
            When they were graded.

        Returns
        -------
        int
            How many gradings are new.
        """
        by_sha = {work.sha256: work for work in works}
        marks_of = {sha: rows.fingerprint_of(w.marks) for sha, w in by_sha.items()}
        with self._turn() as connection:
            rows.receive(connection, by_sha, at)
            newest = rows.newest_gradings(connection, by_sha)
            new = [
                work
                for sha, work in by_sha.items()
                if newest.get(sha)
                != (source.rubric_sha256, marks_of[sha], source.software)
            ]
            if new:
                gradings = [
                    rows.grading_row(w, marks_of[w.sha256], source, at) for w in new
                ]
                connection.execute(GRADINGS.insert(), gradings)
        return len(new)

    def gradings(self, set_id: str, student: str) -> tuple[Grading, ...]:
        """Give all gradings of a student, of every hand-in, the newest last."""
        query = (
            sa.select(GRADINGS)
            .where(GRADINGS.c.set_id == set_id)
            .where(GRADINGS.c.student == student)
            .order_by(GRADINGS.c.id)
        )
        with self._engine.connect() as connection:
            return tuple(map(rows.grading_of, connection.execute(query)))

    def counted(self, set_id: str) -> dict[str, Counted]:
        """Give the marks that count of every graded student, by student id.

        What is set by hand is in them as steps of their own.
        """
        newest = rows.newest_standings(set_id)
        by_hand = self.overrides(set_id)
        with self._engine.connect() as connection:
            return {
                row.student: Counted(
                    file=row.file_name,
                    graded_at=datetime.fromisoformat(row.graded_at),
                    spans=rows.spans_in(row),
                    exercises=with_overrides(
                        marks_from_text(row.marks), by_hand.get(row.student, ())
                    ),
                    late_days=row.late_days,
                    deducted_percent=row.deducted_percent,
                )
                for row in connection.execute(newest)
            }

    def account(self, set_id: str, receipts: Sequence[Receipt]) -> None:
        """Note what became of every returned file, in place of what was noted."""
        noted = [
            {"set_id": set_id, "position": position, **asdict(receipt)}
            for position, receipt in enumerate(receipts)
        ]
        with self._turn() as connection:
            connection.execute(RECEIPTS.delete().where(RECEIPTS.c.set_id == set_id))
            if noted:
                connection.execute(RECEIPTS.insert(), noted)

    def receipts(self, set_id: str) -> tuple[Receipt, ...]:
        """Give what became of every file that was returned for the last grading."""
        query = (
            sa.select(*(RECEIPTS.c[name] for name in Receipt.__dataclass_fields__))
            .where(RECEIPTS.c.set_id == set_id)
            .order_by(RECEIPTS.c.position)
        )
        with self._engine.connect() as connection:
            found = connection.execute(query).mappings()
            return tuple(Receipt(**row) for row in found)

    def work(self, sha256: str) -> MarkedWork:
        """Give a hand-in with the marks of its newest grading.

        Raises
        ------
        KeyError
            Where no such hand-in was graded.
        """
        with self._engine.connect() as connection:
            row = connection.execute(rows.newest_of_hand_in(sha256)).first()
        if row is None:
            raise KeyError(sha256)
        return rows.work_of(row)

    def known(self, set_id: str) -> dict[str, Known]:
        """Give every hand-in that was ever graded, by its SHA-256."""
        with self._engine.connect() as connection:
            return rows.known_in(connection, set_id)

    def choose(
        self, set_id: str, choices: Mapping[str, tuple[str, ...]], at: datetime
    ) -> int:
        """Take hand-ins of students by hand; what holds already adds nothing.

        Parameters
        ----------
        set_id : str
        choices : mapping of str to tuple of str
            By student the SHA-256 of those taken; several count as one, and none
            takes an earlier choice back.
        at : datetime.datetime
            When that was chosen.
        """
        with self._turn() as connection:
            held = rows.choices_of(connection, set_id)
            new = [
                rows.choice_row(set_id, student, hand_ins, at)
                for student, hand_ins in choices.items()
                if held.get(student, ()) != hand_ins
            ]
            if new:
                connection.execute(CHOICES.insert(), new)
        return len(new)

    def choices(self, set_id: str) -> dict[str, tuple[str, ...]]:
        """Give by student which hand-ins the instructor takes now."""
        with self._engine.connect() as connection:
            found = rows.choices_of(connection, set_id)
        return {student: hand_ins for student, hand_ins in found.items() if hand_ins}

    def override(self, set_id: str, overrides: Iterable[Override], at: datetime) -> int:
        """Set marks by hand; one that says the same as the newest adds nothing."""
        added = 0
        with self._turn() as connection:
            known = rows.overrides_of(connection, set_id)
            for one in overrides:
                place = one.student, one.exercise, one.step
                if known.get(place) != one:
                    known[place] = one
                    row = rows.override_row(set_id, one, at)
                    connection.execute(OVERRIDES.insert().values(row))
                    added += 1
        return added

    def overrides(self, set_id: str) -> dict[str, tuple[Override, ...]]:
        """Give by student what is set by hand now."""
        with self._engine.connect() as connection:
            found = rows.overrides_of(connection, set_id)
        by_student: defaultdict[str, list[Override]] = defaultdict(list)
        for one in found.values():
            by_student[one.student].append(one)
        return {student: tuple(some) for student, some in by_student.items()}

    def settle(self, set_id: str, standings: Sequence[Standing], at: datetime) -> int:
        """Record which hand-in counts for each student; what holds adds nothing."""
        with self._turn() as connection:
            newest = rows.newest_standings(set_id)
            held = {row.student: row for row in connection.execute(newest)}
            gradings = rows.newest_grading_ids(connection, set_id)
            wanted = [
                rows.standing_row(set_id, one, gradings[one.hand_in_sha256])
                for one in standings
            ]
            new = [
                row | {"decided_at": rows.utc_text(at)}
                for row in wanted
                if not rows.is_held(row, held.get(row["student"]))
            ]
            if new:
                connection.execute(STANDINGS.insert(), new)
        return len(new)

    def standings(self, set_id: str) -> tuple[Standing, ...]:
        """Give the standing of each student that holds now, in the order of ids."""
        with self._engine.connect() as connection:
            newest = connection.execute(rows.newest_standings(set_id))
            return tuple(rows.standing_of(row) for row in newest)

    def everything_of(
        self, set_id: str, student: str, name: str = ""
    ) -> dict[str, list[dict[str, Any]]]:
        """Give every row about a student, by table, as JSON can hold it.

        Those of refused files are in it that mention the student, by id or name.
        """
        with self._engine.connect() as connection:
            about = rows.abouts(connection, set_id, student, name)
            found = {
                table: connection.execute(
                    sa.select(table).where(own).order_by(*table.primary_key.columns)
                ).mappings()
                for table, own in about.items()
            }
            return {
                table.name: [rows.plain_row(row) for row in mappings]
                for table, mappings in found.items()
            }

    def forget(self, set_id: str, student: str, name: str = "") -> dict[str, int]:
        """Delete what `everything_of` gives; gives how many rows, by table.

        Raises
        ------
        GradebookError
            Where another program keeps bytes of it in the file; none is left of the
            rows all the same.
        """
        with self._turn() as connection:
            about = rows.abouts(connection, set_id, student, name)
            counts = {
                table.name: connection.execute(sa.delete(table).where(own)).rowcount
                for table, own in about.items()
            }
        if self._engine.dialect.name == "sqlite":
            self._write_anew()
        return counts

    def _write_anew(self) -> None:
        """Write the file again without what was ever deleted in it, and empty its log.

        Deleting only lets go of a place, and earlier gradings have done so too.
        """
        engine = self._engine.execution_options(isolation_level="AUTOCOMMIT")
        try:
            with engine.connect() as connection:
                connection.execute(sa.text("PRAGMA secure_delete=ON"))
                connection.execute(sa.text("VACUUM"))
                emptied = connection.execute(sa.text("PRAGMA wal_checkpoint(TRUNCATE)"))
                is_busy = emptied.scalar_one() != 0
        except sa.exc.OperationalError:
            is_busy = True
        if is_busy:
            raise GradebookError(
                "the rows are deleted, but another program has the gradebook open, so "
                "its file may still hold their bytes; close that program, then forget "
                "the student again"
            )


def _engine(address: str) -> tuple[sa.Engine, str]:
    """Build the engine, and the address as it may be shown."""
    try:
        url = sa.make_url(address)
        shown = url.render_as_string(hide_password=True)
        if url.get_backend_name() not in {"sqlite", "postgresql"}:
            raise GradebookError(
                f"{shown}: allowed are SQLite and PostgreSQL, as in "
                "postgresql+psycopg://user@host/name"
            )
        if url.get_backend_name() == "postgresql":
            return sa.create_engine(url), shown
        engine = sa.create_engine(url, connect_args={"timeout": _PATIENCE_S})
    except sa.exc.ArgumentError as error:
        raise GradebookError(
            "the gradebook's address cannot be read; allowed is one such as "
            "postgresql+psycopg://user@host/name"
        ) from error
    except ModuleNotFoundError as error:
        raise GradebookError(
            f"{shown}: {error.name} is not installed; {extra_hint('postgres')}"
        ) from error
    sa.event.listen(engine, "connect", _set_up_sqlite)
    return engine, shown.removeprefix("sqlite:///")


def _set_up_sqlite(connection: sa.engine.interfaces.DBAPIConnection, _: object) -> None:
    cursor = connection.cursor()
    # The marks and the journal of a hand-in are long texts.
    cursor.execute("PRAGMA page_size=16384")
    _set_wal(cursor)
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


def _set_wal(cursor: sa.engine.interfaces.DBAPICursor) -> None:
    """Set the write-ahead log, which is done once for a file.

    SQLite's own waiting is not for this: of two graders that begin a gradebook at once
    one is refused.
    """
    until = monotonic() + _PATIENCE_S
    while True:
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            is_locked = error.sqlite_errorcode == sqlite3.SQLITE_BUSY
            if not is_locked or monotonic() > until:
                raise
            sleep(0.01)
        else:
            return
