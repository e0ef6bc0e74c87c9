"""A set is put on paper, worked there, typed in and graded."""

import csv
import shutil

import pytest

from generator.checking.paper_check import PaperCheck
from generator.paper.printing import pdf_bytes
from generator.paper.slips import slips_of
from generator.sets.paper_parts import paper_parts
from generator.sets.set_writing import rebuilt_workbooks
from generator.week.opened import opened_set
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


def test_paper_of_a_large_class_comes_in_parts(graded_set, tmp_path, monkeypatch):
    """Each part has slips, guide and table of its own students, and is found sound."""
    monkeypatch.setattr("generator.week.on_paper.can_print", lambda: False)
    monkeypatch.setattr("generator.sets.paper_parts._MOST_STUDENTS", 1)
    own = shutil.copytree(graded_set, tmp_path / "own")
    told = json_of("handouts", own)["written"]
    opened = opened_set(own)
    check = PaperCheck.of(opened.class_set, opened.secret.value, opened.key)
    parts = list(paper_parts(opened.class_set))
    assert len(parts) > 1
    again = rebuilt_workbooks(opened.class_set, opened.secret)
    for part, workbook in zip(parts, again, strict=True):
        [student] = part.students
        for path in (part.slips_file, part.guide_file):
            assert f", students {student.id} to {student.id}</h1>" in path.read_text()
        with part.table_file.open(encoding="utf-8", newline="") as file:
            assert {row["student"] for row in csv.DictReader(file)} == {student.id}
        found = check.of_part(part, slips_of(workbook), opened.key)
        assert found == {part.slips_file: []}
        assert part.guide_file.relative_to(own).as_posix() in told


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
