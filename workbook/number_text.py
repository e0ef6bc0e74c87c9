"""Write numbers with their units as a technician does."""

from __future__ import annotations

from decimal import Decimal

_WHOLE = ("min", "d", "rpm")
"""Units that take no prefix."""
_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
_TYPED_DIGITS, _SUM_DIGITS = 12, 4


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


def answer_text(value: float, unit: str) -> str:
    """Write a value as typed, or the first digits of one that was worked out.

    Examples
    --------
    >>> answer_text(0.165, "A"), answer_text(12.3 / 78.3, "A")
    ('165 mA', '157.1 mA')
    """
    is_typed = float(f"{value:.{_TYPED_DIGITS}g}") == value
    return quantity_text(value, unit, None if is_typed else _SUM_DIGITS)
