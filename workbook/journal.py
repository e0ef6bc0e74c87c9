"""The append-only record of what a student did.

Every kernel session writes a file of its own, ``journal-<set>-<student>-<session>
.jsonl``, so that two windows lose nothing. Each line holds the hash of the line before.
The chain shows a line that was lost or damaged; it is no proof of honest work, since
whoever owns the computer can write any file.
"""

from __future__ import annotations

import glob
import hashlib
import json
import math
import os
import re
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from workbook.errors import JournalError
from workbook.texts import _
from workbook.version import __version__

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

SOFTWARE = f"workbook {__version__}"
MAX_BYTES = 20_000_000
PROBE = "clampbook-write-check.tmp"
_FIELDS: dict[str, dict[str, type | tuple[type, ...]]] = {
    "prediction": {"raw": str, "value": (int, float), "unit": str},
    "verification": {"raw": str, "value": (int, float), "unit": str},
    "test": {"expected": str},
    "finding": {"outcome": str, "statement": str},
    "conclusion": {"cause": str, "correction": str},
    "hint": {"step": int},
}
# An answer to a question has the fields of one of these.
_ANSWER_FIELDS: tuple[dict[str, type | tuple[type, ...]], ...] = (
    _FIELDS["prediction"],
    {"choice": str},
    {"order": list},
    {"lines": list},
)
_TIME = re.compile(
    r"20\d\d-[01]\d-[0-3]\dT[0-2]\d:[0-5]\d:[0-5]\d(?:\.\d{1,6})?Z", re.ASCII
)
_COMMON: dict[str, type | tuple[type, ...]] = {
    "seq": int,
    "time": str,
    "exercise": int,
    "kind": str,
    "item": str,
    "prev": str,
}


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


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalFile:
    """One journal as read: its whole lines, without line ends, header first."""

    name: str
    session: str
    lines: tuple[str, ...]
    entries: tuple[dict[str, Any], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Journals:
    """All journals of one owner in a folder, with what is to be told about them."""

    files: tuple[JournalFile, ...] = ()
    notices: tuple[str, ...] = ()

    @property
    def entries(self) -> list[dict[str, Any]]:
        """All entries in order of time, each with its session."""
        everything = [
            {**entry, "session": file.session}
            for file in self.files
            for entry in file.entries
        ]
        return sorted(everything, key=_order)


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
        self._begin()

    def _begin(self) -> None:
        """Begin a file of its own, not yet written."""
        self.session = secrets.token_hex(4)
        self.path = self._folder / f"journal-{self._owner.name}-{self.session}.jsonl"
        self._seq = 0
        self._previous = b""

    def append(
        self, entry: Mapping[str, Any], *, not_before: str = ""
    ) -> dict[str, Any]:
        """Write one entry and return it once it is safely on disk.

        Parameters
        ----------
        entry : mapping
            ``exercise``, ``kind``, ``item`` and the fields of that kind.
        not_before : str
            Time of the newest entry known. A clock that was set back must not
            sort this entry before it.

        Returns
        -------
        dict
            The entry as written.

        Raises
        ------
        JournalError
            When the file cannot be written; the entry is then not recorded.
        """
        lines = [] if self._seq else [_line(self._header())]
        previous = lines[0] if lines else self._previous
        written = {
            "seq": self._seq + 1,
            "time": _later(self._clock(), not_before),
            **entry,
            "prev": hashlib.sha256(previous).hexdigest(),
        }
        lines.append(_line(written))
        self._write(b"".join(line + b"\n" for line in lines))
        self._seq += 1
        self._previous = lines[-1]
        return written

    def _header(self) -> dict[str, Any]:
        return self._owner.header("journal", session=self.session)

    def _write(self, data: bytes) -> None:
        """Append and flush to the disk itself."""
        try:
            with self.path.open("ab") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            failed = self.path
            # The file may now end in half a line: never write behind that.
            self._begin()
            raise _not_writable(error, failed) from error


def read_journals(folder: Path, owner: Owner) -> Journals:
    """Read all journals of one owner in a folder.

    Parameters
    ----------
    folder : Path
        The kernel's working directory.
    owner : Owner
        Files of anyone else are passed over.

    Returns
    -------
    Journals
        With a notice for whatever had to be left out.
    """
    pattern = f"journal-{glob.escape(owner.name)}-*.jsonl"
    files: list[JournalFile] = []
    notices: list[str] = []
    for path in sorted(folder.glob(pattern)):
        file = _read_file(path, owner, notices)
        if file is not None:
            files.append(file)
    return Journals(files=tuple(files), notices=tuple(notices))


def hand_in_name(owner: Owner) -> str:
    """Return the name of the file that is handed in."""
    return f"hand-in-{owner.name}.jsonl"


def hand_in_header(owner: Owner, mode: str) -> str:
    """Return the first line of a hand-in, without its line end."""
    return _line(owner.header("hand-in", mode=mode)).decode()


def hand_in_bytes(owner: Owner, mode: str, files: Iterable[JournalFile]) -> bytes:
    """Return the one file that comes back: a header, then every journal's lines."""
    lines = [hand_in_header(owner, mode)]
    for file in files:
        lines.extend(file.lines)
    return "".join(f"{line}\n" for line in lines).encode()


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
    if text > not_before:
        return text
    newest = datetime.fromisoformat(not_before)
    return _utc_text(newest + timedelta(microseconds=1))


def _utc_text(moment: datetime) -> str:
    plain = moment.astimezone(UTC).replace(tzinfo=None)
    return f"{plain.isoformat(timespec='microseconds')}Z"


def _order(entry: Mapping[str, Any]) -> tuple[str, str, int]:
    return entry["time"], entry["session"], entry["seq"]


def _read_file(path: Path, owner: Owner, notices: list[str]) -> JournalFile | None:
    """Read one journal; None if it belongs to someone else or holds nothing."""
    try:
        if path.stat().st_size > MAX_BYTES:
            text = _("“{file}” is too large for a journal and is left out.")
            notices.append(text.format(file=path.name))
            return None
        data = path.read_bytes()
    except OSError as error:
        text = _("“{file}” cannot be read ({reason}).")
        notices.append(text.format(file=path.name, reason=error.strerror))
        return None
    *lines, rest = data.split(b"\n")
    header = _record(lines[0]) if lines else None
    if header is None or not _is_owned(header, owner, path.name, notices):
        return None
    if rest:
        text = _(
            "The last line of “{file}” was cut short while it was written; it is left "
            "out. Everything before it is kept."
        )
        notices.append(text.format(file=path.name))
    return _checked_file(path.name, header["session"], lines, notices)


def _is_owned(
    header: Mapping[str, Any], owner: Owner, name: str, notices: list[str]
) -> bool:
    """Tell whether a journal is this owner's, of this edition."""
    theirs = (header.get("kind"), header.get("set_id"), header.get("student"))
    if theirs != ("journal", owner.set_id, owner.student):
        return False
    if not isinstance(header.get("session"), str):
        return False
    if header.get("edition") != owner.edition:
        text = _(
            "“{file}” belongs to another edition of this workbook and is not used."
        )
        notices.append(text.format(file=name))
        return False
    return True


def _checked_file(
    name: str, session: str, lines: list[bytes], notices: list[str]
) -> JournalFile:
    """Keep the header and every line that is an entry."""
    kept, entries = [lines[0].decode()], []
    for number, line in enumerate(lines[1:], 2):
        entry = _record(line)
        if entry is None or not _is_entry(entry):
            text = _(
                "Line {number} of “{file}” is damaged and is left out. The others are "
                "kept."
            )
            notices.append(text.format(number=number, file=name))
            continue
        kept.append(line.decode())
        entries.append(entry)
    return JournalFile(
        name=name, session=session, lines=tuple(kept), entries=tuple(entries)
    )


def _record(line: bytes) -> dict[str, Any] | None:
    """Read one line of JSON; None if it is no JSON object."""
    try:
        record = json.loads(line)
    except (ValueError, RecursionError):
        return None
    return record if isinstance(record, dict) else None


def _is_entry(record: Mapping[str, Any]) -> bool:
    """Tell whether a record has exactly the fields of its kind."""
    kind = str(record.get("kind"))
    forms = _ANSWER_FIELDS if kind == "answer" else (_FIELDS.get(kind, {}),)
    if not any(own and _has_fields(record, _COMMON | own) for own in forms):
        return False
    return _is_time(record["time"]) and math.isfinite(record.get("value", 0))


def _has_fields(
    record: Mapping[str, Any], fields: Mapping[str, type | tuple[type, ...]]
) -> bool:
    """Tell whether a record has just these fields, each of its type."""
    return fields.keys() == record.keys() and all(
        isinstance(record[key], kind)
        and not isinstance(record[key], bool)
        and (kind is not list or all(isinstance(each, str) for each in record[key]))
        for key, kind in fields.items()
    )


def _is_time(text: str) -> bool:
    """Tell whether a text is a UTC time as we write it."""
    if not _TIME.fullmatch(text):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True
