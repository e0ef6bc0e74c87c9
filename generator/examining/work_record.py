"""What one student has recorded, as the room has it on its disk.

A file for each session of the student's page, its lines as they were sent. A line is
taken only where it goes on from the one before it by its hash, says what the exercises
hold, and changes nothing that was recorded earlier: readings were given on that.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

from msgspec import Meta, Struct

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in_lines import (
    JournalHeader,
    entry_from,
    fields_from_line,
    header_from,
)
from answer_keys.hand_ins.limits import MAX_HAND_IN_BYTES, MAX_LINE_BYTES
from answer_keys.keys.offered import Offered, OfferedExercise
from answer_keys.keys.offered_set_ups import with_set_up
from generator.errors import RoomError
from generator.examining.appending import append_whole, whole_lines
from workbook.errors import RefusedError as SetUpError
from workbook.judging.known_words import misfit, unknown_words
from workbook.record.entries import ChosenTest, Entry, Finding, Hint, Restart, in_order
from workbook.record.journal import Owner, journal_path
from workbook.record.progress import ExerciseProgress, after, replay

_SESSION = re.compile(r"[0-9a-f]{8}")
MAX_SESSIONS = 100
"""Sessions of one student; every window and every restart of the page is one."""


class ConflictError(RefusedError):
    """Lines that cannot be put behind what the room has of the student."""


Count = Annotated[int, Meta(ge=0, le=100_000)]


class Part(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Lines of one session, the first of them at a place from 0."""

    at: Count
    lines: Annotated[tuple[str, ...], Meta(max_length=10_000)] = ()


@dataclass(slots=True)
class _Session:
    lines: list[str] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)


def _begun(session: _Session) -> list[datetime]:
    """When its first entry was recorded; nothing, which comes first, for a header."""
    return [entry.moment for entry in session.entries[:1]]


def _in_order(*groups: Mapping[str, _Session]) -> list[Entry]:
    """All entries of some sessions in order of time."""
    return in_order(
        (name, entry)
        for group in groups
        for name, one in group.items()
        for entry in one.entries
    )


class WorkRecord:
    """The record of one student.

    Parameters
    ----------
    folder : pathlib.Path
        Of the whole room.
    owner : Owner
        Whose work.
    offered : mapping
        What the student's exercises offer.

    Raises
    ------
    RoomError
        Where a file of the record was changed.
    """

    def __init__(self, folder: Path, owner: Owner, offered: Offered) -> None:
        self._folder = folder
        self._owner = owner
        self.offered = offered
        self._sessions: dict[str, _Session] = {}
        start = journal_path(folder, owner, "").stem
        for path in sorted(folder.glob(f"{start}*.jsonl")):
            session = path.stem.removeprefix(start)
            if _SESSION.fullmatch(session):
                self._load(path, session)
        self.progress = replay(self.entries)

    @property
    def entries(self) -> list[Entry]:
        """All entries in order of time."""
        return _in_order(self._sessions)

    @property
    def counts(self) -> dict[str, int]:
        """How many lines there are of each session, its header counted."""
        return {name: len(one.lines) for name, one in self._sessions.items()}

    @property
    def lines(self) -> list[str]:
        """All lines, session by session, as they are handed in."""
        return [line for _, one in sorted(self._sessions.items()) for line in one.lines]

    def beyond(self, known: Mapping[str, int]) -> dict[str, Part]:
        """Give the lines that somebody lacks who knows so many of each session."""
        found = dict[str, Part]()
        for name, session in self._sessions.items():
            at = known.get(name, 0)
            if rest := session.lines[at:]:
                found[name] = Part(at=at, lines=tuple(rest))
        return found

    def take(self, parts: Mapping[str, Part]) -> list[Entry]:
        """Write what is new of some sessions; give the new entries, once on the disk.

        Raises
        ------
        RefusedError
            Where a line is none of this student's journal; nothing is written.
        ConflictError
            Where it is not what can come next; nothing is written.
        RoomError
            Where the disk takes nothing.
        """
        new = {name: self._new_of(name, part) for name, part in parts.items()}
        new = {name: one for name, one in new.items() if one.lines}
        if not new:
            return []
        # What the room takes it has to hand in, and grading reads no more than this.
        size = sum(len(line.encode()) + 1 for line in self.lines)
        size += sum(
            len(line.encode()) + 1 for one in new.values() for line in one.lines
        )
        if size > MAX_HAND_IN_BYTES or len({*self._sessions, *new}) > MAX_SESSIONS:
            raise RefusedError("the record of this student is full")
        added = _in_order(new)
        progress = self._appended(added)
        whole = _in_order(self._sessions, new)
        # A line dated before others would sort in front of them: where that gives
        # another outcome than to put it behind, a reading may have been given on what
        # it changes.
        if replay(whole) != progress:
            raise ConflictError("it would change what was recorded before")
        self._write(new)
        self.progress = progress
        return added

    def _appended(self, added: Sequence[Entry]) -> dict[int, ExerciseProgress]:
        progress = dict(self.progress)
        for entry in added:
            done = progress.get(entry.exercise, ExerciseProgress())
            progress[entry.exercise] = after(done, entry)
        return progress

    def _new_of(self, name: str, part: Part) -> _Session:
        """Check the lines of a session that the room does not have yet."""
        if not _SESSION.fullmatch(name):
            raise RefusedError("there is no such session")
        known = self._sessions.get(name, _Session()).lines
        if part.at > len(known):
            raise ConflictError("lines before these are lacking")
        # Sent once more, as after a lost answer, lines are passed over where they are
        # the same.
        same = known[part.at : part.at + len(part.lines)]
        if same != list(part.lines[: len(same)]):
            raise ConflictError("another line stands there already")
        fresh = part.lines[len(same) :]
        return self._checked(name, known, fresh)

    def _checked(
        self, name: str, before: Sequence[str], fresh: Sequence[str]
    ) -> _Session:
        made = _Session()
        previous = before[-1] if before else ""
        for place, line in enumerate(fresh, start=len(before)):
            data = line.encode()
            if len(data) > MAX_LINE_BYTES or b"\n" in data:
                raise RefusedError("a line is too long")
            fields, is_plain = fields_from_line(data)
            if place == 0:
                self._check_header(name, fields)
            else:
                made.entries.append(self._entry(fields, place, previous, is_plain))
            made.lines.append(line)
            previous = line
        return made

    def _check_header(self, name: str, fields: dict[str, Any]) -> None:
        header = header_from(fields, JournalHeader)
        owner = Owner(
            set_id=header.set_id, student=header.student, edition=header.edition
        )
        if owner != self._owner or header.session != name:
            raise RefusedError("this journal is somebody else's")

    def _entry(
        self, fields: dict[str, Any], place: int, previous: str, is_plain: bool
    ) -> Entry:
        entry = entry_from(fields, is_plain=is_plain)
        if fields["prev"] != hashlib.sha256(previous.encode()).hexdigest():
            raise RefusedError("its chain is broken")
        if entry.seq != place:
            raise RefusedError("a line is lacking")
        asked = self._asked(entry)
        if (
            asked is None
            # Only a practice set has these: grading would refuse the whole hand-in for
            # one.
            or isinstance(entry, Hint | Restart)
            or misfit(asked, entry)
            or unknown_words(asked, entry)
        ):
            raise RefusedError("it speaks of what the exercises do not hold")
        return entry

    def _asked(self, entry: Entry) -> OfferedExercise | None:
        """What the exercise of an entry offers, with what the entry itself sets up."""
        asked = self.offered.get(entry.exercise)
        if asked is None or not isinstance(entry, ChosenTest | Finding):
            return asked
        try:
            return with_set_up(asked, entry.item)
        except SetUpError as error:
            raise RefusedError(
                "it speaks of a set-up that the circuit cannot be put into"
            ) from error

    def _write(self, new: Mapping[str, _Session]) -> None:
        """Write lines of some sessions, all or none, what was recorded first first."""
        paths = {name: journal_path(self._folder, self._owner, name) for name in new}
        sizes = {
            path: path.stat().st_size if path.exists() else 0 for path in paths.values()
        }
        try:
            for name in sorted(new, key=lambda name: _begun(new[name])):
                data = "".join(f"{line}\n" for line in new[name].lines)
                append_whole(paths[name], data.encode())
        except OSError as error:
            # What was written of it must not stand before the next try.
            for path, size in sizes.items():
                with suppress(OSError):
                    os.truncate(path, size)
            raise RoomError(
                self._folder,
                f"cannot be written ({error.strerror}); make room on the disk",
            ) from error
        for name, one in new.items():
            mine = self._sessions.setdefault(name, _Session())
            mine.lines += one.lines
            mine.entries += one.entries

    def _load(self, path: Path, name: str) -> None:
        """Read a file of the record."""
        lines = [line.decode("utf-8", "replace") for line in whole_lines(path)]
        try:
            self._sessions[name] = self._checked(name, (), lines)
        except RefusedError as error:
            raise RoomError(
                path,
                f"was changed after it was written ({error.reason}); put back the file "
                "as it was, or move it out of the folder",
            ) from error
