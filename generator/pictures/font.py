"""The font of pictures and paper: a file a weight, and the widths of its letters.

It comes with us, so that what fits on one machine fits on every other one. What it is
cut from, and under which licence, is told beside the files.
"""

from __future__ import annotations

import json
from base64 import b64encode
from functools import cache
from pathlib import Path

FONT_FAMILY = "Clampbook Sans"
FONT_WEIGHTS = (400, 700)

_FOLDER = Path(__file__).parent / "fonts"
WIDTHS_FILE = _FOLDER / "widths.json"
"""By weight, the letters of each width, in parts of the size; made with the font."""


def font_file(weight: int) -> Path:
    """Where the font of one weight lies."""
    return _FOLDER / f"clampbook-sans-{weight}.woff2"


@cache
def font_data(weight: int) -> str:
    """Give the font of one weight as a ``data:`` address."""
    data = b64encode(font_file(weight).read_bytes()).decode("ascii")
    return f"data:font/woff2;base64,{data}"


def width_em(text: str, *, bold: bool = False) -> float:
    """Sum up how wide a text is, in parts of its size.

    A letter that the font does not have, and another one shows, takes a whole size.

    Examples
    --------
    >>> width_em("30 A"), width_em("30 A", bold=True)
    (2.05712890625, 2.1123046875)
    """
    widths = _widths()[700 if bold else 400]
    return sum(widths.get(letter, 1.0) for letter in text)


@cache
def _widths() -> dict[int, dict[str, float]]:
    tables = json.loads(WIDTHS_FILE.read_text(encoding="utf-8"))
    return {
        weight: {
            letter: float(width)
            for width, letters in tables[str(weight)].items()
            for letter in letters
        }
        for weight in FONT_WEIGHTS
    }
