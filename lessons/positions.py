"""Where a key stands in a TOML file: the parser knows values, not their lines."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["line_of", "lines_of"]

Path = tuple[str | int, ...]

_TABLE = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]")
_KEY = re.compile(r"""^\s*("[^"]*"|'[^']*'|[A-Za-z0-9_-]+)\s*=""")


def lines_of(text: str) -> dict[Path, int]:
    r"""Line number of every table and key of a TOML text, by path.

    Examples
    --------
    >>> lines_of("a = 1\n[b]\nc = 2\n")
    {('a',): 1, ('b',): 2, ('b', 'c'): 3}
    """
    table: Path = ()
    tables: list[Path] = []  # entries of arrays of tables
    found: dict[Path, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _TABLE.match(line):
            table = tuple(part.strip().strip("\"'") for part in header[2].split("."))
            found.setdefault(table, number)
            if header[1] == "[[":
                table = (*table, sum(path[:-1] == table for path in tables))
                tables.append(table)
                found[table] = number
        elif key := _KEY.match(line):
            found.setdefault((*table, key[1].strip("\"'")), number)
    return found


def line_of(path: Path, lines: Mapping[Path, int]) -> int:
    """Line of a path, or of the closest thing around it that has one; else 1."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return 1
