"""Labels of pictures as they stand in a PDF: apart, and inside their picture."""

from itertools import combinations
from xml.etree import ElementTree

import pytest

from generator.paper.printing import page_text, pdf_bytes
from generator.pictures.canvas import SHEET_WIDTH
from tests.absent import library
from tests.pictures.pictures import diagrams, screens
from workbook.texts import LANGUAGES

SVG = "{http://www.w3.org/2000/svg}"
EDGE = 20  # of the sheets that the pictures are printed on, one each [px]
PT = 0.75  # one px
END_OF_PART = "\ufffe"  # what a hyphen at the end of a line is read as
STYLE = f"""<style>
@page {{ size: {SHEET_WIDTH + 2 * EDGE}px 1400px; margin: {EDGE}px;
@bottom-left {{ content: none; }} @bottom-right {{ content: none; }} }}
svg {{ max-width: none; width: {SHEET_WIDTH}px; margin: 0; break-after: page; }}
</style>"""


def labels_of(svg):
    """The labels of a picture, in the order drawn."""
    return [text.text for text in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def boxes_of(sheet, labels):
    """Where each label stands on a sheet: (left, bottom, right, top) [pt], and it."""
    text = sheet.get_textpage()
    read = text.get_text_range().replace(END_OF_PART, "-")
    places = [place for place, letter in enumerate(read) if letter.strip()]
    assert [read[place] for place in places] == [*"".join("".join(labels).split())]
    for label in labels:
        count = len("".join(label.split()))
        own, places = places[:count], places[count:]
        boxes = (text.get_charbox(place, loose=True) for place in own)
        lefts, bottoms, rights, tops = zip(*boxes, strict=True)
        yield min(lefts), min(bottoms), max(rights), max(tops), label


def troubles(svgs):
    """Labels that meet another one or leave their picture."""
    library("weasyprint")
    pdfium = library("pypdfium2")
    page = page_text(
        "slips.html.j2", span=None, set_id="", rows=1, slips=[], screens=[]
    )
    head = page.partition("</head>")[0]
    pdf = pdfium.PdfDocument(pdf_bytes(f"{head}{STYLE}<body>{''.join(svgs)}"))
    left, right = EDGE * PT, (EDGE + SHEET_WIDTH) * PT
    for sheet, svg in zip(pdf, svgs, strict=True):
        boxes = [*boxes_of(sheet, labels_of(svg))]
        for box in boxes:
            if box[0] < left or box[2] > right:
                yield f"{box[4]} is cut"
        for a, b in combinations(boxes, 2):
            if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]:
                yield f"{a[4]} meets {b[4]}"
    pdf.close()


def test_labels_of_some_screens_stand_apart():
    """What a scope shows, in either language."""
    svgs = [screen for language in LANGUAGES for screen in screens(language)[:2]]
    assert [*troubles(svgs)] == []


@pytest.mark.release
@pytest.mark.nightly
def test_labels_of_many_diagrams_stand_apart():
    """More than 400 diagrams, of every family, variant and language."""
    svgs = diagrams(9)
    assert len(svgs) > 400
    assert [*troubles(svgs)] == []
