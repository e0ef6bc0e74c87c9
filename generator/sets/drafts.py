"""Folders that are written beside their place, and take it once they are whole."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import psutil

OPEN_FOLDERS = ("for-students", "handed-in")
PRIVATE_FOLDERS = ("for-instructor", "results")
SET_FILE = "set.toml"
_OWN = {*OPEN_FOLDERS, *PRIVATE_FOLDERS, SET_FILE}
"""All that a set is written with."""


def draft_of(folder: Path) -> Path:
    """Return where a folder is written first: hidden beside it, by this process."""
    return folder.with_name(f".{folder.name}.part-{os.getpid()}")


def abandoned(parent: Path) -> Iterator[Path]:
    """Find the drafts in a folder whose process no longer lives: it was killed."""
    for draft in parent.glob(".*.part-*"):
        number = draft.name.rpartition("-")[2]
        if number.isdecimal() and draft.is_dir() and not _lives(int(number), draft):
            yield draft


def drop_abandoned(parent: Path) -> None:
    """Remove what runs that were killed left of sets: class secret and names in it."""
    for draft in abandoned(parent):
        if all(_is_ours(path.name) for path in draft.iterdir()):
            shutil.rmtree(draft, ignore_errors=True)


def _is_ours(name: str) -> bool:
    """Whether a set has a file or folder of this name, whole or half written."""
    return name in _OWN or name.startswith(f".{SET_FILE}.")


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
