"""Records made of others, and what is wrong with data, in words for an instructor."""

from __future__ import annotations

import re
from typing import TypeVar

import msgspec

_T = TypeVar("_T")

_KINDS = {
    "int": "a whole number",
    "float": "a number",
    "str": "a text",
    "bool": "true or false",
    "bytes": "packed data",
    "array": "a list",
    "object": "a table",
    "null": "nothing",
}
_PARTS = {"str": "characters", "bytes": "bytes", "array": "entries"}
_LIMITS = {">=": "{} or more", ">": "more than {}", "<=": "{} or less", "<": "below {}"}


def copied_as(kind: type[_T], record: object) -> _T:
    """Build a record of a kind from what another one, and all in it, calls the same."""
    return msgspec.convert(record, kind, from_attributes=True)


def in_words(error: Exception) -> str:
    """Say what msgspec has found wrong, the place first where it names one.

    Examples
    --------
    >>> in_words(ValueError("Expected `int`, got `str` - at `$.tests[2].minutes`"))
    '“tests[2].minutes” is a text and must be a whole number'
    >>> in_words(ValueError("Object missing required field `seq`"))
    '“seq” is missing'
    """
    # msgspec tells what is wrong, and where, in the text of its errors alone.
    problem, _, at = str(error).partition(" - at `$")
    place = at.strip(".`")
    where = f"“{place}”" if place else "it"
    if found := re.fullmatch(r"Object missing required field `(.+)`", problem):
        return f"“{'.'.join(filter(None, (place, found[1])))}” is missing"
    if found := re.fullmatch(r"Object contains unknown field `(.+)`", problem):
        return f"“{found[1]}” does not belong there"
    if found := re.fullmatch(r"Expected `([^`]+)`, got `([^`]+)`", problem):
        return f"{where} is {_kinds(found[2])} and must be {_kinds(found[1])}"
    if found := re.fullmatch(
        r"Expected `(\w+)`(?: of length)? ([<>]=?) (\S+)", problem
    ):
        kind, sign, bound = found.groups()
        part = f" {_PARTS[kind]}" if kind in _PARTS else ""
        must = "have" if part else "be"
        return f"{where} must {must} {_LIMITS[sign].format(bound)}{part}"
    if found := re.fullmatch(r"Invalid (?:enum )?value (.+)", problem):
        return f"{where} is {found[1]}, which is not known here"
    return f"{where}: {problem}" if place else problem


def _kinds(names: str) -> str:
    """Name kinds of JSON values.

    Examples
    --------
    >>> _kinds("float | null")
    'a number or nothing'
    """
    return " or ".join(_KINDS.get(name, name) for name in names.split(" | "))
