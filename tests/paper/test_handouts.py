"""On paper a student gets everything but readings, and the instructor all of them."""

import csv
import io
import math
import re
from dataclasses import replace
from functools import cache, partial
from html import escape, unescape

import pytest

from answer_keys.hand_ins.typed_table import COLUMNS, empty_table
from generator.checking.leaks import forbidden_strings, leaks_in_page
from generator.paper.guide import guide_text
from generator.paper.handouts import ORDERS, handout_text
from generator.paper.shared_words import sentences
from generator.paper.slips import reading_codes, slips_of, slips_text
from generator.workbooks.class_workbooks import records_of
from generator.workbooks.page_records import page_record
from generator.workbooks.statements import statements_in
from tests.drawn import OTHER_SECRET, SECRET, plain_workbooks
from tests.keys import answer_key_of, content_of
from tests.paper.paper import paper

own = partial(paper, "practice")


@cache
def class_records():
    """The key records of a whole class."""
    return [r for workbook in plain_workbooks("practice") for r in records_of(workbook)]


@cache
def class_codes():
    """The codes of all their readings."""
    return reading_codes(SECRET.value, class_records())


def key_of(records):
    """The answer key of one student, or of several."""
    content = {
        "set_id": own().workbook.set_id,
        "edition": 1,
        "mode": "practice",
        "exercises": content_of(records),
    }
    return answer_key_of(content)


def test_handout_holds_no_answer():
    """No fault, repair, misconception, right number or mistake is on it."""
    page = own().handout
    forbidden = forbidden_strings(SECRET.value, own().records)
    assert leaks_in_page(page, forbidden) == []
    told = own().records[0].fault.id
    assert leaks_in_page(f"{page}{told}", forbidden)


def test_handout_is_the_same_whatever_the_readings_are():
    """It says nothing of what any instrument shows, but of the tests done in it."""
    exercises = tuple(
        replace(
            one,
            readings=tuple(
                r if number in one.given_tests else replace(r, display="XX")
                for number, r in enumerate(one.readings)
            ),
        )
        for one in own().workbook.exercises
    )
    other = replace(own().workbook, exercises=exercises)
    assert handout_text(other, own().codes) == own().handout


def test_handout_shows_what_is_done_for_the_student():
    """Numbers with their reasons, readings in the order form, and no code for them."""
    first, *others = own().workbook.exercises
    assert first.radical.given_tests
    page = handout_text(own().workbook, own().codes).replace("\u00a0", " ")
    assert page.count("Partly done for you.") == 1
    assert all(escape(asked.wrong) in page for asked in first.predictions)
    done = [
        (first.tests[place].id, first.readings[place].said)
        for place in first.given_tests
    ]
    assert page.count("<td>done for you</td>") == len(done) > 0
    for test, display in done:
        assert f"<td>{escape(display)}</td>" in page
        assert own().codes[own().workbook.student, 1, test] not in page
    assert all(one.radical.given_tests is None for one in others)


def test_empty_table_has_no_row_for_a_number_that_is_done():
    """Only what the student writes is typed."""
    key = key_of(own().records)
    rows = list(
        csv.DictReader(io.StringIO(empty_table(key.set_id, key.exercises, ORDERS)))
    )
    predictions = [r["exercise"] for r in rows if r["step"] == "prediction"]
    assert predictions == ["2"] * 3 + ["3"] * 3


def test_handout_has_what_an_exercise_needs():
    """Complaint, each test with its code, causes, corrections, cautions, diagram."""
    page = own().handout
    for record in own().records[1:]:
        for test in record.tests:
            assert own().codes[record.student, record.exercise, test.id] in page
    assert page.count("<title>Wiring diagram: ") == len(own().records)
    assert page.count("2. Test: order form") == len(own().records)
    assert "never larger than that of the circuit" in page
    assert "<script" not in page
    assert "src=" not in page
    assert set(re.findall(r"url\((.{10})", page)) == {"data:font/"}


def test_codes_differ_and_hang_on_the_secret():
    """No two readings share a code, and another secret gives others."""
    assert len(set(own().codes.values())) == len(own().codes)
    assert all(
        re.fullmatch(r"[a-z2-9]{3}-[a-z2-9]{3}", c) for c in own().codes.values()
    )
    others = reading_codes(OTHER_SECRET.value, own().records)
    assert not set(others.values()) & set(own().codes.values())


@cache
def slips():
    """Every slip of the class."""
    return [
        slip for workbook in plain_workbooks("practice") for slip in slips_of(workbook)
    ]


@cache
def sheets():
    """The sheets on which they stand."""
    set_id = own().workbook.set_id
    return slips_text(set_id, slips(), class_codes()).replace("\u00a0", " ")


@cache
def on_slips():
    """Code and display of each slip without a picture."""
    slip = r'<td><span class="code">([^<]+)</span>([^<]*)</td>'
    return re.findall(slip, sheets())


@cache
def screens():
    """Code, display and picture of each slip with one."""
    slip = (
        r'<div class="screen-slip"><span class="code">([^<]+)</span> ([^<]*)(.+?)</div>'
    )
    return re.findall(slip, sheets(), re.DOTALL)


def test_slips_hold_each_reading_under_its_code_in_order():
    """What is looked up is the display, and no outcome stands beside it."""
    assert [code for code, _ in on_slips()] == sorted(class_codes().values())
    shown = dict(on_slips())
    for record in class_records():
        for test in record.tests:
            code = class_codes()[record.student, record.exercise, test.id]
            assert unescape(shown[code]) == test.display


def test_screens_of_the_scope_are_on_slips_of_their_own():
    """Each has the picture of the workbook's page, and the same in words."""
    of_scope = {
        class_codes()[slip.place]: slip
        for slip in slips()
        if slip.place[2] == "scope_turn_off"
    }
    assert of_scope
    assert [code for code, *_ in screens()] == sorted(of_scope)
    for code, display, picture in screens():
        slip = of_scope[code]
        assert display == slip.display
        assert picture == slip.picture.svg
        assert f"<desc>{escape(slip.picture.alt, quote=False)}</desc>" in picture
        assert "Voltage at terminal" in picture


def test_pictures_on_paper_are_black_grey_and_white():
    """Nothing of diagrams and screens is told by a colour."""
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', sheets() + own().handout))
    greys = re.compile(r"#([0-9a-f]{2})\1\1|black|white|none")
    assert colours
    assert [colour for colour in colours if not greys.fullmatch(colour)] == []


def test_all_slips_of_a_kind_are_of_one_size():
    """A slip's size says nothing of what stands on it."""
    assert sheets().count("<td>") == len(slips())
    assert re.search(r"\.slips td \{ width: 60mm; height: [\d.]+mm;", sheets())
    heights = {re.search(r'viewBox="([^"]+)"', svg)[1] for _, _, svg in screens()}
    assert len(heights) == 1


def test_codes_do_not_tell_which_reading_decides():
    """Sorted by code, the readings that tell most lie anywhere.

    Wilcoxon's rank sum of what each first choice would waste (Wilcoxon 1945, from
    memory), normalised, is within three standard deviations of no connection.
    """
    [*exercises] = key_of(class_records()).exercises
    useful = set()
    for record in exercises:
        everything, plan = record.everything, record.plan
        costs = [plan.cost_of(everything, n) for n in range(len(record.tests))]
        best = sorted(range(len(costs)), key=costs.__getitem__)[:5]
        useful |= {(record.student, record.exercise, record.tests[n].id) for n in best}
    by_code = sorted(class_codes(), key=class_codes().__getitem__)
    ranks = [place for place, at in enumerate(by_code, start=1) if at in useful]
    many, few = len(by_code), len(ranks)
    mean = few * (many + 1) / 2
    deviation = math.sqrt(few * (many - few) * (many + 1) / 12)
    assert abs(sum(ranks) - mean) < 3 * deviation


def test_empty_table_has_the_columns_and_nothing_answered():
    """Every exercise has rows for each step, and no row has an answer."""
    key = key_of(own().records)
    rows = list(
        csv.DictReader(io.StringIO(empty_table(key.set_id, key.exercises, ORDERS)))
    )
    assert tuple(rows[0]) == COLUMNS
    assert not any(row["answer"] or row["second_answer"] for row in rows)
    steps = [row["step"] for row in rows if row["exercise"] == "2"]
    assert steps.count("test") == steps.count("finding") == ORDERS


@pytest.fixture(scope="module")
def guide():
    """The guide to one student's exercises."""
    key = key_of(own().records)
    return guide_text(key, {own().workbook.student: "Mira <b>Aldeen</b>"})


def test_handout_tells_what_statements_say_by_the_letters_of_the_circuit():
    """Read back with the list of parts, they are those of the workbook's page."""
    page = unescape(own().handout).replace("\u00a0", " ")
    parts = r"Parts of the circuit\.</strong> <ul>(.+?)</ul>"
    sections = re.findall(parts, page, re.DOTALL)
    for number, exercise in enumerate(own().workbook.exercises):
        named = dict(
            re.findall(r"<strong>(\w)</strong> (.+?);?</li>", sections[number])
        )
        ids = {s.label: s.id for s in own().records[number].sections}
        printed = page.split('<ol class="tests">')[number + 1]
        lines = re.findall(r"\n(<strong>s1</strong>.+)</li>", printed)
        for statements, line in zip(statements_in(exercise), lines, strict=False):
            told = dict(re.findall(r"<strong>(s\d)</strong> (.+?)(?:;|$)", line))
            assert list(told) == [one.id for one in statements]
            for one in statements:
                word, _, letters = told[one.id].partition(" ")
                if word == "–":
                    assert not one.cleared
                    continue
                side = {"in": one.suspect, "not": one.cleared}[word]
                assert tuple(ids[named[letter]] for letter in letters) == side


def marked_in(page):
    """What each mark stands for, by exercise."""
    shared = re.search(r'<ul class="[^"]+" id="marks">(.+?)</ul>', page, re.DOTALL)[1]
    own_list = r"Marks of this exercise.</strong> <ul>(.+?)</ul>"
    return [
        dict(re.findall(r"<strong>(\w+)</strong> (.+?)</li>", shared + owns))
        for owns in re.findall(own_list, page, re.DOTALL)
    ]


def test_marks_at_a_test_stand_for_all_that_it_needs_to_be_done_safely():
    """Read back with the lists of the first page and the exercise, nothing is lost."""
    page = unescape(own().handout).replace("\u00a0", " ")
    texts_of = marked_in(page)
    lists = re.findall(r'<ol class="tests">(.+?)</ol>', page, re.DOTALL)
    for number, exercise in enumerate(own().workbook.exercises):
        texts = texts_of[number]
        items = lists[number].split("</li>")[:-1]
        tests = page_record(exercise, number + 1, "graded").tests
        for test, item in zip(tests, items, strict=True):
            marks = re.search(r" min ([PH].+?)\. ", item)[1].split()
            said = {
                texts[f"{sort[0]}{each}"]
                for sort in marks
                if sort[0] != "P"
                for each in sort[1:].split(",")
            }
            assert set(test.hazards) <= said
            assert " / ".join(test.outcomes) + "." in said
            before = test.before.replace(exercise.specification.names.load, "load")
            assert all(each in said for each in sentences(before))


def test_marks_of_what_is_done_stand_for_all_of_it():
    """With every M in its words again, each test is done as its page says."""
    page = unescape(own().handout).replace("\u00a0", " ")
    texts_of = marked_in(page)
    lists = re.findall(r'<ol class="tests">(.+?)</ol>', page, re.DOTALL)
    for number, exercise in enumerate(own().workbook.exercises):
        tests = page_record(exercise, number + 1, "graded").tests
        for test, item in zip(tests, lists[number].split("</li>")[:-1], strict=True):
            said = item
            for mark in re.findall(r"\bM\d+\b", item):
                said = said.replace(mark, texts_of[number][mark].rstrip("."), 1)
            assert test.how.replace(exercise.specification.names.load, "load") in said


def test_words_of_several_exercises_are_printed_once():
    """What is shared stands on the first page alone."""
    page = own().handout.replace("\u00a0", " ")
    for text in (
        "The clamp is zeroed on its scale and closed around one wire only.",
        "Use a fused lead only, with a fuse no larger than that of the circuit.",
        "A place (P) takes its minutes once: then it stays open.",
    ):
        assert page.count(text) == 1


def test_no_print_is_smaller_than_nine_points():
    """A common floor for print that is read at arm's length: no source."""
    styles = re.search(r"<style>(.+)</style>", own().handout, re.DOTALL)[1]
    sizes = re.findall(r"font(?:-size)?: *([\d.]+)pt", styles)
    assert min(map(float, sizes)) >= 9
    # Letters of the diagram have 17 of its width of 680, which is 127 mm.
    assert ".given svg { width: 127mm" in styles
    assert 17 / 680 * 127 / 25.4 * 72 >= 9


def test_guide_tells_cause_plan_and_questions_of_each_exercise(guide):
    """Each exercise has its cause framed in the outcome table, and a question."""
    assert guide.count('<tr class="planted">') == len(own().records)
    assert guide.count("which causes are left, and what next?") == len(own().records)
    for record in own().records:
        faults = {cause.fault: cause.label for cause in record.causes}
        assert faults[record.fault.id] in guide
    assert "Mira &lt;b&gt;Aldeen" in guide
