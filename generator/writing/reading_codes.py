"""Codes of readings on paper: short, and telling nothing of each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from generator.writing.stream import Stream

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["Place", "reading_codes"]

# Without signs that look alike in a bad print.
_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
_LENGTH = 6
Place = tuple[str, int, str]
"""Student, exercise, test."""


def reading_codes(
    secret: bytes, records: Iterable[Mapping[str, Any]]
) -> dict[Place, str]:
    """Draw a code for each reading that students may order, no two alike.

    Readings are ordered in a diagnosis only, not where questions are asked.

    Parameters
    ----------
    secret : bytes
        The class secret.
    records : iterable of mapping
        Key records.
    """
    codes, taken = dict[Place, str](), set[str]()
    for record in records:
        if record["questions"]:
            continue
        for test in record["tests"]:
            place = (record["student"], record["exercise"], test["id"])
            stream = Stream(secret, "reading code", *place)
            while (code := _code(stream)) in taken:
                pass
            taken.add(code)
            codes[place] = code
    return codes


def _code(stream: Stream) -> str:
    signs = "".join(stream.choice(_SIGNS) for _ in range(_LENGTH))
    return f"{signs[:3]}-{signs[3:]}"
