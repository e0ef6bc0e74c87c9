"""The font that comes with us has every letter, as wide as the drawing takes it."""

from functools import cache
from itertools import chain

import pytest
from fontTools.ttLib import TTFont

from generator.paper.handouts import handout_text
from generator.paper.slips import reading_codes, slips_of, slips_text
from generator.pictures.font import FONT_FAMILY, FONT_WEIGHTS, font_file, width_em
from generator.workbooks.class_workbooks import records_of
from tests import fonts
from tests.drawn import SECRET, workbooks
from tests.pictures.pictures import diagrams, screens
from tests.translations import read_catalogue
from workbook.texts import ENGLISH, LANGUAGES, speaking

# Spaces and joints that are never drawn.
UNDRAWN = set("\n\r\t\u200b")


@cache
def font(weight):
    """The font of one weight."""
    return TTFont(font_file(weight))


@pytest.mark.parametrize("weight", FONT_WEIGHTS)
def test_widths_are_those_of_the_font(weight):
    """Letter by letter."""
    wrong = {
        letter: width
        for letter, width in fonts.widths(weight).items()
        if width_em(letter, bold=weight > 400) != width
    }
    assert wrong == {}


@pytest.mark.parametrize("weight", FONT_WEIGHTS)
def test_no_letter_is_moved_towards_another(weight):
    """A text is as wide as its letters together: no kerning, no ligatures."""
    assert {"GPOS", "GSUB", "kern"} & set(font(weight).keys()) == set()


@pytest.mark.parametrize("weight", FONT_WEIGHTS)
def test_changed_font_bears_no_reserved_name(weight):
    """Section 3 of the SIL Open Font License 1.1, whose text lies beside the files."""
    licence = (font_file(weight).parent / "OFL.txt").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence
    names = [font(weight)["name"].getDebugName(number) for number in (1, 3, 4, 6)]
    assert names[0] == FONT_FAMILY
    for reserved in ("Liberation", "Arimo", "Tinos", "Cousine"):
        assert reserved in licence
        assert not [name for name in names if reserved in name]


@pytest.mark.parametrize("weight", FONT_WEIGHTS)
def test_font_is_small(weight):
    """Every handout carries it."""
    assert font_file(weight).stat().st_size < 12_000


def pages(language):
    """Handout and slips of a student."""
    with speaking(language):
        (book, *_) = workbooks("practice")
        codes = reading_codes(SECRET.value, records_of(book))
        slips = slips_text(book.set_id, slips_of(book), codes)
        return handout_text(book, codes), slips


@pytest.mark.parametrize("language", LANGUAGES)
def test_font_has_every_letter_of_pages_and_pictures(language):
    """No letter is left to a font that a machine may lack."""
    drawn = chain(pages(language), screens(language), diagrams(101))
    letters = set(chain.from_iterable(drawn)) - UNDRAWN
    for weight in FONT_WEIGHTS:
        assert letters - set(fonts.widths(weight)) == set()


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != ENGLISH])
def test_font_has_every_letter_of_a_translation(language):
    """Also of texts that no exercise of the tests shows."""
    messages = [m for m in read_catalogue(language) if m.id]
    letters = set("".join(str((m.id, m.string)) for m in messages)) - UNDRAWN
    for weight in FONT_WEIGHTS:
        assert letters - set(fonts.widths(weight)) == set()
