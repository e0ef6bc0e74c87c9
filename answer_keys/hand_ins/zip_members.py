"""Members of a zip archive, read in memory with every byte counted.

Nothing is ever extracted to disk, and no declared size is believed.
"""

from __future__ import annotations

import io
import lzma
import math
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.limits import (
    MAX_HAND_IN_BYTES,
    MAX_ZIP_BYTES,
    MAX_ZIP_MEMBERS,
    MAX_ZIP_RATIO,
    MAX_ZIP_TOTAL_BYTES,
    refuse_above,
)
from workbook.texts import _, grouped

_DIRECTORY_ENTRY = b"PK\x01\x02"
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
# `zipfile` speaks of the first alone; a bent archive may bring any of the others out.
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    EOFError,
    OSError,
    OverflowError,
    RuntimeError,
    ValueError,
)


@dataclass(slots=True, kw_only=True)
class Budget:
    """Bytes that may still be unpacked from one returned file, archives in it too."""

    left: int = MAX_ZIP_TOTAL_BYTES


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One member: its bytes, or why it is not read.

    Attributes
    ----------
    name : str
        As the archive gives it.
    data : bytes
        Empty where there is a refusal.
    stamp : datetime.datetime or None
        Its time in the archive, taken for one of this machine.
    """

    name: str
    data: bytes = b""
    refusal: str | None = None
    stamp: datetime | None = None


def is_zip(data: bytes) -> bool:
    """Tell a zip archive by its first bytes, whatever its name says."""
    # The header of a first member, or the end of an archive that has none (APPNOTE
    # 4.3).
    return data.startswith((b"PK\x03\x04", b"PK\x05\x06"))


def members_of(data: bytes, budget: Budget) -> Iterator[Member]:
    """Read the members of an archive one by one.

    Parameters
    ----------
    data : bytes
        The archive.
    budget : Budget
        Drawn on by every byte unpacked.

    Yields
    ------
    Member
        Every file in it; folders are left out.

    Raises
    ------
    RefusedError
        Where the archive as a whole is not read.
    """
    with _opened(data) as archive:
        reader = _Reader(archive=archive, budget=budget)
        for info in archive.infolist():
            # Not by is_dir(), which fails on a name that is cut to nothing.
            if not info.filename.endswith("/") or info.file_size:
                yield reader.member(info)


def _opened(data: bytes) -> zipfile.ZipFile:
    larger = _("The archive is larger than {most} bytes.")
    refuse_above(MAX_ZIP_BYTES, len(data), larger)
    # Counted before the directory is read: a directory of a million entries would
    # fill the memory. Members stored whole may add a few entries of their own.
    too_many = _("The archive has more than {most} members.")
    refuse_above(
        MAX_ZIP_MEMBERS, math.ceil(data.count(_DIRECTORY_ENTRY) / 10), too_many
    )
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except _BROKEN as error:
        raise RefusedError(_("The archive is damaged.")) from error
    refuse_above(MAX_ZIP_MEMBERS, len(archive.infolist()), too_many)
    return archive


@dataclass(slots=True, kw_only=True)
class _Reader:
    """Reads members and keeps count over the whole archive."""

    archive: zipfile.ZipFile
    budget: Budget
    names: set[str] = field(default_factory=set)

    def member(self, info: zipfile.ZipInfo) -> Member:
        # As it stands in the archive: `filename` ends at a zero byte, and has other
        # slashes.
        name = info.orig_filename
        try:
            self._check(info)
            return Member(name=name, data=self._data(info), stamp=_stamp(info))
        except RefusedError as error:
            return Member(name=name, refusal=error.reason)
        except _BROKEN:
            return Member(name=name, refusal=_("The member is damaged."))

    def _check(self, info: zipfile.ZipInfo) -> None:
        _check_name(info.orig_filename)
        # Two programs would unpack two different ones of them.
        if info.orig_filename in self.names:
            raise RefusedError(_("The archive has another member of the same name."))
        self.names.add(info.orig_filename)
        if info.flag_bits & 0x1:
            raise RefusedError(_("The member is encrypted."))
        # The upper half is the mode of a file as Unix has it.
        if stat.S_ISLNK(info.external_attr >> 16):
            raise RefusedError(_("The member is a link."))
        if info.compress_type not in _METHODS:
            raise RefusedError(_("The member is compressed in an unusual way."))

    def _data(self, info: zipfile.ZipInfo) -> bytes:
        # A nested archive may be as large as an archive; what it holds may not.
        # By name, since nothing is unpacked yet; content decides later what it is read
        # as.
        is_archive = info.orig_filename.lower().endswith(".zip")
        limit = MAX_ZIP_BYTES if is_archive else MAX_HAND_IN_BYTES
        # This size is only declared, too, but `zipfile` takes no more than it from the
        # archive.
        unpacked = MAX_ZIP_RATIO * max(info.compress_size, 1)
        with self.archive.open(info) as file:
            # One byte above the limit shows that there is more, and no more is
            # unpacked.
            data = file.read(min(limit, unpacked, self.budget.left) + 1)
        if len(data) > self.budget.left:
            raise RefusedError(
                _("The archive holds more than {most} bytes.").format(
                    most=grouped(MAX_ZIP_TOTAL_BYTES)
                )
            )
        self.budget.left -= len(data)
        if len(data) > unpacked:
            raise RefusedError(
                _("The member is packed over {most} to 1.").format(most=MAX_ZIP_RATIO)
            )
        if len(data) > limit:
            raise RefusedError(
                _("The member is larger than {limit} bytes.").format(
                    limit=grouped(limit)
                )
            )
        return data


def _stamp(info: zipfile.ZipInfo) -> datetime | None:
    try:
        return datetime(*info.date_time).astimezone(UTC)
    except (ValueError, OverflowError, OSError):
        return None


def _check_name(name: str) -> None:
    if "\x00" in name or "\\" in name:
        raise RefusedError(_("The member's name holds a backslash or a zero byte."))
    if name.startswith("/") or name[1:2] == ":":
        raise RefusedError(_("The member's name is an absolute path."))
    if ".." in name.split("/"):
        raise RefusedError(_("The member's name leads out of the archive ('..')."))
