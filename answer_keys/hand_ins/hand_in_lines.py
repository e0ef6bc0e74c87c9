"""The lines of a hand-in as strict data: one JSON object each, one entry each."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Annotated, Any, Literal, Never, TypeVar

import msgspec
from msgspec import Meta, Struct

from answer_keys.decoding import in_words
from answer_keys.errors import RefusedError
from answer_keys.hand_ins.limits import (
    MAX_ANSWER_ITEMS,
    MAX_DEPTH,
    MAX_ID_LENGTH,
    MAX_INTEGER,
    MAX_INTEGER_DIGITS,
    MAX_NUMBER_DIGITS,
    MAX_RAW_LENGTH,
)
from answer_keys.visible_text import has_hidden_characters, visible
from workbook.record.entries import MAX_NOTE_LENGTH, Entry, form_of_line
from workbook.record.progress import MAX_LINE_LENGTH
from workbook.texts import _

Name = Annotated[str, Meta(min_length=1, max_length=MAX_ID_LENGTH)]
Whole = Annotated[int, Meta(ge=0, le=MAX_INTEGER)]


class _Header(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"
):
    """Whose work of which class set follows."""

    format: Literal[1]
    set_id: Name
    student: Name
    edition: Whole
    software: Name


class HandInHeader(_Header, frozen=True, kw_only=True, tag="hand-in"):
    """First line of a hand-in."""

    mode: Literal["practice", "graded", "examination"]


class JournalHeader(_Header, frozen=True, kw_only=True, tag="journal"):
    """First line of a journal in a hand-in."""

    session: Name


_Kind = TypeVar("_Kind", bound=_Header)

# What a student types, and how long it may be; all other texts are ids.
_TYPED = {
    "raw": MAX_RAW_LENGTH,
    "lines": MAX_LINE_LENGTH,
    "text": MAX_NOTE_LENGTH,
}


def header_from(fields: Mapping[str, Any], kind: type[_Kind]) -> _Kind:
    """Read a header of one kind; raises as `entry_from` does."""
    try:
        header = msgspec.convert(fields, kind)
    except msgspec.ValidationError as error:
        raise _refused(error) from error
    for name, value in fields.items():
        _shown(name, value)
    return header


_PREV = b'"prev":"'
_HASH = re.compile(rb'[0-9a-f]{64}(?=")')
_SAME_LINES = 2048
"""Lines that are remembered: who hands in once more hands in most of them again, be it
in the journal of another session. Of an honest line it is a kilobyte."""


def read_line(line: bytes) -> tuple[JournalHeader | Entry, str]:
    """Read a line behind the first one of a hand-in.

    Returns
    -------
    content : JournalHeader or Entry
    prev : str
        What it calls the hash of the line before; empty of a header.

    Raises
    ------
    NotJsonError
        Where the line is not UTF-8 or not JSON.
    RefusedError
        Where it holds anything else than a journal's header or a step.
    """
    before, prev, after = line.partition(_PREV)
    if found := _HASH.match(after):
        return _around(before + prev, after[found.end() :]), found[0].decode()
    return _content(line)


@lru_cache(maxsize=_SAME_LINES)
def _around(before: bytes, after: bytes) -> JournalHeader | Entry:
    """Read a line by what stands around a hash."""
    # Behind a quotation mark its digits are a whole text of JSON, where they are any:
    # what is read of the line, or why it is refused, does not hang on them.
    return _content(before + b"0" * 64 + after)[0]


def _content(line: bytes) -> tuple[JournalHeader | Entry, str]:
    fields, is_plain = fields_from_line(line)
    match fields.get("kind"):
        case "journal":
            return header_from(fields, JournalHeader), ""
        case "hand-in":
            raise RefusedError(_("a second header of a hand-in"))
    return entry_from(fields, is_plain=is_plain), fields["prev"]


def entry_from(fields: Mapping[str, Any], *, is_plain: bool = False) -> Entry:
    """Read what a line says of a step.

    Parameters
    ----------
    fields : mapping
        As `fields_from_line` gives them.
    is_plain : bool
        Whether every text in them is known to be short, and to show.

    Returns
    -------
    Entry
        Hidden characters in what a student typed are written out.

    Raises
    ------
    RefusedError
        Where it holds anything else than such a line may hold.
    """
    try:
        form = form_of_line(fields)
        entry = msgspec.convert(fields, form)
    except (ValueError, msgspec.ValidationError) as error:
        raise _refused(error) from error
    # The records of entries are the workbook's, which imports nothing compiled and so
    # has no bounds for msgspec to check.
    for name in ("exercise", "seq"):
        if fields[name] < 0:
            raise RefusedError(_("“{name}” must be 0 or more").format(name=name))
    if is_plain:
        return entry
    shown = {name: _shown(name, value) for name, value in fields.items()}
    return msgspec.convert(shown, form)


def _refused(error: Exception) -> RefusedError:
    return RefusedError(visible(in_words(error)))


def _shown(name: str, value: object) -> object:
    """Return a text as it can be shown; refuse what is too long, and ids that hide."""
    if isinstance(value, list):
        if not 1 <= len(value) <= MAX_ANSWER_ITEMS:
            many = _("“{name}” must have 1 to {most} entries").format(
                name=name, most=MAX_ANSWER_ITEMS
            )
            raise RefusedError(many)
        return [_shown(name, each) for each in value]
    if not isinstance(value, str):
        return value
    most = _TYPED.get(name, MAX_ID_LENGTH)
    if len(value) > most:
        raise RefusedError(
            _("“{name}” must have {most} characters or less").format(
                name=name, most=most
            )
        )
    if name in _TYPED:
        return "\n".join(visible(line, limit=most) for line in value.split("\n"))
    if not value:
        raise RefusedError(_("“{name}” is empty").format(name=name))
    if has_hidden_characters(value):
        raise RefusedError(
            _("“{name}” holds control or hidden characters").format(name=name)
        )
    return value


class NotJsonError(RefusedError):
    """The line is no JSON at all, as when writing it was cut short."""


def object_from_line(line: bytes) -> dict[str, Any]:
    """Read one line as one JSON object.

    Parameters
    ----------
    line : bytes
        Of limited length: the caller sees to that.

    Raises
    ------
    NotJsonError
        Where the line is not UTF-8 or not JSON.
    RefusedError
        Where it is JSON, but too deep, ambiguous (a key twice), not finite, with too
        many digits, with a lone surrogate, or no object.

    Examples
    --------
    >>> object_from_line(b'{"seq": 1}')
    {'seq': 1}
    """
    return fields_from_line(line)[0]


def fields_from_line(line: bytes) -> tuple[dict[str, Any], bool]:
    """Read one line as `object_from_line` does, and tell whether it is plain.

    In a plain one every text is short, and all of it shows.
    """
    text = _text(line)
    plain = _plain_object(text)
    return (_looked_through(text), False) if plain is None else (plain, True)


def _text(line: bytes) -> str:
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotJsonError(_("it is not UTF-8 text")) from error


def _plain_object(text: str) -> dict[str, Any] | None:
    """Read a plain line; None where it has to be looked through."""
    if not _PLAIN.fullmatch(text):
        return None
    try:
        found: dict[str, Any] = msgspec.json.decode(text)
    except msgspec.DecodeError:
        return None
    # No text in it has a quotation mark, so that these are its keys.
    return found if len(found) == text.count('":') else None


# What most lines are: short texts of visible ASCII and short numbers, nothing nested or
# escaped. All that is left to be seen of them is whether a key comes twice.
_PLAIN = re.compile(
    r"""\{ (?: "[a-z_]+" : (?: "[ !#-\[\]-~]{1,100}" | -?\d{1,15}(?:\.\d{1,20})? )
    [,}] )+""",
    re.ASCII | re.VERBOSE,
)


def _looked_through(text: str) -> dict[str, Any]:
    """Read a line that may hold anything."""
    _check_depth(text)
    try:
        found = _DECODER.decode(text)
    except json.JSONDecodeError as error:
        raise NotJsonError(_("it is not JSON ({msg})").format(msg=error.msg)) from error
    if not isinstance(found, dict):
        raise RefusedError(_("it is not a JSON object"))
    # Text that was UTF-8 has none of its own: only an escape can have brought one.
    if "\\u" in text:
        _check_surrogates(found)
    return found


def _check_surrogates(found: dict[str, Any]) -> None:
    """Escapes can write a lone surrogate, which no text can hold."""
    try:
        json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        raise RefusedError(_("a text holds a lone surrogate")) from error


def _check_depth(text: str) -> None:
    """Scan before parsing: a parser that recurses must not see deep nesting."""
    # Nothing is nested deeper than there are brackets, inside strings or not.
    if text.count("{") + text.count("[") <= MAX_DEPTH:
        return
    depth, in_string, escaped = 0, False, False
    for each in text:
        if escaped:
            escaped = False
        elif in_string:
            escaped = each == "\\"
            in_string = each != '"'
        elif each == '"':
            in_string = True
        elif each in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                raise RefusedError(
                    _("it is nested deeper than {most} levels").format(most=MAX_DEPTH)
                )
        elif each in "]}":
            depth -= 1


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise RefusedError(_("a key comes twice in one object"))
    return found


def _constant(word: str) -> Never:
    raise RefusedError(_("{word} is not a number that can be graded").format(word=word))


def _integer(digits: str) -> int:
    if len(digits.lstrip("-")) > MAX_INTEGER_DIGITS:
        raise RefusedError(
            _("a whole number has more than {most} digits").format(
                most=MAX_INTEGER_DIGITS
            )
        )
    return int(digits)


def _number(digits: str) -> float:
    value = float(digits) if len(digits) <= MAX_NUMBER_DIGITS else math.inf
    if not math.isfinite(value):
        raise RefusedError(_("a number is too large or has too many digits"))
    return value


# Built once: building it takes longer than reading a line.
_DECODER = json.JSONDecoder(
    object_pairs_hook=_object,
    parse_constant=_constant,
    parse_int=_integer,
    parse_float=_number,
)
