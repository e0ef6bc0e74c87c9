"""The append-only record of what a student did.

Every kernel session writes a file of its own, ``journal-<set>-<student>-<session>
.jsonl``, so that two windows lose nothing. Each line holds the hash of the line before.
The chain shows a line that was lost or damaged; it is no proof of honest work, since
whoever owns the computer can write any file.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from workbook.errors import JournalError
from workbook.record.entries import Entry
from workbook.texts import _
from workbook.version import __version__

SOFTWARE = f"workbook {__version__}"
PROBE = "clampbook-write-check.tmp"


@dataclass(frozen=True, slots=True, kw_only=True)
class Owner:
    """Whose work of which class set a journal holds."""

    set_id: str
    student: str
    edition: int

    @property
    def name(self) -> str:
        """The part of file names that tells the owner."""
        return f"{self.set_id}-{self.student}"

    def header(self, kind: str, **more: str) -> dict[str, Any]:
        """Return the first line of a file of the given kind."""
        return {
            "kind": kind,
            "format": 1,
            "set_id": self.set_id,
            "student": self.student,
            "edition": self.edition,
            "software": SOFTWARE,
            **more,
        }


class Journal:
    """The journal file of this kernel session.

    Parameters
    ----------
    folder : Path
        Where the file is made, at the first entry.
    owner : Owner
        Whose work it holds.
    clock : callable
        Gives the present time, aware of its zone.
    """

    def __init__(
        self,
        folder: Path,
        owner: Owner,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self._folder = folder
        self._owner = owner
        self._clock = clock
        self.begin()

    def begin(self) -> None:
        """Begin a file of its own, not yet written."""
        self.session = secrets.token_hex(4)
        self.path = journal_path(self._folder, self._owner, self.session)
        self._seq = 0
        self._previous = b""

    def append(self, entry: Entry, *, not_before: str = "") -> Entry:
        """Write one entry and return it once it is safely on disk.

        Parameters
        ----------
        entry : Entry
            Not recorded yet.
        not_before : str
            Time of the newest entry known. A clock that was set back must not
            sort this entry before it.

        Returns
        -------
        Entry
            As written.

        Raises
        ------
        JournalError
            When the file cannot be written; the entry is then not recorded.
        """
        header = self._owner.header("journal", session=self.session)
        # With the first entry, so that a session which only looks leaves no file.
        lines = [] if self._seq else [_line(header)]
        previous = lines[0] if lines else self._previous
        time = _later(self._clock(), not_before)
        written = replace(entry, seq=self._seq + 1, time=time)
        prev = hashlib.sha256(previous).hexdigest()
        lines.append(_line({**asdict(written), "prev": prev}))
        self._write(b"".join(line + b"\n" for line in lines))
        self._seq += 1
        self._previous = lines[-1]
        return written

    def _write(self, data: bytes) -> None:
        try:
            _append(self.path, data)
        except OSError as error:
            failed = self.path
            # The file may now end in half a line: never write behind that.
            self.begin()
            raise _not_writable(error, failed) from error


def journal_path(folder: Path, owner: Owner, session: str) -> Path:
    """Return where the journal of a session lies."""
    return folder / f"journal-{owner.name}-{session}.jsonl"


def add_lines(path: Path, at: int, lines: Iterable[str]) -> None:
    """Write lines of a journal that was kept elsewhere; never over one that is there.

    Raises
    ------
    JournalError
        When the file cannot be written.
    """
    try:
        known = path.read_bytes().count(b"\n") if path.exists() else 0
        fresh = list(lines)[max(0, known - at) :]
        # Lines before these are lacking here: nothing is written behind a hole.
        if at > known or not fresh:
            return
        _append(path, "".join(f"{line}\n" for line in fresh).encode())
    except OSError as error:
        raise _not_writable(error, path) from error


def _append(path: Path, data: bytes) -> None:
    """Append and flush to the disk itself."""
    with path.open("ab") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def set_aside(path: Path, keep: int) -> None:
    """Leave only so many lines of a journal; all of it stays in a file beside it.

    Raises
    ------
    JournalError
        When a file cannot be written.
    """
    try:
        data = path.read_bytes()
        path.with_suffix(".aside").write_bytes(data)
        kept = data.splitlines(keepends=True)[:keep]
        path.write_bytes(b"".join(kept))
        if not kept:
            path.unlink()
    except OSError as error:
        raise _not_writable(error, path) from error


def hand_in_name(owner: Owner) -> str:
    """Return the name of the file that is handed in."""
    return f"hand-in-{owner.name}.jsonl"


def hand_in_header(owner: Owner, mode: str) -> str:
    """Return the first line of a hand-in, without its line end."""
    return _line(owner.header("hand-in", mode=mode)).decode()


def hand_in_bytes(owner: Owner, mode: str, lines: Iterable[str]) -> bytes:
    """Return the one file that comes back: a header, then every journal's lines."""
    whole = (hand_in_header(owner, mode), *lines)
    return "".join(f"{line}\n" for line in whole).encode()


def check_writable(folder: Path) -> None:
    """Raise `JournalError` if nothing can be written in a folder."""
    probe = folder / PROBE
    try:
        # A named file, closed before it is removed: the browser's file system needs so.
        probe.write_bytes(b"\n")
        probe.unlink()
    except OSError as error:
        raise _not_writable(error, folder) from error


def _not_writable(error: OSError, path: Path) -> JournalError:
    text = _("The folder cannot be written ({reason}).")
    return JournalError(text.format(reason=error.strerror or error), path=path)


def _line(record: Mapping[str, Any]) -> bytes:
    """Write one record as a line, without its line end."""
    text = json.dumps(
        record,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    )
    return text.encode()


def _later(now: datetime, not_before: str) -> str:
    """Return the UTC time, or one microsecond after the newest if that is later."""
    text = _utc_text(now)
    # All are written alike, so that texts sort as their times do.
    if text > not_before:
        return text
    newest = datetime.fromisoformat(not_before)
    return _utc_text(newest + timedelta(microseconds=1))


def _utc_text(moment: datetime) -> str:
    plain = moment.astimezone(UTC).replace(tzinfo=None)
    return f"{plain.isoformat(timespec='microseconds')}Z"
