"""Files that nobody but their owner reads, whatever other files are like."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["write_private"]


def write_private(path: Path, data: bytes) -> None:
    """Write a file that its owner alone may read; an older one is written anew."""
    if path.is_file():
        path.chmod(0o600)
    number = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(number, "wb") as file:
        file.write(data)
