"""The lines of a hand-in as strict data: one JSON object each, one entry each."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Annotated, Any, Literal, Never, cast

import msgspec
from msgspec import Meta, Struct, structs

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.limits import (
    LARGEST,
    MAX_ANSWER_ITEMS,
    MAX_DEPTH,
    MAX_ID_LENGTH,
    MAX_INTEGER,
    MAX_INTEGER_DIGITS,
    MAX_NUMBER_DIGITS,
    MAX_RAW_LENGTH,
    SMALLEST,
)
from answer_keys.visible_text import has_hidden_signs, visible
from workbook.record.progress import HINT_COSTS, MAX_LINE_LENGTH

Name = Annotated[str, Meta(min_length=1, max_length=MAX_ID_LENGTH)]
Raw = Annotated[str, Meta(max_length=MAX_RAW_LENGTH)]
Time = Annotated[datetime, Meta(tz=True)]
Line = Annotated[str, Meta(max_length=MAX_LINE_LENGTH)]
Whole = Annotated[int, Meta(ge=0, le=MAX_INTEGER)]
Items = Annotated[tuple[Name, ...], Meta(min_length=1, max_length=MAX_ANSWER_ITEMS)]
Lines = Annotated[tuple[Line, ...], Meta(min_length=1, max_length=MAX_ANSWER_ITEMS)]


class _Strict(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"
):
    """A line that says what kind it is."""

    @property
    def kind(self) -> str:
        """What the line is of."""
        return str(self.__struct_config__.tag)


class _Header(_Strict, frozen=True, kw_only=True):
    """Whose work of which class set follows."""

    format: Literal[1]
    set_id: Name
    student: Name
    edition: Whole
    software: Name


class HandInHeader(_Header, frozen=True, kw_only=True, tag="hand-in"):
    """First line of a hand-in."""

    mode: Literal["practice", "graded"]


class JournalHeader(_Header, frozen=True, kw_only=True, tag="journal"):
    """First line of a journal in a hand-in."""

    session: Name


class _Recorded(_Strict, frozen=True, kw_only=True):
    seq: Whole
    time: Time
    exercise: Whole
    item: Name
    prev: Name


class Answered(_Recorded, frozen=True, kw_only=True):
    """A number that was written down."""

    raw: Raw
    value: float
    unit: Name

    def __post_init__(self) -> None:
        _check_size(self.value)


def _check_size(value: float) -> None:
    if value and not SMALLEST <= abs(value) <= LARGEST:
        raise ValueError("the value is far outside what can be measured")


class Predicted(Answered, frozen=True, kw_only=True, tag="prediction"):
    """A number that was predicted before the first test."""


class Verified(Answered, frozen=True, kw_only=True, tag="verification"):
    """A number that was predicted for after the repair."""


class Chosen(_Recorded, frozen=True, kw_only=True, tag="test"):
    """A test that was chosen, with the outcome of a sound circuit."""

    expected: Name


class Finding(_Recorded, frozen=True, kw_only=True, tag="finding"):
    """The outcome that a reading was taken for, and what it was said to prove."""

    outcome: Name
    statement: Name


class Concluded(_Recorded, frozen=True, kw_only=True, tag="conclusion"):
    """The cause and the correction that were concluded."""

    cause: Name
    correction: Name


class Hinted(_Recorded, frozen=True, kw_only=True, tag="hint"):
    """A hint that was taken for the next choice; practice sets only."""

    item: Literal["choice"]
    step: Annotated[int, Meta(ge=1, le=len(HINT_COSTS))]


_FORMS = ({"raw", "value", "unit"}, {"choice"}, {"order"}, {"lines"})


class Replied(_Recorded, frozen=True, kw_only=True, omit_defaults=True, tag="answer"):
    """An answer to a question: a number, a choice, an order or lines of text."""

    raw: Raw | None = None
    value: float | None = None
    unit: Name | None = None
    choice: Name | None = None
    order: Items | None = None
    lines: Lines | None = None

    def __post_init__(self) -> None:
        names = ("raw", "value", "unit", "choice", "order", "lines")
        if {n for n in names if getattr(self, n) is not None} not in _FORMS:
            raise ValueError(
                "an answer holds raw, value and unit, or choice, or order, or lines"
            )
        _check_size(self.value or 0.0)


Entry = Predicted | Verified | Chosen | Finding | Concluded | Hinted | Replied
HandInLine = HandInHeader | JournalHeader | Entry

_READ: msgspec.json.Decoder[HandInLine] = msgspec.json.Decoder(HandInLine)
_WRITE = msgspec.json.Encoder(order="sorted")
_TYPED = frozenset({"raw", "lines"})
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z", re.ASCII)


def line_from(line: bytes) -> HandInLine:
    """Read one line of a hand-in.

    Parameters
    ----------
    line : bytes
        Of limited length: the caller sees to that.

    Returns
    -------
    HandInHeader, JournalHeader or Entry
        Hidden signs in what a student typed are written out.

    Raises
    ------
    NotJsonError
        Where the line is not UTF-8 or not JSON.
    RefusedError
        Where it holds anything else than such a line may hold.
    """
    return _converted(object_from_line(line))


def lines_as_written(data: bytes) -> list[HandInLine]:
    """Read a hand-in at once that holds, byte for byte, what the workbook writes.

    In any other one a key may come twice, a number have too many digits, or a sign
    hide behind an escape: its lines are looked through one by one.

    Parameters
    ----------
    data : bytes
        All lines; of limited length: the caller sees to that.

    Returns
    -------
    list of HandInLine
        As `line_from` reads them; empty where anything differs.
    """
    try:
        found = _READ.decode_lines(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return []
    is_so = _is_plain(data) and _WRITE.encode_lines(found) == data
    return found if is_so and _is_utc(found) else []


def _is_plain(data: bytes) -> bool:
    """Whether every sign in lines of JSON shows, and none is escaped."""
    if b"\\" in data:
        return False
    # JSON itself has no control characters but the last one of ASCII.
    is_ascii = data.isascii() and b"\x7f" not in data
    return is_ascii or data.decode().replace("\n", "").isprintable()


def _is_utc(lines: Iterable[HandInLine]) -> bool:
    return {one.time.tzinfo for one in lines if isinstance(one, _Recorded)} <= {UTC}


def entry_from(fields: Mapping[str, Any]) -> Entry:
    """Build an entry from its fields; raises `RefusedError` as `line_from` does."""
    return cast("Entry", _converted(fields))


def _converted(fields: Mapping[str, Any]) -> HandInLine:
    time = fields.get("time", "")
    if isinstance(time, str) and time and not _TIME.fullmatch(time):
        raise RefusedError("time: allowed is UTC, as in 2026-11-25T07:40:01.5Z")
    try:
        found: HandInLine = msgspec.convert(fields, HandInLine)
    except msgspec.ValidationError as error:
        problem, _, where = str(error).partition(" - at `$.")
        told = f"{where.removesuffix('`')}: {problem}" if where else problem
        raise RefusedError(visible(told)) from error
    hidden = {name for name, value in fields.items() if _hides(value)}
    if wrong := sorted(hidden - _TYPED):
        raise RefusedError(
            f"{visible(wrong[0], 40)}: holds control or hidden characters"
        )
    return structs.replace(found, **{name: _shown(fields[name]) for name in hidden})


def _hides(value: str | Sequence[str] | float | None) -> bool:
    if isinstance(value, str):
        return has_hidden_signs(value)
    return isinstance(value, list) and any(map(_hides, value))


def _shown(value: str | Sequence[str]) -> str | tuple[str, ...]:
    if isinstance(value, str):
        return visible(value)
    return tuple(visible(line, limit=MAX_LINE_LENGTH) for line in value)


class NotJsonError(RefusedError):
    """The line is no JSON at all, as when writing it was cut short."""


def object_from_line(line: bytes) -> dict[str, Any]:
    """Read one line as one JSON object.

    Parameters
    ----------
    line : bytes
        Of limited length: the caller sees to that.

    Returns
    -------
    dict

    Raises
    ------
    NotJsonError
        Where the line is not UTF-8 or not JSON.
    RefusedError
        Where it is JSON, but too deep, ambiguous (a key twice), not finite, with too
        many digits, with half of a sign, or no object.

    Examples
    --------
    >>> object_from_line(b'{"seq": 1}')
    {'seq': 1}
    """
    try:
        text = line.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotJsonError("it is not UTF-8 text") from error
    _check_depth(text)
    try:
        found = _DECODER.decode(text)
    except json.JSONDecodeError as error:
        raise NotJsonError(f"it is not JSON ({error.msg})") from error
    if not isinstance(found, dict):
        raise RefusedError("it is not a JSON object")
    if "\\u" in text:
        _check_signs(found)
    return found


def _check_signs(found: dict[str, Any]) -> None:
    """Escapes can write half of a sign, which no text can hold."""
    try:
        json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        raise RefusedError("a text holds half of a sign") from error


def _check_depth(text: str) -> None:
    """Scan before parsing: a parser that recurses must not see deep nesting."""
    # Nothing is nested deeper than there are brackets, inside strings or not.
    if text.count("{") + text.count("[") <= MAX_DEPTH:
        return
    depth, in_string, escaped = 0, False, False
    for sign in text:
        if escaped:
            escaped = False
        elif in_string:
            escaped = sign == "\\"
            in_string = sign != '"'
        elif sign == '"':
            in_string = True
        elif sign in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                raise RefusedError(f"it is nested deeper than {MAX_DEPTH} levels")
        elif sign in "]}":
            depth -= 1


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise RefusedError("a key comes twice in one object")
    return found


def _constant(word: str) -> Never:
    raise RefusedError(f"{word} is not a number that can be graded")


def _integer(digits: str) -> int:
    if len(digits.lstrip("-")) > MAX_INTEGER_DIGITS:
        raise RefusedError(f"a whole number has more than {MAX_INTEGER_DIGITS} digits")
    return int(digits)


def _number(digits: str) -> float:
    value = float(digits) if len(digits) <= MAX_NUMBER_DIGITS else math.inf
    if not math.isfinite(value):
        raise RefusedError("a number is too large or has too many digits")
    return value


# Built once: building it takes longer than reading a line.
_DECODER = json.JSONDecoder(
    object_pairs_hook=_object,
    parse_constant=_constant,
    parse_int=_integer,
    parse_float=_number,
)
