"""Quantities in the texts that students read."""

from __future__ import annotations

from typing import Any

from workbook.number_text import quantity_text
from workbook.texts import decimal, has_own_mark


def short_text(value: float, unit: str) -> str:
    """Write a quantity with three significant digits and a prefix.

    Examples
    --------
    >>> short_text(0.16472, "A"), short_text(14.083, "V")
    ('165 mA', '14.1 V')
    """
    return quantity_text(value, unit, digits=3)


def with_marks(record: Any) -> Any:  # noqa: ANN401 - JSON values
    """Write the numbers of all texts with the decimal mark of the language.

    Examples
    --------
    >>> with_marks({"help": "1.5 A", "svg": "M 1.5 2"})
    {'help': '1.5 A', 'svg': 'M 1.5 2'}
    """
    if not has_own_mark():
        return record
    if isinstance(record, str):
        return decimal(record)
    if isinstance(record, dict):
        # Numbers of a picture are no text.
        return {k: v if k == "svg" else with_marks(v) for k, v in record.items()}
    if isinstance(record, list | tuple):
        return type(record)(with_marks(each) for each in record)
    return record
