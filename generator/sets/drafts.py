"""Folders that are written beside their place, and take it once they are whole."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import psutil


def draft_of(folder: Path) -> Path:
    """Return where a folder is written first: hidden beside it, by this process."""
    return folder.with_name(f".{folder.name}.part-{os.getpid()}")


def abandoned(parent: Path) -> Iterator[Path]:
    """Find the drafts in a folder whose process no longer lives: it was killed."""
    for draft in parent.glob(".*.part-*"):
        number = draft.name.rpartition("-")[2]
        if number.isdecimal() and draft.is_dir() and not _lives(int(number), draft):
            yield draft


def _lives(number: int, draft: Path) -> bool:
    if number == os.getpid():
        # Ours is still to be made: after a restart, numbers are given out again.
        return False
    try:
        began = psutil.Process(number).create_time()
    except psutil.NoSuchProcess:
        return False
    except psutil.Error:
        return True
    # A younger process has only taken the number.
    return bool(began <= draft.stat().st_mtime)
