"""Read one hand-in: strict data from a hostile source, never run, never rendered."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import zip_longest
from typing import NamedTuple

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.continuation import Trail, lengthen
from answer_keys.hand_ins.hand_in_lines import (
    HandInHeader,
    JournalHeader,
    NotJsonError,
    header_from,
    object_from_line,
    read_line,
)
from answer_keys.hand_ins.limits import (
    MAX_HAND_IN_BYTES,
    MAX_LINE_BYTES,
    MAX_LINES,
    refuse_above,
)
from answer_keys.visible_text import visible
from workbook.record.entries import Entry, in_order
from workbook.texts import _

# The time of work without times.
NEVER = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandIn:
    """What one returned file holds.

    Attributes
    ----------
    name : str
        Name of the file, hidden characters written out.
    sha256 : str
        Of the file's bytes.
    set_id, student, edition, mode, software
        From the header.
    entries : tuple of Entry
        Those of all sessions in order of time.
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
    entries: tuple[Entry, ...]
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

    Raises
    ------
    RefusedError
        With the reason, for anything that is not a hand-in line by line.
    """
    if _is_notebook(data):
        raise RefusedError(
            _(
                "This is the workbook itself, not what was done in it. Ask for "
                "the file that its button “Download my hand-in” saves; its name "
                "begins with hand-in."
            )
        )
    first, *lines = _lines(data)
    header = _header(first)
    journals = _Journals(header=header)
    for line, following in zip_longest(lines, lines[1:]):
        try:
            journals.take(line, following)
        except RefusedError as error:
            raise _at(line, error) from error
    entries = in_order(journals.entries)
    return HandIn(
        name=visible(name),
        sha256=hashlib.sha256(data).hexdigest(),
        set_id=header.set_id,
        student=header.student,
        edition=header.edition,
        mode=header.mode,
        software=header.software,
        entries=tuple(entries),
        notices=tuple(journals.notices),
        is_unbroken=journals.is_unbroken,
        newest=entries[-1].moment if entries else NEVER,
        trail={session: bytes(own) for session, own in journals.trail.items()},
    )


def _is_notebook(data: bytes) -> bool:
    """Tell whether a file is a notebook, which is the likeliest thing to be taken."""
    # Notebooks are written with their keys in order, and "cells" is the first of them.
    return b'"cells"' in data[:200] and b'"nbformat"' in data


class _Line(NamedTuple):
    number: int
    data: bytes

    def is_journal_header(self) -> bool:
        return b'"kind":"journal"' in self.data.replace(b" ", b"")


def _lines(data: bytes) -> list[_Line]:
    larger = _("The file is larger than {most} bytes; a hand-in is far smaller.")
    refuse_above(MAX_HAND_IN_BYTES, len(data), larger)
    more = _("The file has more than {most} lines.")
    refuse_above(MAX_LINES, data.count(b"\n"), more)
    parts = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    longer = _("A line is longer than {most} bytes.")
    refuse_above(MAX_LINE_BYTES, max(map(len, parts)), longer)
    # Mail and some editors turn line ends into CR LF; the lines are the same.
    lines = [
        _Line(number, part.removesuffix(b"\r"))
        for number, part in enumerate(parts, 1)
        if part.strip()
    ]
    if not lines:
        raise RefusedError(_("The file is empty."))
    return lines


def _at(line: _Line, error: RefusedError) -> RefusedError:
    """Name the line in what is refused of it."""
    return RefusedError(
        _("Line {number}: {reason}.").format(number=line.number, reason=error.reason)
    )


def _header(first: _Line) -> HandInHeader:
    """Read the first line; say what the file is where it is a likely mistake."""
    try:
        found = object_from_line(first.data)
    except NotJsonError as error:
        raise RefusedError(
            _(
                "This is not a hand-in file. Hand in the file that “Download my "
                "hand-in” saves, as it is."
            )
        ) from error
    except RefusedError as error:
        raise _at(first, error) from error
    kind = found.get("kind")
    if kind == "journal":
        raise RefusedError(
            _(
                "This is one journal of a workbook, not the hand-in; the hand-in "
                "button gives the file to return."
            )
        )
    if kind != "hand-in":
        raise RefusedError(_("This is not a hand-in file."))
    if found.get("format") != 1:
        shown = visible(repr(found.get("format")), 40)
        raise RefusedError(
            _("The hand-in has format {shown}; only format 1 is known here.").format(
                shown=shown
            )
        )
    try:
        return header_from(found, HandInHeader)
    except RefusedError as error:
        raise _at(first, error) from error


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
            content, prev = read_line(line.data)
        except NotJsonError:
            # Only the last line of a journal can be cut short: a crash leaves the rest
            # whole.
            if following is not None and not following.is_journal_header():
                raise
            self.notices.append(
                _(
                    "Line {number} was cut short while it was written; it is left out."
                ).format(number=line.number)
            )
            return
        line_hash = hashlib.sha256(line.data)
        if isinstance(content, Entry):
            self._add(line, content, prev, line_hash.digest())
        else:
            self._open(content)
        # A journal's header is its line 0, so its first entry has the number 1.
        self.next_seq += 1
        self.last_sha256 = line_hash.hexdigest()

    def _open(self, journal: JournalHeader) -> None:
        for word in ("set_id", "student", "edition"):
            if getattr(journal, word) != getattr(self.header, word):
                raise RefusedError(
                    _(
                        "a journal with another {word} ({journal}) than the "
                        "hand-in's ({header})"
                    ).format(
                        word=word,
                        journal=getattr(journal, word),
                        header=getattr(self.header, word),
                    )
                )
        self.session, self.next_seq = journal.session, 0

    def _add(self, line: _Line, entry: Entry, prev: str, line_hash: bytes) -> None:
        if self.session is None:
            raise RefusedError(_("an entry before the first journal's header"))
        is_next = prev == self.last_sha256 and entry.seq == self.next_seq
        if self.is_unbroken and not is_next:
            self.is_unbroken = False
            self.notices.append(
                _(
                    "The chain of entries is broken at line {number}: lines were "
                    "changed, lost or moved. This is a reason to talk, not a proof."
                ).format(number=line.number)
            )
        self.entries.append((self.session, entry))
        lengthen(self.trail[self.session], line_hash)
