"""Records made of others, and what is wrong with data, in words for an instructor."""

from __future__ import annotations

import re
from typing import TypeVar

import msgspec

from workbook.texts import _, later

_T = TypeVar("_T")

_KINDS = {
    "int": later("a whole number"),
    "float": later("a number"),
    "str": later("a text"),
    "bool": later("true or false"),
    "bytes": later("packed data"),
    "array": later("a list"),
    "object": later("a table"),
    "null": later("nothing"),
}
_MUST = {
    "": later("{where} must be {limit}"),
    "str": later("{where} must have {limit} characters"),
    "bytes": later("{where} must have {limit} bytes"),
    "array": later("{where} must have {limit} entries"),
}
_LIMITS = {
    ">=": later("{bound} or more"),
    ">": later("more than {bound}"),
    "<=": later("{bound} or less"),
    "<": later("below {bound}"),
}


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
    problem, _at, at = str(error).partition(" - at `$")
    place = at.strip(".`")
    where = f"“{place}”" if place else _("it")
    if found := re.fullmatch(r"Object missing required field `(.+)`", problem):
        name = ".".join(filter(None, (place, found[1])))
        return _("“{name}” is missing").format(name=name)
    if found := re.fullmatch(r"Object contains unknown field `(.+)`", problem):
        return _("“{name}” does not belong there").format(name=found[1])
    if found := re.fullmatch(r"Expected `([^`]+)`, got `([^`]+)`", problem):
        return _("{where} is {found} and must be {wanted}").format(
            where=where, found=_kinds(found[2]), wanted=_kinds(found[1])
        )
    if found := re.fullmatch(
        r"Expected `(\w+)`(?: of length)? ([<>]=?) (\S+)", problem
    ):
        kind, sign, bound = found.groups()
        limit = _(_LIMITS[sign]).format(bound=bound)
        return _(_MUST.get(kind, _MUST[""])).format(where=where, limit=limit)
    if found := re.fullmatch(r"Invalid (?:enum )?value (.+)", problem):
        return _("{where} is {found}, which is not known here").format(
            where=where, found=found[1]
        )
    return f"{where}: {problem}" if place else problem


def _kinds(names: str) -> str:
    """Name kinds of JSON values.

    Examples
    --------
    >>> _kinds("float | null")
    'a number or nothing'
    """
    return _(" or ").join(_(_KINDS.get(name, name)) for name in names.split(" | "))
