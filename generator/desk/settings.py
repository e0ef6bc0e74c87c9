"""What the desk remembers for its instructor, in a file beside the sets.

A browser would keep it for one port alone, and the desk comes up on another each time.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from answer_keys.written_files import write_private
from workbook.texts import LANGUAGES

_FILE = "desk.json"
_MAX_LENGTH = 200
_TEXTS = ("language", "column", "id_column")


def settings_of(sets: Path) -> dict[str, str]:
    """Return what is remembered; nothing where the file cannot be read."""
    try:
        return _known(json.loads((sets / _FILE).read_bytes()))
    except (OSError, ValueError):
        return {}


def keep_settings(sets: Path, given: Mapping[str, Any]) -> dict[str, str]:
    """Remember what is given beside what was remembered; gives all of it.

    Parameters
    ----------
    given : mapping
        ``language`` of the page; ``column`` and ``id_column`` of the instructor's own
        table of marks. Anything else is left out.

    Raises
    ------
    OSError
        Where the folder cannot be written.
    """
    kept = settings_of(sets) | _known(given)
    write_private(sets / _FILE, json.dumps(kept).encode())
    return kept


def _known(given: object) -> dict[str, str]:
    if not isinstance(given, Mapping):
        return {}
    return {
        name: value
        for name in _TEXTS
        if isinstance(value := given.get(name), str)
        and len(value) <= _MAX_LENGTH
        and (name != "language" or value in LANGUAGES)
    }
