"""Lines at the end of a file, written so that a machine that goes down keeps them."""

from __future__ import annotations

import os
from pathlib import Path


def whole_lines(path: Path) -> list[bytes]:
    """Read the lines of a file; half a line at its end, never acknowledged, is cut."""
    data = path.read_bytes()
    whole = data[: data.rfind(b"\n") + 1]
    if len(whole) < len(data):
        os.truncate(path, len(whole))
    return whole.split(b"\n")[:-1]


def append_whole(path: Path, data: bytes) -> None:
    """Append to a file, and come back when the disk itself has it."""
    is_new = not path.exists()
    with path.open("ab") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    # The name of a new file stands in its folder, which the disk has to have, too.
    if is_new and os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
