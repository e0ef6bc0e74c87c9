"""Every text that a student sees is there in every language."""

import ast
import json
import re

import pytest
from babel.messages.mofile import read_mo

from lessons.loader import LESSONS_FOLDER
from tests import translations
from workbook.texts import ENGLISH, LANGUAGES, figure, language, ngettext, speaking, use

OTHERS = [each for each in LANGUAGES if each != ENGLISH]
PLACE = re.compile(r"\{\w*\}")
COMMENT = re.compile(r"^\s*//.*$", re.MULTILINE)
JOINED = re.compile(r'"\s*\+\s*"')
STRING = re.compile(r"""(\b_\(\s*)?(["`])(.*?)\2""")
SAID = re.compile(r"""\b_\(\s*"([^"\\]*)"\s*,?\s*\)""")
WORDS = re.compile("[A-Z]|[a-z]+[,:]? ")


def _forms(text):
    return [text] if isinstance(text, str) else list(text)


@pytest.mark.parametrize("language", OTHERS)
def test_catalogue_is_complete(language):
    """Nothing is untranslated, left over or doubtful, and what is filled in agrees."""
    catalogue = translations.read_catalogue(language)
    entries = {message.id: message for message in catalogue if message.id}
    wanted = {message.id for message in translations.template() if message.id}
    assert set(entries) == wanted, "run: python -m tests.translations"
    assert not catalogue.obsolete
    for message in entries.values():
        assert all(_forms(message.string)), f"not translated: {message.id}"
        assert not message.fuzzy, message.id
        *_, source = _forms(message.id)
        *_, said = _forms(message.string)
        assert set(PLACE.findall(said)) == set(PLACE.findall(source)), source
        assert source.endswith(" ") == said.endswith(" "), source


@pytest.mark.parametrize("language", OTHERS)
def test_compiled_catalogue_is_current(language):
    """What the workbook reads says the same as what translators edit."""
    with translations.po_file(language).with_suffix(".mo").open("rb") as file:
        compiled = _texts(read_mo(file))
    edited = _texts(translations.read_catalogue(language))
    assert compiled == edited, "run: python -m tests.translations"


@pytest.mark.parametrize("language", OTHERS)
def test_scripts_say_what_the_catalogue_says(language):
    """What the scripts of each room read is that of the catalogue, and complete."""
    catalogue = translations.read_catalogue(language)
    for room, file in translations.script_files(language).items():
        said = file.read_text("utf-8")
        current = translations.script_texts(catalogue, room)
        assert said == current, "run: python -m tests.translations"
        assert len(json.loads(said)) > 20


def test_no_text_of_a_script_is_left_untranslated():
    """What has a capital or a blank is read by somebody, and so stands in ``_()``."""
    rooms = ("generator/site", "generator/desk")
    scripts = [p for room in rooms for p in (translations.ROOT / room).rglob("*.js")]
    found = [each for path in scripts for each in STRING.findall(_code(path))]
    assert [text for call, _, text in found if WORDS.match(text) and not call] == []
    assert sum(bool(call) for call, _, _ in found) > 20


def test_no_text_of_a_script_hides_from_the_translators():
    """Wherever it stands in a line, as within another text."""
    wanted = {message.id for message in translations.template()}
    rooms = ("generator/site", "generator/desk")
    scripts = [p for room in rooms for p in (translations.ROOT / room).rglob("*.js")]
    said = [text for path in scripts for text in SAID.findall(_code(path))]
    assert len(said) > 200
    assert [text for text in said if text not in wanted] == []


def _code(path):
    """A script without its comments, each text in one piece."""
    return JOINED.sub("", COMMENT.sub("", path.read_text("utf-8")))


def _texts(catalogue):
    return {tuple(_forms(m.id)): _forms(m.string) for m in catalogue if m.id}


def test_no_text_hides_from_the_translators():
    """A call inside an f-string is not found by what collects the texts."""
    for folder in translations.FOLDERS:
        for path in (translations.ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.JoinedStr):
                    calls = [n for n in ast.walk(node) if isinstance(n, ast.Call)]
                    texts = [c for c in calls if getattr(c.func, "id", "") == "_"]
                    assert not any(isinstance(c.args[0], ast.Constant) for c in texts)


def test_language_is_spoken_for_a_while():
    """A language ends where it was to end, and one that is not there is English."""
    with speaking("de"):
        assert language() == "de"
        assert figure(12.5) == "12,5"
        with speaking("xx"):
            assert (language(), figure(12.5)) == ("en", "12.5")
        assert language() == "de"
    assert language() == "en"


def test_counts_take_the_form_of_their_language():
    """One and many differ in German as in English."""
    one, many = (
        "{count} of {total} causes still fits.",
        "{count} of {total} causes still fit.",
    )
    with speaking("de"):
        said = [ngettext(one, many, count) for count in (0, 1, 2)]
    assert said[0] == said[2] != said[1]
    use(ENGLISH)
    assert ngettext(one, many, 1) == one


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("Diagnosegerät", "Diagnosetester"),
        ("gesunde", "fehlerfrei"),
        # Cores of a cable; the strands of one wire are meant.
        ("Adern", "Einzeldrähte"),
    ],
)
def test_german_has_one_word_for_a_thing(wrong, right):
    """In the pages and in the lessons alike."""
    entries = translations.read_catalogue("de")
    texts = [said for message in entries for said in _forms(message.string)]
    texts += [path.read_text("utf-8") for path in LESSONS_FOLDER.glob("*/lesson.de.md")]
    assert any(right in text for text in texts)
    assert [text for text in texts if wrong in text] == []
