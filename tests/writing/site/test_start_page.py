"""The start page in every language that a class set can have."""

import re

import pytest

from generator.writing.site.shared import EXTENSIONS
from generator.writing.site.start_page import SCRIPT_TEXTS, start_page
from tests.translations import ROOT
from workbook.page_texts import NOT_KEPT
from workbook.texts import LANGUAGES

SCRIPTS = (
    ROOT / "generator" / "writing" / "site" / "pages" / "start.js",
    EXTENSIONS / "clampbook" / "static" / "keeping.js",
)
JOINED = re.compile(r'"\s*\+\s*"')


@pytest.mark.parametrize("language", LANGUAGES)
def test_page_is_in_the_language_of_its_set(language):
    """It says so itself, and the settings that every page reads are left alone."""
    page = start_page(language)
    assert f'<html lang="{language}">' in page
    assert "{{" not in page
    assert ("Your workbook" in page) == (language == "en")
    assert "data-jupyter-lite-root" in page


def test_scripts_say_what_is_translated():
    """Each text is in a script, word for word, or would stay English."""
    scripts = JOINED.sub("", "".join(path.read_text("utf-8") for path in SCRIPTS))
    assert [text for text in (*SCRIPT_TEXTS, *NOT_KEPT) if text not in scripts] == []
