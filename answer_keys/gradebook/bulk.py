"""Many rows at once, in either database: the quickest way in, and by their keys."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import sqlalchemy as sa

from answer_keys.gradebook.gradebook_faults import fault_of

# Types of PostgreSQL for those of the columns; the first that fits counts.
_TYPES: tuple[tuple[type[sa.types.TypeEngine[Any]], str], ...] = (
    # Before String, whose kind it is.
    (sa.Text, "text"),
    (sa.String, "varchar"),
    (sa.Integer, "int4"),
    (sa.Float, "float8"),
    (sa.LargeBinary, "bytea"),
)


def insert(
    connection: sa.Connection, table: sa.Table, rows: Sequence[dict[str, Any]]
) -> None:
    """Add rows to a table.

    Parameters
    ----------
    rows : sequence of dict
        All with the same columns.

    Raises
    ------
    GradebookError
        Where the database refuses one of them.
    """
    if not rows:
        return
    if connection.dialect.driver != "psycopg":
        connection.execute(table.insert(), rows)
        return
    # A server that is sent row by row plans, answers and is waited for row by row; one
    # COPY takes a sixth of that (PostgreSQL 15 documentation, 14.4.2).
    names = list(rows[0])
    own: Any = connection.connection.driver_connection
    copying = f"COPY {table.name} ({', '.join(names)}) FROM STDIN (FORMAT BINARY)"
    try:
        with own.cursor() as cursor, cursor.copy(copying) as copy:
            copy.set_types([_type_of(table.c[name]) for name in names])
            for row in rows:
                copy.write_row(tuple(row.values()))
    # Not by way of SQLAlchemy, whose listener tells of everything else.
    except connection.dialect.loaded_dbapi.Error as error:
        raise fault_of(error, connection.engine.url) from error


def among(
    connection: sa.Connection, column: sa.Column[str], values: Collection[str]
) -> sa.ColumnElement[bool]:
    """Whether a column has one of many values.

    A server is given them as one parameter: a hundred take longer to write into a query
    than to look up.
    """
    if connection.dialect.name != "postgresql":
        # SQLite takes 32,766 values in one query, more than are recorded at a time
        # (sqlite.org/limits.html, from memory).
        return column.in_(values)
    return column == sa.any_(sa.literal(list(values), sa.ARRAY(sa.Text)))


def _type_of(column: sa.Column[Any]) -> str:
    """Name of a column's type in PostgreSQL, as binary rows have to say it."""
    # A key of another table has the type of what it points at.
    keys = [key.column.type for key in column.foreign_keys]
    its = keys[0] if keys else column.type
    return next(name for kind, name in _TYPES if isinstance(its, kind))
