"""The report is written from the gradebook alone."""

from __future__ import annotations

import json
import re
import shutil
import unicodedata
from importlib.resources import files

import lxml.html
import pytest

from answer_keys.interchange.formats import FORMATS
from tests.absent import library
from tests.cli.command import error_of, files_below, json_of, run


def test_report_is_that_of_the_grading_without_what_was_handed_in(own):
    """Nothing is read but key, roster and gradebook, and nothing is graded."""
    graded = json_of("grade", own)
    before = files_below(own / "results")
    shutil.rmtree(own / "handed-in")
    pages = [name for name in graded["written"] if name != "gradebook.sqlite"]
    for name in pages:
        (own / "results" / name).unlink()
    assert json_of("report", own)["written"] == pages
    assert files_below(own / "results") == before


def test_report_names_what_to_open(graded):
    """Words name the page and how many students it is about."""
    said = run("report", graded).stderr
    page = graded / "results" / "class-report.html"
    assert f"Reported on 2 of 2 students. Open {page}" in said


def test_set_that_was_not_graded_has_no_report(own):
    """The error says what to do first, and nothing is written."""
    before = files_below(own)
    error = error_of("report", own)
    assert "no gradebook yet; first type: clampbook grade" in error
    assert files_below(own) == before


def test_marks_are_written_in_the_formats_asked_for(graded, tmp_path):
    """Several at once, beside the report; what is in the instructor's table stays."""
    table = tmp_path / "mine.csv"
    table.write_bytes(b"Student;Quiz;Note\r\ns01;;=1\r\nx9;3;\r\n")
    said = run(
        "report",
        graded,
        "--decimal=comma",
        "--column=Quiz",
        "--id-column=Student",
        f"--write=csv={tmp_path / 'marks.csv'}",
        f"--write=xlsx={tmp_path / 'marks.xlsx'}",
        f"--write=column={table}",
    ).stderr
    total = (
        (tmp_path / "marks.csv").read_text("utf-8-sig").splitlines()[1].split(";")[4]
    )
    assert "," in total
    assert table.read_bytes() == (
        f"Student;Quiz;Note\r\ns01;{total};=1\r\nx9;3;\r\n".encode()
    )
    assert (tmp_path / "marks.xlsx").read_bytes().startswith(b"PK")
    assert f"Wrote {tmp_path / 'marks.xlsx'}." in said
    assert f"{table}: marks of students who are not in it: s02" in said
    assert f"{table}: rows without a mark here, left as they were: x9" in said


def test_format_that_cannot_be_written_leaves_no_other(graded, tmp_path):
    """A fault is told before anything is written, with what to do."""
    table = tmp_path / "mine.csv"
    table.write_text("id,Quiz\n")
    csv = f"--write=csv={tmp_path / 'marks.csv'}"
    error = error_of("report", graded, csv, f"--write=column={table}", "--column=Quizz")
    assert f"{table}, line 1: no column 'Quizz'. Name one of 'id'" in error
    assert sorted(tmp_path.glob("*.csv")) == [table]


def test_unknown_format_is_told_with_those_there_are(own):
    """So is a column that was not named."""
    error = error_of("report", own, "--write=ods=x", code=2)
    assert "'ods=x' is no format and file. Write csv=FILE, xlsx=FILE" in error
    error = error_of("report", own, "--write=column=x.csv", code=2)
    assert "needs --column NAME" in error


@pytest.mark.parametrize("name", FORMATS)
def test_format_is_offered_by_command_and_desk(name):
    """Whoever can write it is told so: in the help of the command, and on the page."""
    page = files("generator.desk") / "page/screens/hand_on.js"
    assert re.search(rf"\b{name}\b", run("report", "--help").stdout)
    assert f'write("{name}"' in page.read_text("utf-8")


def test_figures_of_the_report_are_one_object(graded):
    """Students with skills and misconceptions, tests, items, and what to teach next."""
    figures = json_of("report", graded)
    assert {one["id"] for one in figures["students"]} == {"s01", "s02"}
    for student in figures["students"]:
        assert 0 <= student["percent"] <= 100
        assert set(student["weak_skills"]) <= set(student["skills"])
    assert figures["reliability"]["alpha"] is None
    assert all(item["verdict"] == "not enough data" for item in figures["items"])
    assert figures["path"]["diagnoses"] == len(figures["path"]["planned_minutes"])
    for one in figures["misconceptions"]:
        assert one["shown"] <= one["chances"]
        assert one["example"]["item"]


@pytest.mark.nightly
def test_next_set_practises_what_was_weak(graded, tmp_path):
    """Students, lessons and needs are those of the graded set; it can be validated."""
    after = tmp_path / "next"
    made = json_of("generate", "--after", graded, "--exercises=2", "--out", after)
    before = json_of("report", graded)
    assert made["after"] == before["set_id"]
    assert [one["id"] for one in made["students"]] == ["s01", "s02"]
    needs = json.loads((after / "for-instructor/practises.json").read_text("utf-8"))
    assert needs["after"] == before["set_id"]
    assert set(needs["students"]) == {"s01", "s02"}
    assert json_of("validate", after)["sound"]
    _check_history(after, before)


def test_set_without_hand_ins_puts_nothing_first(own, tmp_path):
    """The instructor who graded before anything came back is told."""
    shutil.rmtree(own / "handed-in")
    run("grade", own)
    asked = ("--lessons=control-side", "--students=1", "--exercises=1")
    said = run("generate", "--after", own, *asked, "--out", tmp_path / "next").stderr
    assert "has no graded work yet: nothing is put first" in said


def _check_history(after, before):
    """What was tried before counts in the next report."""
    run("simulate", after, "--kinds=expert")
    run("grade", after)
    tries = {one["id"]: one["skills"] for one in before["students"]}
    for student in json_of("report", after)["students"]:
        for skill, one in student["skills"].items():
            old = tries[student["id"]].get(skill, {"last": []})["last"]
            assert one["last"][: len(old)] == old[-5:][: len(one["last"])]


def test_set_after_one_that_was_not_graded_is_refused(own, tmp_path):
    """Nothing is known of what is weak before anything was graded."""
    error = error_of("generate", "--after", own, "--out", tmp_path / "next")
    assert "no gradebook yet" in error
    assert not (tmp_path / "next").exists()


def test_sheets_are_printed_where_that_is_asked_for(graded, monkeypatch):
    """Each sheet becomes a PDF beside it; without the library words say what to do."""
    for module in ("generator.commands.report", "generator.week.reporting"):
        monkeypatch.setattr(f"{module}.can_print", lambda: False)
    assert "pip install '.[print]'" in run("report", graded, "--pdf").stderr
    for module in ("generator.commands.report", "generator.week.reporting"):
        monkeypatch.setattr(f"{module}.can_print", lambda: True)
    monkeypatch.setattr("generator.week.reporting.print_pages", printed_blank)
    written = json_of("report", graded, "--pdf")["written"]
    assert [name for name in written if name.endswith(".pdf")] == [
        "sheets/sheet-s01.pdf",
        "sheets/sheet-s02.pdf",
    ]


def test_printed_sheet_says_what_its_page_says_inside_the_paper(tmp_path):
    """By the real printer: every word of the page, no other, and nothing cut off.

    A4 by ISO 216 (from memory), with 5 mm for a printer's edge (common practice).
    """
    library("weasyprint")
    pdfium = library("pypdfium2")
    small, asked = tmp_path / "set", ("--students=1", "--exercises=1")
    run("generate", *asked, "--lessons=mixed-diagnosis", "--out", small)
    run("simulate", small, "--kinds=novice")
    run("grade", small)
    run("report", small, "--pdf")
    page = small / "results/sheets/sheet-s01.html"
    pdf = pdfium.PdfDocument(page.with_suffix(".pdf"))
    sheets = [pdf[number] for number in range(len(pdf))]
    printed = "\n".join(one.get_textpage().get_text_range() for one in sheets)
    edges = [found.get_bounds() for one in sheets for found in one.get_objects()]
    sizes = {tuple(map(round, sheet.get_size())) for sheet in sheets}
    pdf.close()
    body = lxml.html.document_fromstring(page.read_text("utf-8")).body
    assert _words(printed) == _words(" ".join(body.itertext()))
    assert sizes == {(595, 842)}
    assert min(min(box[:2]) for box in edges) > 14
    assert max(box[2] for box in edges) < 595 - 14
    assert max(box[3] for box in edges) < 842 - 14


def _words(text):
    """Words of letters alone: sheets are numbered, and a hyphen may end a line."""
    return set(re.findall(r"[^\W\d_]+", unicodedata.normalize("NFKC", text)))


def printed_blank(pages, *_):
    """Stand in for the printer, which takes seconds a page."""
    return [page.with_suffix(".pdf") for page in pages]
