"""Whatever students, files and answers are called, pages and tables stay inert."""

import csv
import io
import json
from dataclasses import replace

import openpyxl
import pytest

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.standings import Override
from answer_keys.interchange.marks_files import marks_csv, marks_xlsx
from answer_keys.reports.report import class_in
from generator.grading.class_grading import GradingJob, grade_class
from tests.answer_keys.samples import (
    RUBRIC,
    SET_ID,
    TEST_IDS,
    Writer,
    record_content,
    work_through,
)
from tests.browser import axe
from tests.keys import answer_key_of

MARKUP = (
    "<script>window.hit = 1; fetch('https://evil.example/a')</script>",
    "\"><img src=x onerror='window.hit = 1'>",
    "</title></style><svg onload=alert(1)>",
    "<iframe src=//evil.example/b></iframe>",
    "<a href=javascript:alert(1)>open me</a>",
    "<style>@import '//evil.example/c'</style>",
    "<meta http-equiv=refresh content='0;url=//evil.example/d'>",
    "{{ 7 * 7 }}{% raw %}&lt;b&gt;",
)
FORMULAS = (
    '=HYPERLINK("http://evil.example/e","open me")',
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "+1+1",
    "-1+1",
    "＝1+1",
)
PAYLOADS = MARKUP + FORMULAS
HIDDEN = "\u202e)1(trela\u200b\x07"
STARTS = "=+-@\t\r\n＝＋－＠"


def written_up(student):
    """A second exercise that has lines written, which no machine grades."""
    lines = [{"id": "cause", "label": "Cause", "text": "A model answer."}]
    question = {"id": "note", "kind": "lines", "label": "Write it up", "lines": lines}
    return record_content(student, 2) | {
        "kind": "write-up",
        "questions": [question | {"checklist": ["Names the part"]}],
        "causes": [],
        "corrections": [],
    }


def content():
    """An answer key of students whose ids are payloads."""
    records = [record_content(one, 1) for one in PAYLOADS]
    records += [written_up(one) for one in PAYLOADS]
    return {
        "format": 1,
        "set_id": SET_ID,
        "edition": 1,
        "mode": "graded",
        "exercises": records,
    }


def hand_in(payload, record):
    """Work with a payload in every field that a student can fill."""
    writer = Writer(student=payload, session=payload)
    for key in record.predictions:
        typed = f"{payload}{HIDDEN}"
        writer.add(
            1, "prediction", key.id, raw=typed[:200], value=1.0, unit=payload[:20]
        )
    work_through(writer, replace(record, predictions=()), TEST_IDS[:2], care=0.5)
    writer.add(2, "answer", "note", lines=[f"{payload}{HIDDEN}"])
    return writer.bytes().replace(b"workbook 0.1.0", json.dumps(payload)[1:-1].encode())


@pytest.fixture(scope="module")
def graded(tmp_path_factory):
    """Folder of the results, and the result of the class."""
    work = tmp_path_factory.mktemp("hostile")
    (work / "handed-in").mkdir()
    key = answer_key_of(content())
    for number, payload in enumerate(PAYLOADS):
        name = f"{payload} {number}".replace("/", "∕")
        data = hand_in(payload, key.of_student(payload)[1])
        (work / "handed-in" / f"{name}.jsonl").write_bytes(data)
        stranger = Writer(student=f"{payload}x", set_id=SET_ID).bytes()
        (work / "handed-in" / f"{name}-x").write_bytes(stranger)
        foreign = Writer(set_id=payload).bytes()
        (work / "handed-in" / f"{name}-y").write_bytes(foreign)
    job = GradingJob(
        handed_in=work / "handed-in",
        results=work / "results",
        gradebook=work / "book.sqlite",
        overrides=[
            Override(student=one, exercise=1, step="cause", mark=1.0, reason=one)
            for one in PAYLOADS
        ],
    )
    roster = [(one, f"{one}{HIDDEN}") for one in PAYLOADS]
    summary = grade_class(answer_key_of(content()), roster, RUBRIC, job).summary
    assert [one["status"] for one in summary["files"]].count("graded") == len(PAYLOADS)
    assert len(summary["files"]) == 3 * len(PAYLOADS)
    with Gradebook(job.gradebook) as book:
        return work / "results", class_in(book, key, roster)


def test_pages_run_nothing_and_ask_for_nothing(browser, graded):
    """No script ran, no dialog came, nothing was asked of the network."""
    folder, _ = graded
    pages = sorted(folder.rglob("*.html"))
    assert len(pages) == 1 + len(PAYLOADS)
    with browser.new_context() as context:
        page = context.new_page()
        dialogs, asked, said = [], [], []
        page.on("dialog", lambda one: (dialogs.append(one.message), one.dismiss()))
        page.on("request", lambda one: asked.append(one.url))
        page.on("console", lambda one: said.append(one.text))
        page.on("pageerror", lambda one: said.append(str(one)))
        for path in pages:
            page.goto(path.as_uri())
            page.evaluate(
                "document.querySelectorAll('details').forEach(d => d.open = 1)"
            )
            assert page.evaluate("window.hit === undefined")
            assert page.url == path.as_uri()
            assert (
                page.locator("script, iframe, object, embed, svg, form, base").count()
                == 0
            )
            links = page.eval_on_selector_all(
                "a[href]", "all => all.map(a => a.getAttribute('href'))"
            )
            assert all(one.startswith(("sheets/sheet-", "#")) for one in links)
            assert "49" not in page.title()
    own = {path.as_uri() for path in pages}
    assert [
        one for one in asked if one not in own and not one.startswith("data:")
    ] == []
    assert dialogs == []
    assert said == []


def test_pages_show_payloads_as_the_text_that_they_are(browser, graded):
    """Names, files, raw answers and written lines are read as they were written."""
    folder, result = graded
    with browser.new_context() as context:
        page = context.new_page()
        page.goto((folder / "class-report.html").as_uri())
        report = page.inner_text("body")
        for student in result.students:
            assert student.id in " ".join(report.split())
            page.goto((folder / "sheets" / student.sheet).as_uri())
            text = " ".join(page.inner_text("body").split())
            # Name, what was typed for three numbers, what was written, why by hand.
            assert text.count(student.id) >= 5
            assert "\\u202e" in text
            assert not set(HIDDEN[:1] + HIDDEN[-2:]) & set(text)


@pytest.mark.nightly
def test_report_and_sheet_keep_nobody_out(browser, graded):
    """No fault against WCAG 2.2 AA; whatever the theme, they are as if on paper."""
    folder, _ = graded
    sheet = min((folder / "sheets").glob("*.html"))
    # Their own rule lets no script run, and so none that looks for faults.
    with browser.new_context(bypass_csp=True, color_scheme="dark") as context:
        page = context.new_page()
        for path in (folder / "class-report.html", sheet):
            page.goto(path.as_uri())
            assert axe.faults_at_all_widths(page, "html") == []
            assert page.evaluate("() => document.body.scrollWidth") <= 320


def test_cells_of_spreadsheets_are_text_or_numbers(graded):
    """None begins as a formula does; in a workbook none is a formula or a link."""
    _, result = graded
    rows = list(csv.reader(io.StringIO(marks_csv(result).removeprefix("\ufeff"))))
    texts = [cell for row in rows for cell in (*row[:2], row[-1])]
    assert len(texts) == 3 * (1 + len(PAYLOADS))
    assert [one for one in texts if one.lstrip(" \u00a0")[:1] in STARTS] == []
    for payload in FORMULAS:
        assert f"'{payload}" in [row[0] for row in rows]
    book = openpyxl.load_workbook(io.BytesIO(marks_xlsx(result)))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert all(cell.hyperlink is None for cell in cells)
    assert book.defined_names == {}
