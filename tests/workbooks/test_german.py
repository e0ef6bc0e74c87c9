"""What the software says of a circuit in German, whatever is drawn, and the lessons."""

import io
import re
import zipfile
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from generator.exports.qti import qti_package
from generator.workbooks.lesson_text import lesson_text
from generator.workbooks.notebook import notebook_text
from generator.workbooks.own_lesson import check_lesson
from lessons.loader import LESSONS_FOLDER, lesson_ids, read_lesson
from tests.drawn import BOOK, every_exercise, workbooks
from tests.translations import read_catalogue
from workbook.texts import ENGLISH, LANGUAGES, speaking

OTHERS = [each for each in LANGUAGES if each != ENGLISH]
PLACES = re.compile(r"\{\{.*?\}\}|\{%.*?%\}", re.DOTALL)
DATA = re.compile(r"data:image[^)\"]*")
# Words that no German text has.
ENGLISH_WORDS = re.compile(
    r"\b(?:the|and|of|is|with|this|to|not|none|low|high|yes|expected|peak|terminal)\b"
)


def asked(text):
    """What a lesson asks of its examples; German has no use for small letters."""
    places = (place.replace(" | lower", "") for place in PLACES.findall(text))
    return sorted(re.sub(r"\s+", " ", place) for place in places)


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("lesson", lesson_ids())
def test_lesson_says_the_same_in_every_language(lesson, language):
    """Each asks for the same numbers, and has no word of the other language."""
    book = read_lesson(lesson)
    texts = dict(book.translations)
    assert language in texts, f"write lesson.{language}.md beside lesson.md"
    text = texts[language]
    assert asked(text) == asked(book.text)
    assert text.count("\n### ") == book.text.count("\n### ")
    assert text.count("\n\n> ") == book.text.count("\n\n> ")
    told = DATA.sub("", lesson_text(book, language))
    assert ENGLISH_WORDS.findall(told) == []
    assert re.findall(r"\d\.\d", told) == []


def test_every_reading_in_words_is_translated():
    """Of all faults of all families; a number with its unit needs no translation."""
    german = {message.id for message in read_catalogue("de")}
    readings = [
        r for each in every_exercise() for r in each.readings if r.turn_off is None
    ]
    words = {r.display for r in readings if re.search("[a-z]{3}", r.display)}
    assert len(words) > 10
    assert words - german == set()


def test_items_for_other_systems_are_in_german():
    """Words and decimal commas for the reader, decimal points for the machine."""
    with speaking("de"):
        package = qti_package(workbooks("practice"), "abcd2345")
    with zipfile.ZipFile(io.BytesIO(package)) as archive:
        files = [n for n in archive.namelist() if n.startswith("items/")]
        items = [ElementTree.fromstring(archive.read(name)) for name in files]
    for item in items:
        assert item.get("{http://www.w3.org/XML/1998/namespace}lang") == "de"
        body = next(each for each in item if each.tag.endswith("item-body"))
        told = " ".join([item.get("title"), *body.itertext()])
        assert ENGLISH_WORDS.findall(told) == []
        assert re.findall(r"\d\.\d", told) == []
        assert float(next(each.text for each in item.iter() if "value" in each.tag))


def test_lesson_without_a_translation_is_marked_as_what_it_is():
    """A reader of the page aloud then takes the other voice (WCAG 2.2, 3.1.2)."""
    ours = workbooks("practice")[0]
    own = replace(ours, lessons=(replace(BOOK, translations=()),))
    assert 'lang=\\"' not in notebook_text(own)
    with speaking("de"):
        assert f'<div lang=\\"{ENGLISH}\\">' in notebook_text(own)
        assert 'lang=\\"' not in notebook_text(ours)


def test_translation_at_fault_is_told_with_its_file(tmp_path):
    """A place that cannot be filled, and a language that there is not."""
    source = LESSONS_FOLDER / "mixed-diagnosis"
    for name in ("lesson.toml", "lesson.md"):
        (tmp_path / name).write_text((source / name).read_text("utf-8"), "utf-8")
    (tmp_path / "lesson.de.md").write_text("Eins\n{{ wheels.cause }}", "utf-8")
    (tmp_path / "lesson.xx.md").write_text("one", "utf-8")
    first, second = check_lesson(tmp_path).problems
    assert (first.path.name, first.line) == ("lesson.de.md", 2)
    assert "'xx' is no language of ours. Write en or de" in second.message
