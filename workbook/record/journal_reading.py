"""Reads journals: keeps every whole line, and says what had to be left out."""

from __future__ import annotations

import glob
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from workbook.record.entries import Entry, entry_from_line, in_order
from workbook.record.journal import Owner
from workbook.texts import _

MAX_BYTES = 20_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalFile:
    """One journal as read: its whole lines, without line ends, header first."""

    name: str
    session: str
    lines: tuple[str, ...]
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FileRead:
    """What reading one file gave, at the size that it had."""

    size: int
    file: JournalFile | None
    notices: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Journals:
    """All journals of one owner in a folder, with what is to be told about them."""

    files: tuple[JournalFile, ...] = ()
    notices: tuple[str, ...] = ()

    @property
    def lines(self) -> list[str]:
        """All lines, file by file, as they are handed in."""
        return [line for file in self.files for line in file.lines]

    @property
    def entries(self) -> list[Entry]:
        """All entries in order of time."""
        return in_order(
            (file.session, entry) for file in self.files for entry in file.entries
        )


def read_journals(
    folder: Path, owner: Owner, known: dict[str, FileRead] | None = None
) -> Journals:
    """Read all journals of one owner in a folder.

    Parameters
    ----------
    folder : Path
        The kernel's working directory.
    owner : Owner
        Files of anyone else are passed over.
    known : dict of str to FileRead, optional
        What was read before, by name; it is brought up to date. Journals only grow, so
        one of the same size is not read again: in a browser each look at a file takes
        some milliseconds, and every session leaves a file.

    Returns
    -------
    Journals
        With a notice for whatever had to be left out.
    """
    known = {} if known is None else known
    pattern = f"journal-{glob.escape(owner.name)}-*.jsonl"
    read = [_known_file(path, owner, known) for path in sorted(folder.glob(pattern))]
    return Journals(
        files=tuple(each.file for each in read if each.file is not None),
        notices=tuple(text for each in read for text in each.notices),
    )


def _known_file(path: Path, owner: Owner, known: dict[str, FileRead]) -> FileRead:
    """Read one journal, unless it has not grown."""
    notices: list[str] = []
    file, size = None, -1
    try:
        size = path.stat().st_size
        if path.name in known and known[path.name].size == size:
            return known[path.name]
        if size > MAX_BYTES:
            text = _("“{file}” is too large for a journal and is left out.")
            notices.append(text.format(file=path.name))
        else:
            file = _read_file(path, owner, notices)
    except OSError as error:
        text = _("“{file}” cannot be read ({reason}).")
        notices.append(text.format(file=path.name, reason=error.strerror))
    known[path.name] = FileRead(size=size, file=file, notices=tuple(notices))
    return known[path.name]


def _read_file(path: Path, owner: Owner, notices: list[str]) -> JournalFile | None:
    """Read one journal; None if it belongs to someone else or holds nothing."""
    data = path.read_bytes()
    # Behind the last line end stands nothing, or what was cut short.
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
        entry = _entry(line)
        if entry is None:
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


def _entry(line: bytes) -> Entry | None:
    """Read one line; None if it is no entry."""
    try:
        return entry_from_line(_record(line) or {})
    except (TypeError, ValueError):
        return None
