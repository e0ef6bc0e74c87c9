"""Files of a site as they go over a network: packed once, and told apart by a mark."""

from __future__ import annotations

import gzip
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from threading import Lock

# What is packed already, as archives and fonts are, gains nothing.
_PACKED = frozenset(
    (".css", ".html", ".ipynb", ".js", ".json", ".mjs", ".svg", ".wasm")
)
_LEVEL = 6  # the highest takes twice as long to win a percent
_WORTH_BYTES = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedFile:
    """A file that was read.

    Attributes
    ----------
    mark : str
        Changes with what is in it: an entity tag (RFC 9110, section 8.8.3).
    packed : bytes or None
        In gzip (RFC 1952); None where that is not worth it.
    """

    mark: str
    packed: bytes | None


class PackedFiles:
    """Packs each file when it is first asked for, and again when it has changed."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._known: dict[tuple[int, int], tuple[tuple[int, int], PackedFile]] = {}

    def of(self, path: Path) -> PackedFile:
        """Read a file, or give what was read of it.

        Raises
        ------
        OSError
            Where it cannot be read.
        """
        # One at a time: a class that begins together waits for each file once.
        with self._lock:
            seen = path.stat()
            stamp = (seen.st_mtime_ns, seen.st_size)
            # Not its name: where capitals are as small letters, it has thousands.
            file = (seen.st_dev, seen.st_ino)
            known = self._known.get(file)
            if known is None or known[0] != stamp:
                known = self._known[file] = (stamp, _read(path))
            return known[1]


def _read(path: Path) -> PackedFile:
    data = path.read_bytes()
    # Of the content, and not of the time: a site written again is no other one.
    mark = f'"{sha256(data).hexdigest()[:32]}"'
    if path.suffix not in _PACKED or len(data) < _WORTH_BYTES:
        return PackedFile(mark=mark, packed=None)
    return PackedFile(mark=mark, packed=gzip.compress(data, _LEVEL, mtime=0))
