"""A set is put on paper, worked there, typed in and graded."""

import csv
import shutil

import pytest

from generator.paper.printing import pdf_bytes
from tests.absent import library
from tests.cli.command import json_of, run


@pytest.fixture
def paper(practice_set, tmp_path):
    """A copy of the practice set, put on paper without PDF to save time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("generator.week.on_paper.can_print", lambda: False)
        own = shutil.copytree(practice_set, tmp_path / "own")
        result = run("handouts", own)
    assert "pip install '.[print]'" in result.stderr
    return own


def test_paper_goes_to_students_and_instructor_apart(paper):
    """The handout is given out; slips, guide and table are not."""
    assert (paper / "for-students" / "s01" / "handout.html").is_file()
    own = {path.name for path in (paper / "for-instructor").iterdir()}
    assert {"reading-slips.html", "teachers-guide.html", "typed-answers.csv"} <= own


def test_typed_table_is_graded(paper):
    """The table that was written, with one answer typed in, is a student's work."""
    table = paper / "for-instructor" / "typed-answers.csv"
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    next(row for row in rows if row[3] == "prediction")[5] = "0,17 A"
    paper.joinpath("handed-in").mkdir(exist_ok=True)
    with (paper / "handed-in" / "paper.csv").open("w", encoding="utf-8") as file:
        csv.writer(file, delimiter=";").writerows(rows)
    (file,) = json_of("grade", paper)["files"]
    assert (file["name"], file["status"]) == ("paper.csv/s01", "graded")


def test_page_is_printed_to_pdf():
    """With the printing library a page becomes a PDF of as many sheets as it needs."""
    library("weasyprint")
    pdf = pdf_bytes("<p>one<p style='break-before: page'>two")
    assert pdf.startswith(b"%PDF-")
