"""Make the font of pictures and paper again: python -m tests.fonts FOLDER.

The folder has LiberationSans-Regular.ttf and LiberationSans-Bold.ttf of release 2.1.5
(Debian's package fonts-liberation2). Their licence lets a changed font bear no name of
theirs. Kerning is left out, so that a text is as wide as its letters together.
"""

import json
import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

from generator.pictures.font import FONT_FAMILY, FONT_WEIGHTS, WIDTHS_FILE, font_file

STYLES = {400: "Regular", 700: "Bold"}
# Latin-1 and Latin Extended-A, in which all of Europe that writes Latin letters has its
# names, and signs of the trade.
LETTERS = "".join(map(chr, (*range(0x20, 0x7F), *range(0xA0, 0x180)))) + (
    "ΔΣΩμ–—‘’‚“”„†•…′″€→←↑↓∆√∞≈≠≤≥−□◊●○"
)
COPYRIGHT, LICENCE, LICENCE_ADDRESS = 0, 13, 14


def main(folder):
    """Write a file a weight, and the table of widths."""
    for weight in FONT_WEIGHTS:
        style = STYLES[weight]
        font = TTFont(folder / f"LiberationSans-{style}.ttf", recalcTimestamp=False)
        _cut(font)
        _name(font, style)
        font.flavor = "woff2"
        font.save(font_file(weight))
    text = json.dumps(_tables(), ensure_ascii=False, indent=1, sort_keys=True)
    WIDTHS_FILE.write_text(f"{text}\n", encoding="utf-8")


def widths(weight):
    """How wide each letter of our font is, in parts of its size."""
    font = TTFont(font_file(weight))
    size, advances = font["head"].unitsPerEm, font["hmtx"].metrics
    return {chr(c): advances[name][0] / size for c, name in font.getBestCmap().items()}


def _tables():
    """The letters of each width, by weight."""
    tables = {}
    for weight in FONT_WEIGHTS:
        table = tables[weight] = {}
        for letter, width in sorted(widths(weight).items()):
            table[width] = table.get(width, "") + letter
    return tables


def _cut(font):
    options = subset.Options(hinting=False, layout_features=[], glyph_names=False)
    options.drop_tables += ["GPOS", "GSUB", "GDEF", "kern", "FFTM", "gasp"]
    options.notdef_outline = True
    options.name_IDs = [COPYRIGHT, LICENCE, LICENCE_ADDRESS]
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=map(ord, LETTERS))
    subsetter.subset(font)


def _name(font, style):
    full = f"{FONT_FAMILY} {style}"
    post_script = f"{FONT_FAMILY.replace(' ', '')}-{style}"
    texts = {1: FONT_FAMILY, 2: style, 3: full, 4: full, 6: post_script}
    for number, text in texts.items():
        font["name"].setName(text, number, 3, 1, 0x409)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
