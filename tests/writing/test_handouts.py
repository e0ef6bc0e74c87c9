"""On paper a student gets everything but readings, and the instructor all of them."""

import csv
import io
import re
from dataclasses import replace

import pytest

from answer_keys.key_record import answer_key_from_content
from answer_keys.typed_answers import COLUMNS
from generator.writing.handouts import handout_text
from generator.writing.leaks import forbidden_strings, leaks_in_page
from generator.writing.reading_codes import reading_codes
from generator.writing.reading_slips import empty_table, slips_text
from generator.writing.teachers_guide import guide_text
from generator.writing.workbooks import records_of
from tests.writing.drawn import OTHER_SECRET, SECRET, workbooks

WORKBOOK = workbooks("practice")[0]
RECORDS = records_of(WORKBOOK)
CODES = reading_codes(SECRET.value, RECORDS)


def test_handout_holds_no_answer():
    """No fault, repair, misconception, right number or mistake is on it."""
    page = handout_text(WORKBOOK, CODES)
    forbidden = forbidden_strings(SECRET.value, RECORDS)
    assert leaks_in_page(page, forbidden) == []
    told = RECORDS[0]["fault"]["id"]
    assert leaks_in_page(f"{page}{told}", forbidden)


def test_handout_is_the_same_whatever_the_readings_are():
    """It says nothing of what any instrument shows."""
    exercises = tuple(
        replace(one, readings=tuple(replace(r, display="XX") for r in one.readings))
        for one in WORKBOOK.exercises
    )
    other = replace(WORKBOOK, exercises=exercises)
    assert handout_text(other, CODES) == handout_text(WORKBOOK, CODES)


def test_handout_has_what_an_exercise_needs():
    """Complaint, each test with its code, causes, corrections, cautions, diagram."""
    page = handout_text(WORKBOOK, CODES)
    for record in RECORDS:
        for test in record["tests"]:
            assert CODES[record["student"], record["exercise"], test["id"]] in page
    assert page.count('src="data:image/svg+xml') == len(RECORDS)
    assert page.count("2. Test: order form") == len(RECORDS)
    assert "never larger than that of the circuit" in page
    assert "<script" not in page
    assert "http" not in page.replace("http-equiv", "")


def test_codes_differ_and_hang_on_the_secret():
    """No two readings share a code, and another secret gives others."""
    assert len(set(CODES.values())) == len(CODES)
    assert all(re.fullmatch(r"[a-z2-9]{3}-[a-z2-9]{3}", c) for c in CODES.values())
    others = reading_codes(OTHER_SECRET.value, RECORDS)
    assert not set(others.values()) & set(CODES.values())


def test_slips_hold_each_reading_under_its_code_in_order():
    """What is looked up is the display, and no outcome stands beside it."""
    page = slips_text("abcd2345", RECORDS, CODES)
    found = re.findall(r'class="code">([^<]+)</span>([^<]*)<', page)
    assert [code for code, _ in found] == sorted(CODES.values())
    shown = dict(found)
    record = RECORDS[1]
    for test in record["tests"]:
        code = CODES[record["student"], record["exercise"], test["id"]]
        assert shown[code] == test["display"]


def test_empty_table_has_the_columns_and_nothing_answered():
    """Every exercise has rows for each step, and no row has an answer."""
    rows = list(csv.DictReader(io.StringIO(empty_table("abcd2345", RECORDS))))
    assert tuple(rows[0]) == COLUMNS
    assert not any(row["answer"] or row["second_answer"] for row in rows)
    steps = {row["step"] for row in rows if row["exercise"] == "2"}
    assert steps == {"prediction", "test", "finding", "conclusion", "verification"}


@pytest.fixture(scope="module")
def guide():
    """The guide to one student's exercises."""
    content = {
        "format": 1,
        "set_id": WORKBOOK.set_id,
        "edition": 1,
        "mode": "practice",
        "exercises": RECORDS,
    }
    titles = {(r["student"], r["exercise"]): r["title"] for r in RECORDS}
    key = answer_key_from_content(content)
    return guide_text(key, titles, {WORKBOOK.student: "Mira <b>Aldeen</b>"})


def test_guide_tells_cause_plan_and_questions_of_each_exercise(guide):
    """Each exercise has its cause framed in the outcome table, and a question."""
    assert guide.count('<tr class="planted">') == len(RECORDS)
    assert guide.count("which causes are left, and what next?") == len(RECORDS)
    for record in RECORDS:
        faults = {cause["fault"]: cause["label"] for cause in record["causes"]}
        assert faults[record["fault"]["id"]] in guide
    assert "Mira &lt;b&gt;Aldeen" in guide
