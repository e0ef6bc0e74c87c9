"""Read the numbers that students type, without guessing.

A number has a decimal point or a decimal comma, may have groups of three digits set
apart by spaces, and must have a unit: ``12.5 A``, ``0,165 A``, ``12 500 mA``,
``1.2e-3 A``. Resistances may also be written ``4k7``. A sum of such numbers is worked
out: ``12.3 V / 78.3 Ω``. What could be read in two ways is handed back as `Ambiguous`;
what cannot be read raises `QuantityError`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from workbook.errors import QuantityError
from workbook.number_text import answer_text
from workbook.sums import (
    NUMBER,
    SumError,
    UnreadableSumError,
    is_sum,
    two_ways,
    worked_out,
)
from workbook.texts import _, decimal, later
from workbook.units import unit_factor

MAX_LENGTH = 80
_SMALLEST, _LARGEST = Fraction(1, 10**12), Fraction(10**12)

_PLAIN = str.maketrans(
    {
        "\u00a0": " ",  # no-break space
        "\u202f": " ",  # narrow no-break space
        "\u2009": " ",  # thin space
        "\u2007": " ",  # figure space
        "\u2212": "-",  # minus sign
        "\u2013": "-",  # en dash, which some keyboards put for a minus
        "\u03bc": "µ",  # Greek mu, for the micro sign
        "\u2126": "Ω",  # ohm sign, for the Greek omega
    }
)
_NUMBER = re.compile(rf"(?P<sign>[+-]?) ?{NUMBER} ?(?P<unit>[A-Za-zµΩ]{{0,16}})")
_RESISTOR_CODE = re.compile(r"([0-9]+)([RkM])([0-9]+) ?(?:Ω|[Oo]hms?)?")
_MEGA = Decimal(1_000_000)
_RESISTOR_FACTOR = {"R": Decimal(1), "k": Decimal(1000), "M": _MEGA}

_KINDS = {
    "A": later("“{typed}” is not a unit of current."),
    "V": later("“{typed}” is not a unit of voltage."),
    "Ω": later("“{typed}” is not a unit of resistance."),
    **dict.fromkeys(("s", "min", "d"), later("“{typed}” is not a unit of time.")),
    "rpm": later("“{typed}” is not a unit of speed."),
}
_OTHER_KIND = later("“{typed}” is not the unit that is asked for.")
_EXAMPLES = {
    "A": ("12.5 A", "350 mA"),
    "V": ("12.6 V", "16 mV"),
    "Ω": ("85 Ω", "4.7 kohm"),
    "s": ("0.8 s", "12 ms"),
    "min": ("25 min", "1.5 h"),
    "d": ("12 d", "36 h"),
    "rpm": ("2400 rpm", "850 rpm"),
}
SUMS = {"A": "12.3 V / 78.3 Ω", "V": "0.16 A * 78.3 Ω", "Ω": "12.3 V / 0.16 A"}
"""An example of a sum, by the unit that is asked for."""
_MOST = {"A": 1000.0, "V": 1000.0, "Ω": 1e6}
"""More than a battery gives when it is shorted, a coil when it is switched off, or a
meter shows before it says OL: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number that was read.

    Parameters
    ----------
    raw : str
        The text exactly as typed.
    value : float
        In `unit`, without a prefix.
    unit : str
        ``A``, ``V``, ``Ω``, ``s``, ``min``, ``d`` or ``rpm``.
    is_sum : bool
        Whether it was worked out.
    """

    raw: str
    value: float
    unit: str
    is_sum: bool = False

    @property
    def echo(self) -> str:
        """What the page answers, such as ``Read as 12.5 A``."""
        read = _("Worked out: {number}") if self.is_sum else _("Read as {number}")
        return read.format(number=decimal(answer_text(self.value, self.unit)))

    @property
    def is_doubtful(self) -> bool:
        """Whether no circuit of an exercise could ever carry that much."""
        return abs(self.value) > _MOST.get(self.unit, math.inf)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambiguous:
    """A text with two readings, such as ``1,234 A``.

    Parameters
    ----------
    raw : str
        The text exactly as typed.
    readings : tuple of str
        Texts that each can be read in one way only.
    """

    raw: str
    readings: tuple[str, ...]


def read_quantity(raw: str, unit: str) -> Quantity | Ambiguous:
    """Read a typed number with its unit.

    Parameters
    ----------
    raw : str
        The text exactly as typed.
    unit : str
        The unit that is asked for, one of those of `Quantity`.

    Returns
    -------
    Quantity or Ambiguous
        The value in `unit`, or the readings to choose from.

    Raises
    ------
    QuantityError
        With a sentence that says what was given and what to write.

    Examples
    --------
    >>> read_quantity("12,5 A", "A").echo
    'Read as 12.5 A'
    >>> read_quantity("1,234 A", "A").readings
    ('1.2340 A', '1234 A')
    >>> read_quantity("12.3 V / 78.3 Ω", "A").echo
    'Worked out: 157.1 mA'
    """
    text = _plain_text(raw, unit)
    code = _RESISTOR_CODE.fullmatch(text)
    if code:
        return _resistor_code(code, raw=raw, unit=unit)
    match = _NUMBER.fullmatch(text)
    if match is None and is_sum(text):
        return _sum(text, raw=raw, unit=unit)
    if match is None or not (match["whole"] or match["fraction"]):
        raise _unreadable(raw, text, unit)
    if not match["unit"]:
        what = _("Write the unit too.")
        raise QuantityError(f"{what} {_example(unit)}", raw=raw)
    factor = _factor(match["unit"], unit, raw)
    if two_ways(match):
        return Ambiguous(raw=raw, readings=_two_readings(match))
    # A capital M is soon typed for milli, and megaamperes there are none.
    if unit in _MOST and factor == _MEGA and match["unit"].startswith("M"):
        return Ambiguous(raw=raw, readings=_milli_or_mega(match, unit))
    return _quantity(_decimal(match) * factor, raw=raw, unit=unit)


def _plain_text(raw: str, unit: str) -> str:
    """Strip, with one plain character for each kind of space, minus, micro and ohm."""
    if len(raw) > MAX_LENGTH:
        long = _("That is {count} characters long; a number has at most {most}.")
        raise QuantityError(long.format(count=len(raw), most=MAX_LENGTH), raw=raw)
    text = raw.translate(_PLAIN).strip()
    if not text:
        what = _("Write a number with its unit.")
        raise QuantityError(f"{what} {_example(unit)}", raw=raw)
    return text


def _resistor_code(code: re.Match[str], *, raw: str, unit: str) -> Quantity:
    """Read ``4k7`` where a resistance is asked for."""
    if unit != "Ω":
        code_text = _(
            "“{typed}” is a way to write resistances, which are not asked for."
        )
        why = code_text.format(typed=raw.strip())
        raise QuantityError(f"{why} {_example(unit)}", raw=raw)
    number = Decimal(f"{code[1]}.{code[3]}")
    return _quantity(number * _RESISTOR_FACTOR[code[2]], raw=raw, unit=unit)


def _decimal(match: re.Match[str]) -> Decimal:
    """Return the number that the grammar has accepted."""
    whole = match["whole"].replace(" ", "") or "0"
    text = f"{match['sign']}{whole}.{match['fraction'] or '0'}"
    return Decimal(f"{text}e{match['exponent'] or 0}")


def _quantity(
    value: Decimal | Fraction, *, raw: str, unit: str, is_sum: bool = False
) -> Quantity:
    """Check the size and build the result."""
    value = Fraction(value)
    if value != 0 and not _SMALLEST <= abs(value) <= _LARGEST:
        why = _(
            "“{typed}” is far outside what can be measured; check the power of ten and "
            "the unit."
        )
        raise QuantityError(why.format(typed=raw.strip()), raw=raw)
    # Exact up to here: 350 mA, 0.35 A and 0.175 A + 175 mA give the same float.
    return Quantity(raw=raw, value=float(value), unit=unit, is_sum=is_sum)


def _two_readings(match: re.Match[str]) -> tuple[str, str]:
    """Write both readings so that neither is ambiguous again."""
    sign, whole, fraction = match["sign"], match["whole"], match["fraction"]
    unit = match["unit"]
    # A fourth digit, because three behind a mark could be thousands once more.
    broken = decimal(f"{sign}{whole}.{fraction}0 {unit}")
    return broken, f"{sign}{whole}{fraction} {unit}"


def _milli_or_mega(match: re.Match[str], unit: str) -> tuple[str, str]:
    """Write what a capital M was meant for, and what it means."""
    number = match[0].removesuffix(match["unit"]).strip()
    mega = f"{_decimal(match).scaleb(6).normalize():f}"
    return f"{number} m{unit}", f"{mega} {unit}"


def _sum(text: str, *, raw: str, unit: str) -> Quantity:
    """Work a sum out."""
    try:
        value = worked_out(text, unit)
    except UnreadableSumError as error:
        why = _("“{typed}” cannot be read as a number with a unit.")
        why = f"{why.format(typed=raw.strip())} {_sum_example(unit)}"
        raise QuantityError(why, raw=raw) from error
    except SumError as error:
        raise QuantityError(f"{error} {_sum_example(unit)}", raw=raw) from error
    return _quantity(value, raw=raw, unit=unit, is_sum=True)


def _unreadable(raw: str, text: str, unit: str) -> QuantityError:
    """Say what in the text cannot be read."""
    if len(re.findall("[.,]", text)) > 1:
        why = _(
            "“{typed}” has more than one point or comma. Write one decimal mark and no "
            "marks between thousands."
        )
    elif re.search("[0-9] [0-9]", text):
        why = _("In “{typed}” the spaces do not set apart groups of three digits.")
    else:
        why = _("“{typed}” cannot be read as a number with a unit.")
    why = f"{why.format(typed=raw.strip())} {_example(unit)}"
    return QuantityError(why, raw=raw)


def _factor(typed: str, unit: str, raw: str) -> Decimal:
    """Return how many of `unit` one of the typed unit is."""
    factor = unit_factor(typed, unit)
    if factor is None:
        why = _(_KINDS.get(unit, _OTHER_KIND)).format(typed=typed)
        case = _("Capital and small letters count.")
        raise QuantityError(f"{why} {_example(unit)} {case}", raw=raw)
    return factor


def _example(unit: str) -> str:
    one, other = _EXAMPLES.get(unit, (f"12.5 {unit}", f"350 {unit}"))
    text = _("Write for example {one} or {other}.")
    return text.format(one=decimal(one), other=decimal(other))


def _sum_example(unit: str) -> str:
    if unit not in SUMS:
        return _example(unit)
    text = _("Write for example {one}.")
    return text.format(one=decimal(SUMS[unit]))
