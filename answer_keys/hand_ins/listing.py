"""List what lies below a folder, whatever stands in the way of it."""

from __future__ import annotations

import os
import stat
from collections import Counter
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from answer_keys.hand_ins.limits import MAX_FILES, MAX_FOLDER_DEPTH, MAX_LISTED_FILES
from answer_keys.hand_ins.zip_members import is_zip

ROOM = "examination"
"""Folder for what the room of an examination has written: that is what counts."""


_HEAD_BYTES = 1_000  # of a file, in which a hand-in says what it is


@dataclass(slots=True, kw_only=True)
class Listing:
    """What lies below a folder.

    Attributes
    ----------
    files : list of str
        Names below the folder of those to be read, in their order; a path takes three
        times the memory.
    left : list of str
        Those that are too many to be read.
    uncounted : int
        How many more there are of these.
    closed : list of (str, str)
        Folders that cannot be listed, each with its reason.
    """

    files: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    uncounted: int = 0
    closed: list[tuple[str, str]] = field(default_factory=list)

    @property
    def files_left(self) -> int:
        """How many files are too many to be read."""
        return len(self.left) + self.uncounted


def is_typed(name: str) -> bool:
    """Tell whether a returned file is to be read as typed answers."""
    return name.lower().endswith(".csv")


def listing_of(folder: Path) -> Listing:
    """List every file below a folder; a folder that cannot be listed costs itself.

    Raises
    ------
    OSError
        Where the folder itself cannot be listed.
    """
    listing = Listing()
    _list(folder, "", MAX_FOLDER_DEPTH, listing)
    if len(listing.files) > MAX_FILES:
        _choose(folder, listing)
    return listing


def _list(folder: Path, above: str, depth: int, listing: Listing) -> None:
    room = MAX_LISTED_FILES - len(listing.files)
    with os.scandir(folder) as entries:
        # Of a folder of millions no more is kept than may be listed: the rest is
        # counted.
        found = sorted(islice(entries, max(room, 0)), key=lambda entry: entry.name)
        listing.uncounted += sum(1 for _ in entries)
    for entry in found:
        name = f"{above}{entry.name}"
        # A folder too deep is listed as a file, and refused as none.
        if not (depth and entry.is_dir(follow_symlinks=False)):
            listing.files.append(name)
            continue
        try:
            _list(Path(entry.path), f"{name}/", depth - 1, listing)
        except OSError as error:
            listing.closed.append((name, error.strerror or str(error)))


def _choose(folder: Path, listing: Listing) -> None:
    """Leave over what looks least like a hand-in, and most what lies in a crowd.

    Every folder has its turn, so that none starves the others.
    """
    in_folder: Counter[tuple[bool, str]] = Counter()
    turns = []
    for place, name in enumerate(listing.files):
        kind = not _is_likely(folder / name), name.rpartition("/")[0]
        in_folder[kind] += 1
        # Likely ones first; of these the first of every folder, then the second, and so
        # on.
        turns.append((kind[0], in_folder[kind], place))
    read = {place for _, _, place in sorted(turns)[:MAX_FILES]}
    files = list(enumerate(listing.files))
    listing.files = [name for place, name in files if place in read]
    listing.left = [name for place, name in files if place not in read]


def _is_likely(path: Path) -> bool:
    """Tell by its first bytes whether a file may be one that students hand in."""
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            return False
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
    except OSError:
        return False
    return is_zip(head) or b'"hand-in"' in head or (is_typed(path.name) and bool(head))
