"""The way to a gradebook's database, and what is told where it leads nowhere."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from time import monotonic, sleep

import sqlalchemy as sa

from answer_keys.errors import GradebookError
from answer_keys.gradebook.gradebook_faults import (
    PATIENCE_S,
    fault_of,
    file_of,
    is_sqlite,
    shown,
)
from answer_keys.own_command import extra_hint
from answer_keys.written_files import PRIVATE

_EXAMPLE = "postgresql+psycopg://user@host/name"


def place_of(place: Path | str) -> sa.URL:
    """Read where a gradebook is.

    Parameters
    ----------
    place : pathlib.Path or str
        A file for SQLite, or the address of a database.

    Raises
    ------
    GradebookError
        Where an address is none of SQLite or PostgreSQL.
    """
    if isinstance(place, Path):
        return sa.URL.create("sqlite", database=str(place))
    try:
        url = sa.make_url(place)
    except sa.exc.ArgumentError as error:
        raise GradebookError(
            "the gradebook's address cannot be read. Write it as "
            f"{_EXAMPLE} or sqlite:///FILE."
        ) from error
    if url.get_backend_name() not in {"sqlite", "postgresql"}:
        raise GradebookError(
            f"{shown(url)}: no gradebook can be kept there. Name a SQLite file or a "
            f"PostgreSQL database, as in {_EXAMPLE}."
        )
    return url


def new_engine(place: Path | str) -> sa.Engine:
    """Build the engine of a gradebook; nothing is opened yet.

    Whatever the database's library raises later leaves the engine as a
    `GradebookError`.
    """
    url = place_of(place)
    try:
        engine = sa.create_engine(url, **_ways(url))
    except ModuleNotFoundError as error:
        raise GradebookError(
            f"{shown(url)}: {error.name} is not installed; {extra_hint('postgres')}"
        ) from error
    file = file_of(url)
    if file is not None:
        _make_private(file)
    set_up = _set_up_sqlite if is_sqlite(url) else _set_up_server
    sa.event.listen(engine, "connect", set_up)
    sa.event.listen(engine, "handle_error", _told_of(url))
    return engine


def write_anew(engine: sa.Engine) -> None:
    """Write a file again without what was ever deleted in it, and empty its log.

    Deleting only lets go of a place, and earlier gradings have done so too.

    Raises
    ------
    GradebookError
        Where the file still holds the bytes of what was deleted.
    """
    # VACUUM runs in no transaction (sqlite.org/lang_vacuum.html).
    engine = engine.execution_options(isolation_level="AUTOCOMMIT")
    try:
        with engine.connect() as connection:
            connection.execute(sa.text("PRAGMA secure_delete=ON"))
            connection.execute(sa.text("VACUUM"))
            emptied = connection.execute(sa.text("PRAGMA wal_checkpoint(TRUNCATE)"))
            # The first column tells that a reader kept the log from being emptied
            # (sqlite.org/pragma.html, wal_checkpoint).
            is_busy = emptied.scalar_one() != 0
    except GradebookError as error:
        raise GradebookError(
            f"The rows are deleted, but their bytes may still be there. {error}"
        ) from error
    if is_busy:
        raise GradebookError(
            "The rows are deleted, but another program has the gradebook open, so "
            "its file may still hold their bytes; close that program, then forget "
            "again."
        )


def _ways(url: sa.URL) -> dict[str, dict[str, float]]:
    return {"connect_args": {"timeout": PATIENCE_S}} if is_sqlite(url) else {}


def _told_of(url: sa.URL) -> Callable[[sa.engine.ExceptionContext], Exception | None]:
    def told(context: sa.engine.ExceptionContext) -> Exception | None:
        # A fault of ours, and none of the database's: it has to be seen.
        ours = sqlite3.ProgrammingError, sqlite3.InterfaceError
        is_ours = isinstance(context.original_exception, ours)
        if is_ours or context.sqlalchemy_exception is None:
            return None
        return fault_of(context.original_exception, url)

    return told


def _make_private(file: Path) -> None:
    """Begin a new file for its owner's eyes alone, which SQLite's own beside it copy.

    Of one that exists the owner has decided. Where it cannot be made, the database says
    why.
    """
    with suppress(OSError):
        os.close(os.open(file, os.O_CREAT | os.O_EXCL, PRIVATE))


def _set_up_server(connection: sa.engine.interfaces.DBAPIConnection, _: object) -> None:
    cursor = connection.cursor()
    cursor.execute(f"SET lock_timeout = '{PATIENCE_S:g}s'")
    cursor.close()
    # Where a transaction is rolled back its SET is undone: this one gets its own.
    connection.commit()


def _set_up_sqlite(connection: sa.engine.interfaces.DBAPIConnection, _: object) -> None:
    cursor = connection.cursor()
    # The marks and the journal of a hand-in are long texts.
    # The size comes before the log: with one, it cannot be changed any more.
    cursor.execute("PRAGMA page_size=16384")
    _set_wal(cursor)
    # SQLite looks at them only where it is told to, connection by connection.
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


def _set_wal(cursor: sa.engine.interfaces.DBAPICursor) -> None:
    """Set the write-ahead log, which is done once for a file.

    SQLite's own waiting is not for this: of two graders that begin a gradebook at once
    one is refused.
    """
    until = monotonic() + PATIENCE_S
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
