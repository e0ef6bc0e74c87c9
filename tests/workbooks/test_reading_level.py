"""Lessons and handouts are written for a trade class: short words, short sentences.

The measure is the Flesch-Kincaid grade: Kincaid, Fishburne, Rogers and Chissom,
"Derivation of new readability formulas for Navy enlisted personnel", Research Branch
Report 8-75, 1975; the reading ease is that of Flesch, "A new readability yardstick",
Journal of Applied Psychology 32, 1948 (both from memory).
"""

import re
from html import unescape

import pytest
import readability

from generator.paper.handouts import handout_text
from generator.paper.slips import reading_codes
from generator.workbooks.class_workbooks import records_of
from generator.workbooks.lesson_text import lesson_text
from lessons.loader import lesson_ids, read_lesson
from tests.drawn import SECRET, workbooks

# What a reader of twelve or thirteen manages: common practice, no source.
GRADE = 7.0
LONGEST = 30
_SYLLABLES = readability.LANGDATA["en"]["syllables"]
_NO_PROSE = r"(?s)```.*?```|<(style|title|dt|dd|th).*?</\1>|!\[[^\]]*\]\([^)]*\)"


def sentences(text):
    """Words of each sentence of Markdown or HTML; tables and headings have none."""
    plain = re.sub(_NO_PROSE, "\n\n", text)
    plain = re.sub(r"</?(em|strong|b|span)\b[^>]*>", "", plain)
    plain = re.sub(r"<[^>]*>", "\n\n", plain)
    plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", unescape(plain)).replace("*", "")
    for block in re.split(r"\n\s*\n|\n(?=\s*(?:[->]|\d+\.) )", plain):
        if block.strip().startswith(("#", "|", "$")):
            continue
        for sentence in re.findall(r".+?[.!?](?=\s|$)", " ".join(block.split())):
            # Numbers and signs of units are not read by their letters.
            words = re.findall(r"\b[A-Za-z]{2,}(?:['’][a-z]+)?\b|\b[aI]\b", sentence)
            if len(words) > 1:
                yield words


def counts(text):
    """Syllables, words and sentences; every word has a syllable at least."""
    found = list(sentences(text))
    words = [word for sentence in found for word in sentence]
    return sum(max(1, _SYLLABLES(word)) for word in words), len(words), len(found)


def test_measure_gives_what_is_published():
    """Two sentences and their reading ease as encyclopedias give it (from memory)."""
    cat = counts("The cat sat on the mat.")
    assert cat == (6, 6, 1)
    assert readability.FleschReadingEase(*cat) == pytest.approx(116, abs=0.5)
    assert readability.KincaidGradeLevel(*cat) == pytest.approx(-1.45, abs=0.01)
    assert readability.FleschReadingEase(24, 13, 1) == pytest.approx(37.5, abs=0.5)


def test_syllables_are_counted_nearly_as_by_hand():
    """A rule counts them, not a dictionary: within a tenth of the 24 by hand."""
    syllables, words, _ = counts(
        "The Australian platypus is seemingly a hybrid of a mammal and reptilian "
        "creature."
    )
    assert words == 13
    assert syllables == pytest.approx(24, rel=0.1)


@pytest.mark.parametrize("lesson", lesson_ids())
def test_lesson_can_be_read_by_a_trade_class(lesson):
    """Its grade stays under the limit, and no sentence runs on."""
    text = lesson_text(read_lesson(lesson))
    assert readability.KincaidGradeLevel(*counts(text)) <= GRADE
    too_long = [" ".join(one) for one in sentences(text) if len(one) > LONGEST]
    assert too_long == []


def test_handout_can_be_read_by_a_trade_class():
    """Instructions, tests and cautions are as plain as the lessons."""
    workbook = workbooks("graded")[0]
    codes = reading_codes(SECRET.value, records_of(workbook))
    text = handout_text(workbook, codes)
    assert counts(text)[2] > 100
    assert readability.KincaidGradeLevel(*counts(text)) <= GRADE
    assert [" ".join(one) for one in sentences(text) if len(one) > LONGEST] == []
