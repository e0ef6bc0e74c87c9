"""Sums with units that a student types, worked out exactly: ``12.3 V / 78.3 Ω``.

::

    sum    = term { ("+" | "-") term }
    term   = factor { ("*" | "/") factor | "/" unit }
    factor = { "-" } ( number [ unit ] | "(" sum ")" )

Each number has its unit, or the one at the end is that of the whole: ``14.1/80 A``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workbook.texts import _
from workbook.units import unit_factor

NUMBER = (
    r"(?P<whole>[0-9]{1,3}(?: [0-9]{3})+(?![0-9])|[0-9]*)"
    r"(?:(?P<mark>[.,])(?P<fraction>[0-9]*))?"
    r"(?:[eE](?P<exponent>[+-]?[0-9]{1,2}))?"
)
"""A number without its sign, as a regular expression."""
MAX_DEPTH = 4
"""Brackets within brackets."""

_TOKEN = re.compile(
    rf" *(?:(?P<sign>[-+*/()])|(?P<number>(?=[0-9.,]){NUMBER})"
    r"|(?P<unit>[A-Za-zµΩ]{1,16}))"
)
_SIGNS = str.maketrans({"·": "*", "×": "*", "÷": "/", ":": "/"})
# Exponents of ampere, volt, second and turning; ohm is volt by ampere.
_Kind = tuple[int, int, int, int]
_BARE: _Kind = (0, 0, 0, 0)
_KINDS: dict[str, _Kind] = {
    "A": (1, 0, 0, 0),
    "V": (0, 1, 0, 0),
    "Ω": (-1, 1, 0, 0),
    "s": (0, 0, 1, 0),
    "rpm": (0, 0, 0, 1),
}


class SumError(ValueError):
    """A sum that cannot be worked out; says why, in a sentence for the student."""


@dataclass(frozen=True, slots=True)
class _Token:
    sort: str
    text: str
    value: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class _Worked:
    """A value in base units, and what it is of."""

    value: Fraction
    kind: _Kind

    def times(self, other: _Worked, power: int) -> _Worked:
        kind = tuple(a + power * b for a, b in zip(self.kind, other.kind, strict=True))
        return _Worked(self.value * other.value**power, kind)  # type: ignore[arg-type]  # as long


def is_sum(text: str) -> bool:
    """Tell whether a text is more than one number: a sign stands inside it."""
    return bool(re.search(r"[0-9].*[-+*/:·×÷]|\(", text))


def two_ways(number: re.Match[str]) -> bool:
    """Three digits after the only mark, where they could be thousands."""
    return (
        number["mark"] is not None
        and len(number["fraction"]) == 3
        and not number["exponent"]
        and re.fullmatch(r"[1-9][0-9]{0,2}", number["whole"]) is not None
    )


def worked_out(text: str, unit: str) -> Fraction:
    """Work out a sum.

    Parameters
    ----------
    text : str
        With plain spaces and signs.
    unit : str
        The unit asked for.

    Returns
    -------
    fractions.Fraction
        In that unit.

    Raises
    ------
    SumError

    Examples
    --------
    >>> worked_out("14.1 / 80 A", "A"), worked_out("100 mV/A * 163 mA", "V")
    (Fraction(141, 800), Fraction(163, 10000))
    """
    tokens = _tokens(text.translate(_SIGNS))
    units = [token for token in tokens if token.sort == "unit"]
    if not units:
        raise SumError(_("Write the unit too."))
    last = unit_factor(units[0].text, unit) if tokens[-1:] == units else None
    if last is not None:
        if any(token.text == "-" for token in tokens[1:]):
            # “142 - 183 mA” says a range, where each number alone has no unit.
            raise SumError(_("Write one number, or each number with its unit."))
        return _Reader(tokens[:-1]).whole().value * Fraction(last)
    found = _Reader(tokens).whole()
    base = next(base for base in _KINDS if unit_factor(unit, base) is not None)
    if found.kind != _KINDS[base]:
        raise SumError(_wrong_kind(found.kind, unit))
    return found.value / Fraction(unit_factor(unit, base) or 1)


def _wrong_kind(kind: _Kind, unit: str) -> str:
    is_mixed = kind not in _KINDS.values()
    text = (
        _("This sum does not come out in {unit}; write each number with its unit.")
        if is_mixed
        else _("This sum comes out in {found}, and {unit} is asked for.")
    )
    found = next((base for base, own in _KINDS.items() if own == kind), "")
    return text.format(found=found, unit=unit)


def _tokens(text: str) -> list[_Token]:
    tokens, place, text = list[_Token](), 0, text.rstrip()
    while place < len(text):
        found = _TOKEN.match(text, place)
        if found is None or found.end() == place:
            raise SumError(_unread(text))
        tokens.append(_token(found))
        place = found.end()
    return tokens


def _token(found: re.Match[str]) -> _Token:
    if found["number"] is None:
        sort = "unit" if found["unit"] else "sign"
        return _Token(sort, found["unit"] or found["sign"])
    typed = found["number"]
    if not (found["whole"] or found["fraction"]):
        raise SumError(_unread(typed))
    if two_ways(found):
        text = _("“{typed}” can be read in two ways: write {one} or {other}.")
        one, other = f"{typed}0", typed.replace(found["mark"], "")
        raise SumError(text.format(typed=typed, one=one, other=other))
    whole = found["whole"].replace(" ", "") or "0"
    number = f"{whole}.{found['fraction'] or 0}e{found['exponent'] or 0}"
    return _Token("number", typed, Fraction(Decimal(number)))


def _unread(text: str) -> str:
    return _("“{typed}” cannot be read as a number with a unit.").format(typed=text)


class _Reader:
    """Reads tokens from left to right, each once."""

    def __init__(self, tokens: list[_Token]) -> None:
        self._tokens = tokens
        self._place = 0
        self._depth = 0

    def whole(self) -> _Worked:
        found = self._sum()
        if self._place < len(self._tokens):
            raise self._stuck()
        return found

    def _next(self, *wanted: str) -> str:
        """Take the next token if it is one of these signs."""
        if self._place < len(self._tokens):
            token = self._tokens[self._place]
            if token.sort == "sign" and token.text in wanted:
                self._place += 1
                return token.text
        return ""

    def _taken(self, sort: str) -> _Token | None:
        if self._place < len(self._tokens):
            token = self._tokens[self._place]
            if token.sort == sort:
                self._place += 1
                return token
        return None

    def _sum(self) -> _Worked:
        found = self._term()
        while sign := self._next("+", "-"):
            other = self._term()
            if other.kind != found.kind:
                raise SumError(_("Only numbers of one unit can be added."))
            more = other.value if sign == "+" else -other.value
            found = _Worked(found.value + more, found.kind)
        return found

    def _term(self) -> _Worked:
        found = self._factor()
        while sign := self._next("*", "/"):
            unit = self._taken("unit") if sign == "/" else None
            other = self._factor() if unit is None else _one(unit.text)
            if sign == "/" and other.value == 0:
                raise SumError(_("Nothing can be divided by zero."))
            found = found.times(other, 1 if sign == "*" else -1)
        return found

    def _factor(self) -> _Worked:
        if self._next("-"):
            found = self._factor()
            return _Worked(-found.value, found.kind)
        if self._next("("):
            return self._bracket()
        number = self._taken("number")
        if number is None:
            raise self._stuck()
        unit = self._taken("unit")
        one = _Worked(Fraction(1), _BARE) if unit is None else _one(unit.text)
        return _Worked(number.value * one.value, one.kind)

    def _bracket(self) -> _Worked:
        self._depth += 1
        if self._depth > MAX_DEPTH:
            raise SumError(_("There are too many brackets within brackets."))
        found = self._sum()
        if not self._next(")"):
            raise self._stuck()
        self._depth -= 1
        return found

    def _stuck(self) -> SumError:
        if self._place == len(self._tokens):
            return SumError(_("This sum is not complete."))
        token = self._tokens[self._place]
        text = _("“{typed}” does not fit where it stands.")
        return SumError(text.format(typed=token.text))


def _one(unit: str) -> _Worked:
    for base, kind in _KINDS.items():
        factor = unit_factor(unit, base)
        if factor is not None:
            return _Worked(Fraction(factor), kind)
    text = _("“{typed}” is no unit that is known here.")
    raise SumError(text.format(typed=unit))
