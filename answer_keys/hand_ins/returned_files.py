"""Every file that came back: single hand-ins and archives of them, each accounted for.

Nothing here stops at a bad file, follows a link or writes anything.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import NEVER, HandIn, read_hand_in
from answer_keys.hand_ins.limits import (
    MAX_FILES,
    MAX_ZIP_BYTES,
    MAX_ZIP_NESTING,
    refuse_above,
)
from answer_keys.hand_ins.listing import is_typed, listing_of
from answer_keys.hand_ins.typed_answers import typed_hand_ins
from answer_keys.hand_ins.zip_members import Budget, is_zip, members_of
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.visible_text import visible
from workbook.texts import _, grouped


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One returned file: its hand-in, or why there is none.

    Attributes
    ----------
    name : str
        Name below the folder, members of archives as ``class.zip/member``,
        each student of a table of typed answers as ``table.csv/student``.
    refusal : str or None
        The reason, where there is no hand-in.
    modified : datetime.datetime
        Time of the file in the folder.
    archived : datetime.datetime or None
        Of a member, the time that the outermost archive gives it.
    is_unread : bool
        Whether something was not even looked at.
    """

    name: str
    hand_in: HandIn | None = None
    refusal: str | None = None
    modified: datetime = NEVER
    archived: datetime | None = None
    is_unread: bool = False


def returned_names(folder: Path) -> tuple[list[str], tuple[Found, ...]]:
    """List what came back by its names below the folder, as the system has them.

    What cannot be read of it is accounted for.
    """
    listing = listing_of(folder)
    unread = [
        _unread(
            f"{visible(name)}/",
            _(
                "This folder cannot be opened ({reason}), so nothing in it was "
                "read; give yourself the right to read it, then grade again."
            ).format(reason=reason),
        )
        for name, reason in listing.closed
    ]
    if listing.left:
        reason = _(
            "This and {count} more files were not read: only {most} are at a "
            "time, what looks like hand-ins first; move away what is none, "
            "then grade again."
        ).format(count=grouped(listing.files_left - 1), most=grouped(MAX_FILES))
        unread.append(_unread(visible(listing.left[0]), reason))
    return listing.files, tuple(unread)


def _unread(name: str, reason: str) -> Found:
    return Found(name=name, refusal=reason, is_unread=True)


def found_at(folder: Path, name: str, key: AnswerKey) -> Iterator[Found]:
    """Read one file below a folder: one hand-in, or all of an archive.

    Never raises: what goes wrong is a refusal with its reason.
    """
    path, name = folder / name, visible(name)
    try:
        data, modified = _data_at(path)
    except RefusedError as error:
        yield Found(name=name, refusal=error.reason)
    except OSError as error:
        yield _unread(
            name,
            _("The file cannot be read: {strerror}.").format(strerror=error.strerror),
        )
    else:
        unpacked = _Unpacked(budget=Budget(), key=key, modified=modified)
        yield from unpacked.found_in(name, data, MAX_ZIP_NESTING)


def closed_at(folder: Path, name: str) -> Found | None:
    """Account for a file that nobody may or can read; None for any other.

    Nothing that stands in the file is looked at.
    """
    path, name = folder / name, visible(name)
    try:
        _checked_status(path)
        path.open("rb").close()
    except RefusedError as error:
        return Found(name=name, refusal=error.reason)
    except OSError as error:
        return _unread(
            name,
            _("The file cannot be read: {strerror}.").format(strerror=error.strerror),
        )
    return None


def _data_at(path: Path) -> tuple[bytes, datetime]:
    status = _checked_status(path)
    return path.read_bytes(), _time_of(status.st_mtime)


def _checked_status(path: Path) -> os.stat_result:
    # Looked at before it is opened: opening a pipe would wait for ever.
    status = path.lstat()
    if stat.S_ISLNK(status.st_mode):
        raise RefusedError(_("This is a link, not a file."))
    if not stat.S_ISREG(status.st_mode):
        raise RefusedError(_("This is not a regular file, or it lies too deep."))
    larger = _("The file is larger than {most} bytes.")
    refuse_above(MAX_ZIP_BYTES, status.st_size, larger)
    return status


def _time_of(seconds: float) -> datetime:
    """Return a file's time; one outside all years that there are, at their end."""
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (ValueError, OverflowError, OSError):
        return (datetime.min if seconds < 0 else datetime.max).replace(tzinfo=UTC)


def _check_place(name: str) -> None:
    """Take typed answers from the instructor alone: whose they are, they only say."""
    if "/" in name:
        raise RefusedError(
            _(
                "A table is nothing that a student hands in. Answers that you have "
                "typed from paper are read where their table lies in handed-in/ "
                "itself."
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Unpacked:
    """One returned file with all that is packed in it."""

    budget: Budget
    key: AnswerKey
    modified: datetime

    def found_in(self, name: str, data: bytes, nesting: int) -> Iterator[Found]:
        try:
            if is_zip(data):
                yield from self._found_in_archive(name, data, nesting)
            elif is_typed(name):
                _check_place(name)
                for hand_in in typed_hand_ins(name, data, self.key):
                    yield self._found(hand_in)
            else:
                yield self._found(read_hand_in(name, data))
        except RefusedError as error:
            yield Found(name=name, refusal=error.reason)
        except Exception as error:
            # A fault of this reader, and yet the files of the others must be graded.
            kind = type(error).__name__
            reason = _(
                "The reader failed on this file ({kind}). Please report it."
            ).format(kind=kind)
            yield Found(name=name, refusal=reason)

    def _found(self, hand_in: HandIn) -> Found:
        return Found(name=hand_in.name, hand_in=hand_in, modified=self.modified)

    def _found_in_archive(
        self, name: str, data: bytes, nesting: int
    ) -> Iterator[Found]:
        is_empty = True
        for member in members_of(data, self.budget):
            is_empty = False
            inner = f"{name}/{visible(member.name)}"
            if member.refusal is not None:
                yield Found(name=inner, refusal=member.refusal)
            # By its bytes: an archive is one whatever its name ends in.
            elif is_zip(member.data) and nesting == 0:
                yield Found(name=inner, refusal=_("An archive packed three deep."))
            else:
                for one in self.found_in(inner, member.data, nesting - 1):
                    yield replace(one, archived=member.stamp)
        if is_empty:
            yield Found(name=name, refusal=_("The archive is empty."))
