"""One line of JSON from a hostile source: one object, or a refusal with its reason."""

from __future__ import annotations

import json
import math
from typing import Any, Never

from answer_keys.errors import RefusedError
from answer_keys.limits import MAX_DEPTH, MAX_INTEGER_DIGITS, MAX_NUMBER_DIGITS

__all__ = ["NotJsonError", "object_from_line"]


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
