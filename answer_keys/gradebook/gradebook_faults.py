"""What is wrong with a gradebook's database, in a sentence and with its remedy.

A gradebook is only called damaged where its content is shown to be: one that is locked,
full or out of reach stays where it is, or marks set by hand and dates would be lost.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from answer_keys.errors import GradebookError
from answer_keys.visible_text import visible
from workbook.texts import _, later

if TYPE_CHECKING:
    import sqlalchemy as sa


PATIENCE_S = 15.0
"""How long another program is waited for [s]; graders lock for a moment only."""

_LOCKED = later(
    "another program has locked the gradebook for more than {patience} s; close "
    "that program, or let it finish, and run this again"
)
_FULL = later(
    "the disk is full, and this was not recorded; make room on it, and run this again. "
    "What was recorded before stands: leave the gradebook where it is"
)
_NOT_ALLOWED = later(
    "this user may not write the gradebook, and a database file is also written beside "
    "in its folder; give this user the right to write to both, and run this again"
)
_DISK = later(
    "the disk cannot be read or written there ({}); see whether it is full, failing or "
    "taken away, and run this again. Leave the gradebook where it is"
)
_AWAY = later(
    "the database does not answer ({}); see that it runs, that it can be reached from "
    "here, and that host, name, user and password are right, and run this again. What "
    "was recorded before stands"
)
_FILE_DAMAGED = later(
    "its content is damaged, or is no gradebook's ({}). First copy it, with all files "
    "whose names begin with its name. What can still be read is saved by 'sqlite3 COPY "
    ".recover | sqlite3 NEW', or, where sqlite3 does not know .recover, by .dump with "
    "COMMIT in place of its last line; put NEW in its place and grade. Only where that "
    "does not help, move it away and grade: what lies in handed-in/ is marked anew, "
    "but marks set by hand, the dates on which hand-ins first came and all earlier "
    "gradings are lost"
)
_TABLES_DAMAGED = later(
    "its content is damaged, or is no gradebook's ({}). Put back a backup of this "
    "database; without one, marks set by hand, the dates on which hand-ins first came "
    "and all earlier gradings are lost with it"
)
_OTHER = later("the database cannot do what was asked of it ({})")

# https://www.sqlite.org/rescode.html, primary result codes
_OF_SQLITE = {
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_LOCKED: _LOCKED,
    sqlite3.SQLITE_PROTOCOL: _LOCKED,
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_READONLY: _NOT_ALLOWED,
    sqlite3.SQLITE_PERM: _NOT_ALLOWED,
    sqlite3.SQLITE_IOERR: _DISK,
    # Named, because what is not named here is called damaged.
    sqlite3.SQLITE_NOMEM: _OTHER,
    sqlite3.SQLITE_INTERRUPT: _OTHER,
    sqlite3.SQLITE_TOOBIG: _OTHER,
}
# PostgreSQL 15 documentation, appendix A: codes, or classes of them.
_OF_POSTGRESQL = {
    "55P03": _LOCKED,
    "40": _LOCKED,
    "53100": _FULL,
    "53": _OTHER,
    "25006": _NOT_ALLOWED,
    "42501": _NOT_ALLOWED,
    "08": _AWAY,
    "28": _AWAY,
    "3D": _AWAY,
    "57": _AWAY,
    "58": _DISK,
    "22": _TABLES_DAMAGED,
    "23": _TABLES_DAMAGED,
    "42": _TABLES_DAMAGED,
    "XX": _TABLES_DAMAGED,
}
# A write that fails with less than this free has failed for want of room.
_FEW_BYTES = 1 << 20


def shown(url: sa.URL) -> str:
    """Write where a gradebook is, without a password."""
    if is_sqlite(url):
        return url.database or ":memory:"
    return url.render_as_string(hide_password=True)


def is_sqlite(url: sa.URL) -> bool:
    """Tell whether a gradebook is in SQLite, and in no server."""
    return url.get_backend_name() == "sqlite"


def file_of(url: sa.URL) -> Path | None:
    """Return the file of a gradebook; None in a server or in memory."""
    is_file = is_sqlite(url) and url.database not in {None, "", ":memory:"}
    return Path(str(url.database)) if is_file else None


def fault_of(error: BaseException, url: sa.URL) -> GradebookError:
    """Say what an error of the database means, and what helps.

    Parameters
    ----------
    error : BaseException
        As the database's own library raised it.
    url : sqlalchemy.URL
        Of the gradebook.
    """
    is_server = not is_sqlite(url)
    text = _of_server(error) if is_server else _of_file(error, Path(shown(url)))
    why = visible(" ".join(str(error).split()), 200)
    return GradebookError(f"{shown(url)}: {_filled(text, why)}.")


def _filled(text: str, why: str) -> str:
    return _(text).format(why, patience=f"{PATIENCE_S:g}")


def damaged(url: sa.URL, what: str) -> GradebookError:
    """Say that the content of a gradebook is not what was written."""
    text = _FILE_DAMAGED if is_sqlite(url) else _TABLES_DAMAGED
    return GradebookError(f"{shown(url)}: {_filled(text, visible(what, 200))}.")


def _of_server(error: BaseException) -> str:
    code = getattr(error, "sqlstate", None)
    # What is never answered has no code.
    if code is None:
        return _AWAY
    return _OF_POSTGRESQL.get(code) or _OF_POSTGRESQL.get(code[:2], _OTHER)


def _of_file(error: BaseException, file: Path) -> str:
    # A library that finds no text where there should be some gives no code.
    # The low byte of an extended code is its primary one (sqlite.org/rescode.html).
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF
    if code == sqlite3.SQLITE_CANTOPEN:
        return _unopened(file)
    text = _OF_SQLITE.get(code, _FILE_DAMAGED)
    return _FULL if text is _DISK and _is_full(file.parent) else text


def _unopened(file: Path) -> str:
    """Say why a file cannot be opened, for which there is one code for all reasons."""
    if file.is_dir():
        return later("is a folder; name the file of the gradebook")
    if not file.parent.is_dir():
        return later("its folder is not there; make the folder, or correct the address")
    if _is_full(file.parent):
        return _FULL
    can_write = os.access(file.parent, os.W_OK) and (
        not file.exists() or os.access(file, os.W_OK)
    )
    return _DISK if can_write else _NOT_ALLOWED


def _is_full(folder: Path) -> bool:
    return shutil.disk_usage(folder).free < _FEW_BYTES
