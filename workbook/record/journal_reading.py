"""Reads journals: keeps every whole line, and says what had to be left out."""

from __future__ import annotations

import glob
import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from workbook.record.journal import Owner
from workbook.texts import _

MAX_BYTES = 20_000_000
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
class JournalFile:
    """One journal as read: its whole lines, without line ends, header first."""

    name: str
    session: str
    lines: tuple[str, ...]
    entries: tuple[dict[str, Any], ...]


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
    def entries(self) -> list[dict[str, Any]]:
        """All entries in order of time, each with its session."""
        everything = [
            {**entry, "session": file.session}
            for file in self.files
            for entry in file.entries
        ]
        return sorted(everything, key=_order)


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


def _order(entry: Mapping[str, Any]) -> tuple[str, str, int]:
    return entry["time"], entry["session"], entry["seq"]


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
