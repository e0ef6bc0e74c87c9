"""A sheet that takes lines, shapes and text and gives one small SVG text.

Everything is drawn in black on white with short numbers, so that equal input gives
equal bytes and the picture stays readable in print and under a dark page theme.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html import escape

from generator.pictures.font import FONT_FAMILY, width_em
from workbook.texts import decimal

SHEET_WIDTH = 680
TEXT_SIZE = 17
LINE_HEIGHT = 21

# Arial and Helvetica have letters of the same width as our font.
_FONTS = f"{FONT_FAMILY}, Arial, Helvetica, Liberation Sans, sans-serif"
# A number with its unit, a word, or the part of one that ends with a hyphen.
_WORD = re.compile(r"\d+ (?:°C|V|%|bar|rpm|[1U]/min)(?!\w)|[^\s-]*-|[^\s-]+")

Point = tuple[int, int]


def text_width(text: str, *, bold: bool = False) -> float:
    """Tell how wide a label is, in units of the sheet."""
    return TEXT_SIZE * width_em(text, bold=bold)


def wrapped(text: str, width: int, *, bold: bool = False) -> tuple[str, ...]:
    """Text broken between words, or after a hyphen, into lines that fit a width.

    >>> wrapped("coolant temperature above 90 °C", 170)
    ('coolant temperature', 'above 90 °C')
    >>> wrapped("Hydrauliköl über 70 °C", 170)
    ('Hydrauliköl über', '70 °C')
    >>> wrapped("Kompressor-Kupplung", 120)
    ('Kompressor-', 'Kupplung')
    """
    lines: list[str] = []
    for word in _WORD.findall(text):
        gap = "" if lines and lines[-1].endswith("-") else " "
        longer = f"{lines[-1]}{gap}{word}" if lines else word
        if lines and text_width(longer, bold=bold) <= width:
            lines[-1] = longer
        elif text_width(word, bold=bold) <= width:
            lines.append(word)
        else:
            raise ValueError(f"{word!r} in {text!r} is too long for its place")
    return tuple(lines)


@dataclass(slots=True, kw_only=True)
class Canvas:
    """Shapes, and above them texts, as drawn; only the drawing of one holds it."""

    shapes: list[str] = field(default_factory=list)
    _texts: list[str] = field(default_factory=list)

    def line(self, *points: Point, dashed: bool = False) -> None:
        """Draw an open line through points."""
        path = "M" + " L".join(f"{x} {y}" for x, y in points)
        dashes = ' stroke-dasharray="8 6"' if dashed else ""
        self.shapes.append(f'<path d="{path}"{dashes}/>')

    def solid(self, *points: Point) -> None:
        """Draw a closed shape filled black."""
        path = "M" + " L".join(f"{x} {y}" for x, y in points)
        self.shapes.append(f'<path d="{path} Z" fill="black"/>')

    def box(
        self, left_top: Point, right_bottom: Point, *, dashed: bool = False
    ) -> None:
        """Draw a rectangle from its left top to its right bottom corner."""
        (left, top), (right, bottom) = left_top, right_bottom
        dashes = ' stroke-dasharray="8 6"' if dashed else ""
        self.shapes.append(
            f'<rect x="{left}" y="{top}" width="{right - left}" '
            f'height="{bottom - top}"{dashes}/>'
        )

    def circle(self, centre: Point, radius: int, *, fill: str = "white") -> None:
        """Draw a circle that hides what lies under it."""
        x, y = centre
        self.shapes.append(f'<circle cx="{x}" cy="{y}" r="{radius}" fill="{fill}"/>')

    def text(
        self, at: Point, *lines: str, anchor: str = "start", bold: bool = False
    ) -> None:
        """Write lines of text, the first with its baseline at a point.

        Each is made as wide as in our font: a picture that stands alone is shown in
        whatever font the machine has.
        """
        x, y = at
        style = "" if anchor == "start" else f' text-anchor="{anchor}"'
        style += ' font-weight="bold"' if bold else ""
        for row, line in enumerate(map(decimal, lines)):
            width = text_width(line, bold=bold)
            self._texts.append(
                f'<text x="{x}" y="{y + row * LINE_HEIGHT}"{style} '
                f'textLength="{width:.1f}" lengthAdjust="spacingAndGlyphs">'
                f"{escape(line, quote=False)}</text>"
            )

    def svg(self, height: int, title: str, description: str) -> str:
        """Give the whole sheet as SVG text."""
        shapes, texts = "\n".join(self.shapes), "\n".join(self._texts)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" '
            f'viewBox="0 0 {SHEET_WIDTH} {height}" '
            f'width="{SHEET_WIDTH}" height="{height}">\n'
            f"<title>{escape(title, quote=False)}</title>\n"
            f"<desc>{escape(description, quote=False)}</desc>\n"
            f'<rect width="{SHEET_WIDTH}" height="{height}" fill="white"/>\n'
            f'<g fill="none" stroke="black" stroke-width="2" stroke-linecap="round" '
            f'stroke-linejoin="round">\n{shapes}\n</g>\n'
            f'<g font-family="{_FONTS}" font-size="{TEXT_SIZE}">\n{texts}\n</g>\n'
            "</svg>\n"
        )
