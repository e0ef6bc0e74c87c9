"""Hand-ins sent to another machine to be marked there, and what comes back.

What is sent is enough to mark and no more: files, key and rubric, ids and no names.
What comes back is decoded as strictly as from the crew of this machine.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from msgspec import msgpack

from answer_keys.hand_ins.returned_files import closed_at, returned_names
from answer_keys.marking.marked import Marked
from answer_keys.marking.marker import Marker
from answer_keys.written_files import write_private

# A few hundred honest hand-ins: some seconds of work, and all that a lost worker costs.
_BATCH_BYTES = 10_000_000
_BATCH_FILES = 200
_MARKED = msgpack.Decoder(list[Marked])


@dataclass(frozen=True, slots=True, kw_only=True)
class ShippedFile:
    """A returned file: its name below the folder as the system has it, and its time."""

    name: bytes
    data: bytes
    modified_ns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shipment:
    """Some hand-ins of a class, with what marks them."""

    marker: Marker
    files: tuple[ShippedFile, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Batches:
    """What came back for a class, in shares that are sent one by one.

    Attributes
    ----------
    shares : tuple of tuple of str
        Names below the folder, neighbours together.
    unread : bytes
        What need not be sent, since nobody can or may read it: a `Marked` each.
    """

    marker: Marker
    folder: Path
    shares: tuple[tuple[str, ...], ...]
    unread: bytes

    def shipment(self, share: Sequence[str]) -> Shipment:
        """Read the files of a share; one that vanished meanwhile is left out."""
        return Shipment(marker=self.marker, files=tuple(self._read(share)))

    def _read(self, share: Sequence[str]) -> Iterator[ShippedFile]:
        for name in share:
            path = self.folder / name
            with suppress(OSError):
                modified_ns = path.lstat().st_mtime_ns
                data = path.read_bytes()
                # As bytes: a name that is no UTF-8 fits in no text of MessagePack.
                own = os.fsencode(name)
                yield ShippedFile(name=own, data=data, modified_ns=modified_ns)


def batches_of(marker: Marker, folder: Path) -> Batches:
    """Share out what came back; nothing that stands in it is looked at."""
    names, unread = returned_names(folder)
    closed = {name: closed_at(folder, name) for name in names}
    found = [one for one in closed.values() if one is not None]
    open_ = (name for name in names if closed[name] is None)
    return Batches(
        marker=marker,
        folder=folder,
        shares=tuple(_shares(folder, open_)),
        unread=msgpack.encode([marker.marked(one) for one in (*found, *unread)]),
    )


def _shares(folder: Path, names: Iterable[str]) -> Iterator[tuple[str, ...]]:
    share, size = list[str](), 0
    for name in names:
        own = (folder / name).lstat().st_size
        if share and (size + own > _BATCH_BYTES or len(share) == _BATCH_FILES):
            yield tuple(share)
            share, size = [], 0
        share.append(name)
        size += own
    if share:
        yield tuple(share)


def keep_marks(path: Path, marked: bytes) -> None:
    """Put by what came back of a share, for its owner's eyes, until all is there.

    Raises
    ------
    msgspec.DecodeError
        Where it is anything else than marks.
    """
    _MARKED.decode(marked)
    write_private(path, marked)


def marks_at_hand(kept: Sequence[Path]) -> Callable[[Marker, Path], Iterator[Marked]]:
    """Make of what was marked elsewhere what grading asks for, a share at a time."""
    return lambda _marker, _folder: (
        one for path in kept for one in _MARKED.decode(path.read_bytes())
    )
