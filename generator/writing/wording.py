"""Quantities in the texts that students read."""

from __future__ import annotations

from workbook.quantities import quantity_text

__all__ = ["short_text"]


def short_text(value: float, unit: str) -> str:
    """Write a quantity with three significant digits and a prefix.

    Examples
    --------
    >>> short_text(0.16472, "A"), short_text(14.083, "V")
    ('165 mA', '14.1 V')
    """
    return quantity_text(float(f"{value:.3g}"), unit)
