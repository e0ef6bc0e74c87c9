"""Paper as it is printed: short, inside every sheet, legible without colours."""

import re

import numpy as np
import pytest

from generator.checking.paper_check import problems_of_pdf
from generator.paper.printing import pdf_bytes
from tests.absent import library
from tests.paper.paper import paper
from workbook.texts import ENGLISH

MM = 72 / 25.4
# Sizes by ISO 216 and ANSI/ASME Y14.1 (from memory), printed in the middle of a sheet.
A4, LETTER = (210 * MM, 297 * MM), (8.5 * 72, 11 * 72)
# What common printers leave free at the edge: common practice, no source.
EDGE = 4.2 * MM


WORDS = {
    "en": ("Exercise ", "Answer sheet: ", "exercise", "Causes and corrections"),
    "de": ("Übung ", "Antwortblatt: ", "Übung", "Ursachen und Abhilfen"),
}


# German is the longer of both: what has room in it has room in English.
@pytest.fixture(
    scope="module", params=["de", pytest.param(ENGLISH, marks=pytest.mark.nightly)]
)
def printed(request):
    """The printed handout of one student in a language, and its sheets."""
    library("weasyprint")
    pdfium = library("pypdfium2")
    page = paper("graded", request.param).handout
    data = pdf_bytes(page)
    assert problems_of_pdf(data, page) == []
    pdf = pdfium.PdfDocument(data)
    yield request.param, [pdf[number] for number in range(len(pdf))]
    pdf.close()


@pytest.fixture
def sheets(printed):
    """The sheets alone."""
    return printed[1]


def text_of(sheet):
    """The words of a sheet."""
    return sheet.get_textpage().get_text_range()


def test_diagnosis_takes_two_sheets_and_a_third_of_an_answer_sheet(printed):
    """The first page is for all; answer sheets have pages of their own, at the end."""
    language, sheets = printed
    exercise, answer_sheet, exercise_of, choices = WORDS[language]
    texts = [text_of(sheet) for sheet in sheets]
    starts = [n for n, text in enumerate(texts) if text.startswith(exercise)]
    exercises = len(paper("graded").workbook.exercises)
    answers = [n for n, text in enumerate(texts) if answer_sheet in text]
    assert len(starts) == exercises
    assert starts == list(range(1, 1 + 2 * exercises, 2))
    assert answers == list(range(1 + 2 * exercises, len(sheets)))
    assert len(sheets) == 8
    first = f"{answer_sheet}s01, {exercise_of}"
    assert all(texts[n].startswith(first) for n in answers)
    assert sum(texts[n].count(answer_sheet) for n in answers) == exercises
    assert all(choices in texts[n + 1] for n in starts)


def test_nothing_is_cut_off_on_a4_or_letter(sheets):
    """Print lies where both sizes have paper, with room for a printer's edge."""
    for sheet in sheets:
        assert sheet.get_size() == pytest.approx(A4, abs=1)
        boxes = [found.get_bounds() for found in sheet.get_objects(max_depth=2)]
        left, bottom = (min(box[n] for box in boxes) for n in (0, 1))
        right, top = (max(box[n] for box in boxes) for n in (2, 3))
        room = [(a - b) / 2 + EDGE for a, b in zip(A4, LETTER, strict=True)]
        assert left >= max(room[0], EDGE)
        assert right <= A4[0] - max(room[0], EDGE)
        assert bottom >= room[1]
        assert top <= A4[1] - room[1]


def test_sheets_have_no_other_font_than_ours(sheets):
    """What fonts the machine has makes no difference."""
    is_text = [library("pypdfium2").raw.FPDF_PAGEOBJ_TEXT]
    used = {
        found.get_font().get_base_name().partition("+")[2]
        for sheet in sheets
        for found in sheet.get_objects(filter=is_text)
    }
    assert used
    assert [name for name in used if not name.startswith("Clampbook-Sans")] == []


def test_sheets_have_no_colour(sheets):
    """A printer without colours loses nothing: every dot is grey."""
    for sheet in sheets[1:5]:
        dots = sheet.render(scale=1).to_numpy().astype(int)[..., :3]
        assert np.ptp(dots, axis=2).max() == 0
        assert dots.min() < 60


def test_slips_have_one_pitch():
    """Printed, codes stand on a grid: no slip is larger than another."""
    library("weasyprint")
    pdfium = library("pypdfium2")
    pdf = pdfium.PdfDocument(pdf_bytes(paper("graded").slips))
    text = pdf[0].get_textpage()
    code = re.compile(r"\b[a-z2-9]{3}-[a-z2-9]{3}\b")
    found = [match.start() for match in code.finditer(text.get_text_range())]
    boxes = [text.get_charbox(place, loose=True) for place in found]
    columns = sorted({round(left, -1) for left, *_ in boxes})
    rows = sorted({round(bottom) for _, bottom, *_ in boxes})
    pdf.close()
    assert len(columns) == 3
    assert len(boxes) == 66
    # Those of two lines have their code higher by half a line.
    assert len(rows) <= 2 * 22
