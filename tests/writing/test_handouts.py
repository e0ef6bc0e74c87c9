"""On paper a student gets everything but readings, and the instructor all of them."""

import csv
import io
import math
import re
from base64 import b64decode
from dataclasses import replace
from html import escape, unescape

import pytest

from answer_keys.answer_key import answer_key_from_content
from answer_keys.typed_table import COLUMNS, empty_table
from generator.writing.handouts import ORDERS, handout_text
from generator.writing.leaks import forbidden_strings, leaks_in_page
from generator.writing.markdown import data_uri
from generator.writing.reading_codes import reading_codes
from generator.writing.reading_slips import slips_of, slips_text
from generator.writing.reasoning import given_tests
from generator.writing.statements import statements_in
from generator.writing.teachers_guide import guide_text
from generator.writing.workbooks import records_of
from tests.writing.drawn import OTHER_SECRET, SECRET, workbooks

WORKBOOK = workbooks("practice")[0]
RECORDS = records_of(WORKBOOK)
CODES = reading_codes(SECRET.value, RECORDS)
HANDOUT = handout_text(WORKBOOK, CODES)
CLASS = workbooks("practice")
CLASS_RECORDS = [record for workbook in CLASS for record in records_of(workbook)]
CLASS_CODES = reading_codes(SECRET.value, CLASS_RECORDS)


def content_of(records):
    """The content of an answer key."""
    return {
        "format": 1,
        "set_id": WORKBOOK.set_id,
        "edition": 1,
        "mode": "practice",
        "exercises": records,
    }


def test_handout_holds_no_answer():
    """No fault, repair, misconception, right number or mistake is on it."""
    page = HANDOUT
    forbidden = forbidden_strings(SECRET.value, RECORDS)
    assert leaks_in_page(page, forbidden) == []
    told = RECORDS[0]["fault"]["id"]
    assert leaks_in_page(f"{page}{told}", forbidden)


def test_handout_is_the_same_whatever_the_readings_are():
    """It says nothing of what any instrument shows, but of the tests done in it."""
    exercises = tuple(
        replace(
            one,
            readings=tuple(
                r if number in given_tests(one) else replace(r, display="XX")
                for number, r in enumerate(one.readings)
            ),
        )
        for one in WORKBOOK.exercises
    )
    other = replace(WORKBOOK, exercises=exercises)
    assert handout_text(other, CODES) == HANDOUT


def test_handout_shows_what_is_done_for_the_student():
    """Numbers with their reasons, readings in the order form, and no code for them."""
    first, *others = WORKBOOK.exercises
    assert first.radical.given_tests
    page = handout_text(WORKBOOK, CODES).replace("\u00a0", " ")
    assert page.count("Partly done for you.") == 1
    assert all(escape(asked.wrong) in page for asked in first.predictions)
    done = [
        (first.tests[place].id, first.readings[place].display)
        for place in given_tests(first)
    ]
    assert page.count("<td>done for you</td>") == len(done) > 0
    for test, display in done:
        assert f"<td>{escape(display)}</td>" in page
        assert CODES[WORKBOOK.student, 1, test] not in page
    assert all(one.radical.given_tests is None for one in others)


def test_empty_table_has_no_row_for_a_number_that_is_done():
    """Only what the student writes is typed."""
    key = answer_key_from_content(content_of(RECORDS))
    rows = list(csv.DictReader(io.StringIO(empty_table(key, ORDERS))))
    predictions = [r["exercise"] for r in rows if r["step"] == "prediction"]
    assert predictions == ["2"] * 3 + ["3"] * 3


def test_handout_has_what_an_exercise_needs():
    """Complaint, each test with its code, causes, corrections, cautions, diagram."""
    page = HANDOUT
    for record in RECORDS[1:]:
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


SLIPS = [slip for workbook in CLASS for slip in slips_of(workbook)]
SHEETS = slips_text(WORKBOOK.set_id, SLIPS, CLASS_CODES).replace("\u00a0", " ")
ON_SLIPS = re.findall(r'<td><span class="code">([^<]+)</span>([^<]*)</td>', SHEETS)
SCREENS = re.findall(
    r'<div class="screen-slip"><span class="code">([^<]+)</span> ([^<]*)'
    r'<img src="([^"]+)" alt="([^"]+)"></div>',
    SHEETS,
)


def test_slips_hold_each_reading_under_its_code_in_order():
    """What is looked up is the display, and no outcome stands beside it."""
    assert [code for code, _ in ON_SLIPS] == sorted(CLASS_CODES.values())
    shown = dict(ON_SLIPS)
    for record in CLASS_RECORDS:
        for test in record["tests"]:
            code = CLASS_CODES[record["student"], record["exercise"], test["id"]]
            assert unescape(shown[code]) == test["display"]


def test_screens_of_the_scope_are_on_slips_of_their_own():
    """Each has the picture of the workbook's page, and the same in words."""
    of_scope = {
        CLASS_CODES[slip.place]: slip
        for slip in SLIPS
        if slip.place[2] == "scope_turn_off"
    }
    assert of_scope
    assert [code for code, *_ in SCREENS] == sorted(of_scope)
    for code, display, src, alt in SCREENS:
        slip = of_scope[code]
        assert display == slip.display
        assert src == data_uri(slip.picture.svg)
        assert unescape(alt) == slip.picture.alt
        assert "Voltage at terminal" in alt


def test_pictures_on_paper_are_black_grey_and_white():
    """Nothing of diagrams and screens is told by a colour."""
    pictures = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', SHEETS + HANDOUT)
    colours = {
        colour
        for picture in pictures
        for colour in re.findall(
            r'(?:fill|stroke)="([^"]+)"', b64decode(picture).decode()
        )
    }
    greys = re.compile(r"#([0-9a-f]{2})\1\1|black|white|none")
    assert colours
    assert [colour for colour in colours if not greys.fullmatch(colour)] == []


def test_all_slips_of_a_kind_are_of_one_size():
    """A slip's size says nothing of what stands on it."""
    assert SHEETS.count("<td>") == len(SLIPS)
    assert re.search(r"\.slips td \{ width: 60mm; height: [\d.]+mm;", SHEETS)
    heights = {
        re.search(r'viewBox="([^"]+)"', b64decode(src.partition(",")[2]).decode())[1]
        for _, _, src, _ in SCREENS
    }
    assert len(heights) == 1


def test_codes_do_not_tell_which_reading_decides():
    """Sorted by code, the readings that tell most lie anywhere.

    Wilcoxon's rank sum of what each first choice would waste (Wilcoxon 1945, from
    memory), normalised, is within three standard deviations of no connection.
    """
    [*exercises] = answer_key_from_content(content_of(CLASS_RECORDS)).exercises
    useful = set()
    for record in exercises:
        everything, plan = record.everything, record.plan
        costs = [plan.cost_of(everything, n) for n in range(len(record.tests))]
        best = sorted(range(len(costs)), key=costs.__getitem__)[:5]
        useful |= {(record.student, record.exercise, record.tests[n].id) for n in best}
    by_code = sorted(CLASS_CODES, key=CLASS_CODES.__getitem__)
    ranks = [place for place, at in enumerate(by_code, start=1) if at in useful]
    many, few = len(by_code), len(ranks)
    mean = few * (many + 1) / 2
    deviation = math.sqrt(few * (many - few) * (many + 1) / 12)
    assert abs(sum(ranks) - mean) < 3 * deviation


def test_empty_table_has_the_columns_and_nothing_answered():
    """Every exercise has rows for each step, and no row has an answer."""
    key = answer_key_from_content(content_of(RECORDS))
    rows = list(csv.DictReader(io.StringIO(empty_table(key, ORDERS))))
    assert tuple(rows[0]) == COLUMNS
    assert not any(row["answer"] or row["second_answer"] for row in rows)
    steps = [row["step"] for row in rows if row["exercise"] == "2"]
    assert steps.count("test") == steps.count("finding") == ORDERS


@pytest.fixture(scope="module")
def guide():
    """The guide to one student's exercises."""
    titles = {(r["student"], r["exercise"]): r["title"] for r in RECORDS}
    key = answer_key_from_content(content_of(RECORDS))
    return guide_text(key, titles, {WORKBOOK.student: "Mira <b>Aldeen</b>"})


def test_handout_tells_what_statements_say_by_the_letters_of_the_circuit():
    """Read back with the list of parts, they are those of the workbook's page."""
    page = unescape(HANDOUT)
    sections = re.findall(r"<h3>Parts of the circuit</h3>\n<p>(.+)</p>", page)
    for number, exercise in enumerate(WORKBOOK.exercises):
        named = dict(
            re.findall(r"<strong>(\w)</strong> (.+?)(?:;|$)", sections[number])
        )
        ids = {s["label"]: s["id"] for s in RECORDS[number]["sections"]}
        printed = page.split('<table class="tests">')[number + 1]
        lines = re.findall(r"<br>\n(<strong>s1</strong> .+)</td>", printed)
        for statements, line in zip(statements_in(exercise), lines, strict=False):
            told = dict(re.findall(r"<strong>(s\d)</strong> (.+?)(?:;|$)", line))
            assert list(told) == [one.id for one in statements]
            for one in statements:
                word, _, rest = told[one.id].rpartition("in ")
                letters = rest.removeprefix("clears ").split()
                if told[one.id] == "nothing yet":
                    assert not one.cleared
                    continue
                side = one.suspect if word else one.cleared
                assert tuple(ids[named[letter]] for letter in letters) == side


def test_no_print_is_smaller_than_nine_points():
    """A common floor for print that is read at arm's length: no source."""
    styles = re.search(r"<style>(.+)</style>", HANDOUT, re.DOTALL)[1]
    sizes = re.findall(r"font(?:-size)?: *([\d.]+)pt", styles)
    assert min(map(float, sizes)) >= 9
    # Letters of the diagram have 17 of its width of 680, which is 127 mm.
    assert ".given img { width: 127mm" in styles
    assert 17 / 680 * 127 / 25.4 * 72 >= 9


def test_guide_tells_cause_plan_and_questions_of_each_exercise(guide):
    """Each exercise has its cause framed in the outcome table, and a question."""
    assert guide.count('<tr class="planted">') == len(RECORDS)
    assert guide.count("which causes are left, and what next?") == len(RECORDS)
    for record in RECORDS:
        faults = {cause["fault"]: cause["label"] for cause in record["causes"]}
        assert faults[record["fault"]["id"]] in guide
    assert "Mira &lt;b&gt;Aldeen" in guide
