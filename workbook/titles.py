"""Titles of tests without what most of them end in, which is said once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

SHARED_MARK = "*"
"""Stands for the ending."""


def shared_ending(titles: Iterable[str]) -> str:
    """Find the words after the last comma of most titles; empty where there are none.

    Examples
    --------
    >>> shared_ending(["Current at F1, warm", "Voltage at 86, warm", "Look at F1"])
    'warm'
    """
    endings = Counter(title.rpartition(", ")[2] for title in titles)
    ending, count = endings.most_common(1)[0]
    return ending if count > endings.total() / 2 else ""


def short_title(title: str, ending: str) -> str:
    """Leave out of a title what is said once for all.

    Examples
    --------
    >>> short_title("Current at F1, warm", "warm")
    'Current at F1 *'
    """
    if not ending or not title.endswith(f", {ending}"):
        return title
    return f"{title.removesuffix(f', {ending}')} {SHARED_MARK}"
