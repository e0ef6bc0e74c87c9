"""Read the numbers that students type, without guessing.

A number has a decimal point or a decimal comma, may have groups of three digits set
apart by spaces, and must have a unit: ``12.5 A``, ``0,165 A``, ``12 500 mA``,
``1.2e-3 A``. Resistances may also be written ``4k7``. What could be read in two ways
is handed back as `Ambiguous`; what cannot be read raises `QuantityError`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache
from typing import Any

from workbook.errors import QuantityError
from workbook.texts import _, decimal, later

MAX_LENGTH = 40
_SMALLEST, _LARGEST = Decimal("1e-12"), Decimal("1e12")

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
_NUMBER = re.compile(
    r"(?P<sign>[+-]?) ?"
    r"(?P<whole>[0-9]{1,3}(?: [0-9]{3})+|[0-9]*)"
    r"(?:(?P<mark>[.,])(?P<fraction>[0-9]*))?"
    r"(?:[eE](?P<exponent>[+-]?[0-9]{1,2}))?"
    r" ?(?P<unit>[A-Za-zµΩ]{0,16})"
)
_RESISTOR_CODE = re.compile(r"([0-9]+)([RkM])([0-9]+) ?(?:Ω|[Oo]hms?)?")
_RESISTOR_FACTOR = {"R": Decimal(1), "k": Decimal(1000), "M": Decimal(1_000_000)}
_UNIT_WORD = re.compile(r"(?i)(ohm|volt|amp(?:ere)?)s?$")

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
_WHOLE = ("min", "d", "rpm")
"""Units that take no prefix."""
# What pint is told, as its own list has it: the whole of that takes as long to read as
# pint itself. SI Brochure, 9th edition, table 7 (from memory): the prefixes.
_DEFINITIONS = """
ampere = [current] = A = amp
volt = [voltage] = V
ohm = [resistance] = Ω
second = [time] = s = sec
minute = 60 * second = min
hour = 3600 * second = h
day = 86400 * second = d = days = Tag = Tage
rpm = [turning] = rpm = Upm
femto- = 1e-15 = f-
pico- = 1e-12 = p-
nano- = 1e-9 = n-
micro- = 1e-6 = µ- = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
deca- = 1e1 = da-
hecto- = 1e2 = h-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
tera- = 1e12 = T-
"""
_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}


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
    """

    raw: str
    value: float
    unit: str

    @property
    def echo(self) -> str:
        """What the page answers, such as ``Read as 12.5 A``."""
        read = _("Read as {number}")
        return read.format(number=decimal(quantity_text(self.value, self.unit)))


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
    """
    text = _plain_text(raw, unit)
    code = _RESISTOR_CODE.fullmatch(text)
    if code:
        return _resistor_code(code, raw=raw, unit=unit)
    match = _NUMBER.fullmatch(text)
    if match is None or not (match["whole"] or match["fraction"]):
        raise _unreadable(raw, text, unit)
    if not match["unit"]:
        what = _("Write the unit too.")
        raise QuantityError(f"{what} {_example(unit)}", raw=raw)
    factor = _factor(match["unit"], unit, raw)
    if _is_ambiguous(match):
        return Ambiguous(raw=raw, readings=_two_readings(match))
    return _quantity(_decimal(match) * factor, raw=raw, unit=unit)


def quantity_text(value: float, unit: str, digits: int | None = None) -> str:
    """Write a value with the SI prefix that leaves 1 to 999 before the point.

    Parameters
    ----------
    digits : int, optional
        Significant ones that it is rounded to; all that it has otherwise.

    Examples
    --------
    >>> quantity_text(0.165, "A"), quantity_text(4700.0, "Ω"), quantity_text(0.0, "V")
    ('165 mA', '4.7 kΩ', '0 V')
    >>> quantity_text(14.083, "V", digits=3), quantity_text(2412.0, "rpm", digits=3)
    ('14.1 V', '2410 rpm')
    """
    rounded = value if digits is None else float(f"{value:.{digits}g}")
    exact = Decimal(repr(rounded))
    if exact == 0:
        return f"0 {unit}"
    power = 0
    if unit not in _WHOLE:
        power = min(9, max(-12, exact.adjusted() // 3 * 3))
    number = f"{exact.scaleb(-power).normalize():f}"
    return f"{number} {_PREFIXES[power]}{unit}"


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


def _quantity(value: Decimal, *, raw: str, unit: str) -> Quantity:
    """Check the size and build the result."""
    if value != 0 and not _SMALLEST <= abs(value) <= _LARGEST:
        why = _(
            "“{typed}” is far outside what can be measured; check the power of ten and "
            "the unit."
        )
        raise QuantityError(why.format(typed=raw.strip()), raw=raw)
    return Quantity(raw=raw, value=float(value), unit=unit)


def _is_ambiguous(match: re.Match[str]) -> bool:
    """Three digits after the only mark, where they could be thousands."""
    return (
        match["mark"] is not None
        and len(match["fraction"]) == 3
        and not match["exponent"]
        and re.fullmatch(r"[1-9][0-9]{0,2}", match["whole"]) is not None
    )


def _two_readings(match: re.Match[str]) -> tuple[str, str]:
    """Write both readings so that neither is ambiguous again."""
    sign, whole, fraction = match["sign"], match["whole"], match["fraction"]
    unit = match["unit"]
    broken = decimal(f"{sign}{whole}.{fraction}0 {unit}")
    return broken, f"{sign}{whole}{fraction} {unit}"


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
    factor = _factor_by_pint(typed, unit)
    if factor is None:
        why = _(_KINDS.get(unit, _OTHER_KIND)).format(typed=typed)
        case = _("Capital and small letters count.")
        raise QuantityError(f"{why} {_example(unit)} {case}", raw=raw)
    return factor


@lru_cache(maxsize=256)  # what is typed has no end
def _factor_by_pint(typed: str, unit: str) -> Decimal | None:
    """Convert by pint; None when the unit is unknown or of another kind."""
    registry = _registry()
    name = _UNIT_WORD.sub(lambda word: word[1].lower(), typed.replace("Ω", "ohm"))
    try:
        one = registry.Quantity(1.0, registry.parse_units(name))
        magnitude = one.to(unit.replace("Ω", "ohm")).magnitude
    except (AttributeError, ValueError, _registry_error()):
        # pint takes "NaN" for a number and says so by a ValueError.
        return None
    # repr() keeps 0.001 exact in decimal, so that 350 mA is 0.35 A to the last bit.
    return Decimal(repr(float(magnitude)))


def load_units() -> None:
    """Get ready to read numbers, so that the first one does not have to wait."""
    _registry()


@cache
def _registry() -> Any:  # noqa: ANN401 - pint is imported late, types and all
    """Import pint when the page is there, or else at the first number."""
    import pint

    registry: Any = pint.UnitRegistry(None)
    registry.load_definitions(_DEFINITIONS.splitlines())
    return registry


def _registry_error() -> type[Exception]:
    """Return the base class of what pint raises."""
    import pint

    return pint.PintError


def _example(unit: str) -> str:
    one, other = _EXAMPLES.get(unit, (f"12.5 {unit}", f"350 {unit}"))
    text = _("Write for example {one} or {other}.")
    return text.format(one=decimal(one), other=decimal(other))
