"""Whether a hand-in goes on from another: told by hashes of its lines, not by times.

A workbook only ever adds lines, so a later hand-in of a student holds every line of an
earlier one, session by session from the first. A *trail* has, for each entry of a
session, `_SIZE` bytes that tell that entry and all before it; a *head* is where a
session's trail ends. Heads are small enough to be kept of every hand-in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

Trail = dict[str, bytes]
"""By session what tells its entries."""
Heads = dict[str, tuple[int, str]]
"""By session how many entries it has, and what tells them all."""

# Compared place by place, 64 bits agree by chance about never; ten thousand lines take
# 80 kB.
_SIZE = 8


def lengthen(trail: bytearray, line_hash: bytes) -> None:
    """Add an entry to a session's trail, by the hash of its line."""
    trail += hashlib.sha256(trail[-_SIZE:] + line_hash).digest()[:_SIZE]


def heads_of(trail: Trail) -> Heads:
    """Return where each session ends.

    Examples
    --------
    >>> heads_of({"0a1b": bytes(15) + b"!"})
    {'0a1b': (2, '0000000000000021')}
    """
    return {
        session: (len(own) // _SIZE, own[-_SIZE:].hex())
        for session, own in trail.items()
    }


def goes_on_from(trail: Trail, heads: Mapping[str, tuple[int, str]]) -> bool:
    """Tell whether a hand-in holds all that another does, and goes on from there."""
    return all(
        trail.get(session, b"")[_SIZE * (count - 1) : _SIZE * count].hex() == head
        for session, (count, head) in heads.items()
    )


def lacking(trail: Trail, other: Trail) -> int:
    """Count the entries of another hand-in that one lacks or has otherwise."""
    return sum(
        own[place : place + _SIZE] != trail.get(session, b"")[place : place + _SIZE]
        for session, own in other.items()
        for place in range(0, len(own), _SIZE)
    )
