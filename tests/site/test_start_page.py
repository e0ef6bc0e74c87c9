"""The start page in every language that a class set can have."""

import pytest

from generator.site.build import start_page
from workbook.texts import LANGUAGES


@pytest.mark.parametrize("language", LANGUAGES)
def test_page_is_in_the_language_of_its_set(language):
    """It says so itself, and the settings that every page reads are left alone."""
    page = start_page(language)
    assert f'<html lang="{language}">' in page
    assert "{{" not in page
    assert ("Your workbook" in page) == (language == "en")
    assert "data-jupyter-lite-root" in page
