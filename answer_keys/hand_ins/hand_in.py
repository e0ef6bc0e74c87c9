"""Read one hand-in: strict data from a hostile source, never run, never rendered."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import zip_longest
from typing import Any, cast

import msgspec
from msgspec import Struct

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.continuation import Trail, lengthen
from answer_keys.hand_ins.hand_in_lines import (
    Entry,
    HandInHeader,
    HandInLine,
    JournalHeader,
    NotJsonError,
    line_from,
    lines_as_written,
    object_from_line,
)
from answer_keys.hand_ins.limits import MAX_HAND_IN_BYTES, MAX_LINE_BYTES, MAX_LINES
from answer_keys.visible_text import visible

# The time of work without times.
NEVER = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandIn:
    """What one returned file holds.

    Attributes
    ----------
    name : str
        Name of the file, hidden signs written out.
    sha256 : str
        Of the file's bytes.
    set_id, student, edition, mode, software
        From the header.
    entries : tuple of (session, Entry)
        In the order of the file.
    notices : tuple of str
        What the instructor should know; none of it costs a mark.
    is_unbroken : bool
        Whether the chain of entries holds; a hint, never a penalty.
    newest : datetime.datetime
        Time of the newest entry.
    trail : dict of str to bytes
        What tells the entries of each session.
    """

    name: str
    sha256: str
    set_id: str
    student: str
    edition: int
    mode: str
    software: str
    entries: tuple[tuple[str, Entry], ...]
    notices: tuple[str, ...]
    is_unbroken: bool
    newest: datetime
    trail: Trail


def read_hand_in(name: str, data: bytes) -> HandIn:
    """Read one hand-in.

    Parameters
    ----------
    name : str
        Name of the file, for messages only.
    data : bytes
        What it holds.

    Returns
    -------
    HandIn

    Raises
    ------
    RefusedError
        With the reason, for anything that is not a hand-in line by line.
    """
    lines = _lines(data)
    header = _header(lines[0])
    journals = _Journals(header=header)
    following = [*lines[2:], None]
    for line, after in zip(lines[1:], following, strict=False):
        journals.take(line, after)
    return HandIn(
        name=visible(name),
        sha256=hashlib.sha256(data).hexdigest(),
        set_id=header.set_id,
        student=header.student,
        edition=header.edition,
        mode=header.mode,
        software=header.software,
        entries=tuple(journals.entries),
        notices=tuple(journals.notices),
        is_unbroken=journals.is_unbroken,
        newest=max((entry.time for _, entry in journals.entries), default=NEVER),
        trail={session: bytes(own) for session, own in journals.trail.items()},
    )


class _Line(Struct, frozen=True):
    number: int
    data: bytes
    known: HandInLine | None

    def is_journal_header(self) -> bool:
        return b'"kind":"journal"' in self.data.replace(b" ", b"")

    def read(self) -> HandInLine:
        try:
            return line_from(self.data)
        except RefusedError as error:
            raise type(error)(f"Line {self.number}: {error.reason}.") from error


def _lines(data: bytes) -> list[_Line]:
    if len(data) > MAX_HAND_IN_BYTES:
        raise RefusedError(
            f"The file is larger than {MAX_HAND_IN_BYTES:,} bytes; a hand-in is far "
            "smaller."
        )
    if data.count(b"\n") > MAX_LINES:
        raise RefusedError(f"The file has more than {MAX_LINES:,} lines.")
    parts = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    if len(max(parts, key=len)) > MAX_LINE_BYTES:
        raise RefusedError(f"A line is longer than {MAX_LINE_BYTES:,} bytes.")
    # Mail and some editors turn line ends into CR LF; the lines are the same.
    lines = [
        _Line(number, part.removesuffix(b"\r"), known)
        for number, (part, known) in enumerate(
            zip_longest(parts, lines_as_written(data)), 1
        )
        if part.strip()
    ]
    if not lines:
        raise RefusedError("The file is empty.")
    return lines


def _header(first: _Line) -> HandInHeader:
    """Read the first line; say what the file is where it is a likely mistake."""
    try:
        found = object_from_line(first.data)
    except NotJsonError as error:
        raise RefusedError(
            "This is not a hand-in file (its first line is not JSON); allowed is the "
            "file that “Download my hand-in” saves, as it is."
        ) from error
    except RefusedError as error:
        raise RefusedError(f"Line {first.number}: {error.reason}.") from error
    kind = found.get("kind")
    if kind == "journal":
        raise RefusedError(
            "This is one journal of a workbook, not the hand-in; the hand-in button "
            "gives the file to return."
        )
    if kind != "hand-in":
        raise RefusedError("This is not a hand-in file.")
    if found.get("format") != 1:
        shown = visible(repr(found.get("format")), 40)
        raise RefusedError(
            f"The hand-in has format {shown}; only format 1 is known here."
        )
    return cast("HandInHeader", first.read())


@dataclass(slots=True, kw_only=True)
class _Journals:
    """Takes the lines after the header one by one."""

    header: HandInHeader
    session: str | None = None
    next_seq: int = 0
    last_sha256: str = ""
    is_unbroken: bool = True
    entries: list[tuple[str, Entry]] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)
    trail: defaultdict[str, bytearray] = field(
        default_factory=lambda: defaultdict(bytearray)
    )

    def take(self, line: _Line, following: _Line | None) -> None:
        """Take a line; a torn one is left out at the end of a journal only."""
        try:
            found = line.known or line.read()
        except NotJsonError:
            if following is not None and not following.is_journal_header():
                raise
            self.notices.append(
                f"Line {line.number} was cut short while it was written; it is left "
                "out."
            )
            return
        if isinstance(found, JournalHeader):
            self._open(line, found)
        elif isinstance(found, HandInHeader):
            raise RefusedError(f"Line {line.number}: a second header of a hand-in.")
        else:
            self._add(line, found)
        self.next_seq += 1
        line_hash = hashlib.sha256(line.data)
        self.last_sha256 = line_hash.hexdigest()
        if self.session is not None and not isinstance(found, JournalHeader):
            lengthen(self.trail[self.session], line_hash.digest())

    def _open(self, line: _Line, journal: JournalHeader) -> None:
        for word in ("set_id", "student", "edition"):
            if getattr(journal, word) != getattr(self.header, word):
                raise RefusedError(
                    f"Line {line.number}: a journal with another {word} "
                    f"({getattr(journal, word)}) than the hand-in's "
                    f"({getattr(self.header, word)})."
                )
        self.session, self.next_seq = journal.session, 0

    def _add(self, line: _Line, entry: Entry) -> None:
        if self.session is None:
            raise RefusedError(
                f"Line {line.number}: an entry before the first journal's header."
            )
        is_next = entry.prev == self.last_sha256 and entry.seq == self.next_seq
        if self.is_unbroken and not is_next:
            self.is_unbroken = False
            self.notices.append(
                f"The chain of entries is broken at line {line.number}: lines were "
                "changed, lost or moved. This is a reason to talk, not a proof."
            )
        self.entries.append((self.session, entry))


def journal_rows(hand_in: HandIn) -> tuple[dict[str, Any], ...]:
    """Give the entries of all sessions in order of time, as the journal's own rows.

    The hashes of the chain are left out: they were checked.
    """
    ordered = sorted(
        hand_in.entries, key=lambda pair: (pair[1].time, pair[0], pair[1].seq)
    )
    rows = tuple([msgspec.to_builtins(entry) for _, entry in ordered])
    for row in rows:
        del row["prev"]
    return rows
