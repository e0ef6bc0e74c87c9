"""A gradebook's database: opened, read, written to in turns, copied and closed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self, TypeVar

import sqlalchemy as sa

from answer_keys.errors import GradebookError
from answer_keys.gradebook import gradebook_rows as rows
from answer_keys.gradebook.gradebook_engine import new_engine
from answer_keys.gradebook.gradebook_faults import is_sqlite, shown
from answer_keys.gradebook.gradebook_schema import bring_up_to_date, take_turn
from workbook.texts import _

_Read = TypeVar("_Read")


class OpenedGradebook:
    """What a gradebook does whatever lies in it; use it as a context manager."""

    def __init__(self, place: Path | str) -> None:
        self._engine = new_engine(place)
        try:
            with self._engine.begin() as connection:
                bring_up_to_date(connection)
        except GradebookError:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
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

    def _read(
        self, query: sa.Select[Any], read: Callable[[sa.Row[Any]], _Read]
    ) -> list[_Read]:
        with self._engine.connect() as connection:
            return list(rows.read_rows(connection, query, read))

    @property
    def is_file(self) -> bool:
        """Whether it is a file, and not in a server that keeps files of its own."""
        return is_sqlite(self._engine.url)

    def copy_to(self, path: Path) -> None:
        """Write a copy, to try something out in; only of a file.

        Raises
        ------
        GradebookError
            Where the gradebook is in a server.
        """
        if not self.is_file:
            raise GradebookError(
                _(
                    "{place}: no copy of a server's gradebook can be made to try a "
                    "rubric in; change the rubric, and grade again"
                ).format(place=shown(self._engine.url))
            )
        # VACUUM runs in no transaction. Unlike a copy of the file, it has the log's
        # rows, too.
        engine = self._engine.execution_options(isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(sa.text("VACUUM INTO :path"), {"path": str(path)})
