"""Numbers and short lists as a student reads them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from string import ascii_letters, ascii_lowercase

from answer_keys.keys.key_record import Band
from workbook.number_text import quantity_text
from workbook.record.progress import Answer
from workbook.texts import _, decimal

_UNITS = f"{ascii_letters}µΩ"
_MANY_MINUTES = 99.95  # from here on a tenth is lost on a reader


@lru_cache(maxsize=4096)  # a class reads and writes the same values again and again
def value_text(value: float, unit: str) -> str:
    """Write a value to four digits.

    Examples
    --------
    >>> value_text(0.16512, "A")
    '165.1 mA'
    """
    return quantity_text(value, unit, digits=4)


def band_text(band: Band, unit: str) -> str:
    """Write a band.

    Examples
    --------
    >>> band_text((0.15, 0.18), "A")
    '150 mA to 180 mA'
    """
    low, high = (decimal(value_text(each, unit)) for each in band)
    return low if low == high else _("{low} to {high}").format(low=low, high=high)


def answer_text(answer: Answer) -> str:
    """Quote what was typed, with how it was read where that looks different."""
    read = value_text(answer.value, answer.unit)
    quoted = _("“{text}”").format(text=answer.raw.strip())
    # By spaces and closing zeros at most.
    if _plain(answer.raw.replace(",", ".")) == _plain(read):
        return quoted
    told = _("{quoted} (read as {read})")
    return told.format(quoted=quoted, read=decimal(read))


def _plain(text: str) -> str:
    """Leave out spaces, and zeros that close a number after its point."""
    text = "".join(text.split())
    number = text.rstrip(_UNITS)
    unit = text[len(number) :]
    return (number.rstrip("0").rstrip(".") if "." in number else number) + unit


def minutes_text(minutes: float) -> str:
    """Write minutes to a tenth, or from 100 on to whole ones.

    Examples
    --------
    >>> minutes_text(8.0), minutes_text(4.25), minutes_text(844.7)
    ('8 min', '4.2 min', '845 min')
    """
    digits = 1 if minutes < _MANY_MINUTES else 0
    return decimal(f"{minutes:.{digits}f}".removesuffix(".0")) + " min"


def letter_of(number: int) -> str:
    """Letter of an option on paper, by its place from 1.

    Examples
    --------
    >>> letter_of(1), letter_of(4)
    ('a', 'd')
    """
    return ascii_lowercase[number - 1]


def listed(words: Sequence[str], limit: int = 3) -> str:
    """List a few and count the rest.

    Examples
    --------
    >>> listed(["a", "b", "c", "d", "e"])
    '“a”, “b”, “c” and 2 more'
    """
    quoted = [_("“{text}”").format(text=word) for word in words]
    if len(quoted) > limit:
        told = _("{some} and {count} more")
        return told.format(some=", ".join(quoted[:limit]), count=len(quoted) - limit)
    return _(" and ").join(", ".join(quoted).rsplit(", ", 1))
