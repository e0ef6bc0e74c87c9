"""Numbers that stay with their units at the end of a line."""

from __future__ import annotations

import re

_UNITS = (
    r"%|°C|[mkMG]?Ω|[µm]?[VAWFHs]|mV/A|A/s|[cmk]?m|mm²|min|kHz|Hz|Nm|bar|rpm|[1U]/min"
    r"|minutes?|Minuten?"
)
_BEFORE_UNIT = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w/²]))")
_AFTER_SIGN = re.compile(r"(?<=[±≤≥]) (?=\d)")


def keep_units(text: str) -> str:
    """Exchange the blank between a number and its unit for a no-break space.

    Parameters
    ----------
    text : str
        Plain text, Markdown or HTML.

    Returns
    -------
    str
        The same in all other characters. That a blank belongs there is section
        5.4.3 of the SI Brochure, 9th edition (from memory).

    Examples
    --------
    >>> keep_units("Zero on 10 mV/A, ± 5 %").replace(chr(0xA0), "_")
    'Zero on 10_mV/A, ±_5_%'
    """
    return _AFTER_SIGN.sub("\u00a0", _BEFORE_UNIT.sub("\u00a0", text))
