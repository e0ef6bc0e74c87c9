import csv
import io
import json
import os
import unicodedata
import zipfile
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser

import pytest

from answer_keys.errors import RefusedError
from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.hand_ins.belonging import check_belongs
from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.marker import Marker
from answer_keys.marking.policy import Rubric
from answer_keys.marking.rubric import STEPS, rubric_from_text, rubric_text
from answer_keys.reports.report import sheet_names
from generator.grading import class_grading
from generator.grading.class_grading import GradingJob, grade_class
from tests.answer_keys.samples import (
    ROSTER,
    SET_ID,
    Writer,
    key_content,
    record_content,
    sample_key,
    work_through,
)
from tests.keys import answer_key_of
from workbook.record.progress import replay

RUBRIC = rubric_from_text(rubric_text())
PLANNED = (
    "look_load_fuse",
    "drop_load_ground",
    "look_control_fuse",
    "load_current_new_relay",
)


@pytest.fixture
def folders(tmp_path):
    """Folders of a class set, nothing handed in yet."""
    (tmp_path / "handed-in").mkdir()
    results = tmp_path / "results"
    return GradingJob(
        handed_in=tmp_path / "handed-in",
        results=results,
        gradebook=results / "gradebook.sqlite",
        at=datetime(2026, 12, 1, tzinfo=UTC),
    )


def hand_in_of(student, *, care=1.0, exercises=3, key=None, **more):
    """A hand-in of a student who works through the first exercises."""
    writer = Writer(student=student, **more)
    records = (key or sample_key()).of_student(student)
    for exercise in range(1, exercises + 1):
        work_through(writer, records[exercise], PLANNED, care=care)
    return writer


def graded(folders, roster=ROSTER, rubric=RUBRIC, key=None):
    """The summary of grading the class."""
    return grade_class(key or sample_key(), roster, rubric, folders).summary


def put(folders, name, writer):
    """Hand a file in."""
    (folders.handed_in / name).write_bytes(writer.bytes())


class Page(HTMLParser):
    """Collects what a page is made of."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.attributes, self.text = set(), [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes.extend((tag, name, value or "") for name, value in attrs)

    def handle_data(self, data):
        self.text.append(data)


def check_passive(html):
    """Check that a page can do nothing."""
    page = Page(html)
    assert not page.tags & {"script", "iframe", "object", "embed", "form", "link"}
    assert not page.tags & {"base", "svg", "video", "audio", "input", "button"}
    for tag, name, value in page.attributes:
        assert not name.startswith("on")
        assert name != "src" or value.startswith("data:image/svg+xml;base64,")
        assert name != "href" or value.startswith(("sheets/sheet-", "#exercise-"))
        assert tag != "img" or name != "alt" or value
    assert "default-src 'none'; style-src 'unsafe-inline'; img-src data:" in html
    return " ".join(" ".join(page.text).split())


def test_class_is_graded_and_every_file_accounted_for(folders):
    """Good, old, foreign and broken files all come out by name with a status."""
    put(folders, "b-new.jsonl", hand_in_of("s01"))
    put(folders, "a-old.jsonl", hand_in_of("s01", exercises=1))
    put(folders, "copy.jsonl", hand_in_of("s01"))
    put(folders, "foreign.jsonl", Writer(student="s02", set_id="other"))
    put(folders, "nobody.jsonl", Writer(student="s99"))
    with zipfile.ZipFile(folders.handed_in / "late.zip", "w") as archive:
        archive.writestr("s02.jsonl", hand_in_of("s02", care=0.5).bytes())
        archive.writestr("../x", b"")
    summary = graded(folders)
    status = {one["name"]: one["status"] for one in summary["files"]}
    assert status == {
        "a-old.jsonl": "superseded",
        "b-new.jsonl": "superseded",
        "copy.jsonl": "graded",
        "foreign.jsonl": "refused",
        "late.zip/../x": "refused",
        "late.zip/s02.jsonl": "graded",
        "nobody.jsonl": "refused",
    }
    reasons = {one["name"]: one["reason"] for one in summary["files"]}
    assert reasons["b-new.jsonl"] == "The same bytes as copy.jsonl."
    assert reasons["a-old.jsonl"] == "Older than copy.jsonl."
    assert [one["status"] for one in summary["students"]] == [
        "graded",
        "graded",
        "no hand-in",
    ]
    json.dumps(summary)


ODD = {"nothing": "\\u0000", "half a sign": "\\ud800", "escape": "\\u001b[31m"}


@pytest.mark.parametrize("odd", ODD.values(), ids=ODD)
def test_signs_that_a_database_cannot_hold_cost_nobody_a_mark(folders, place, odd):
    """In a header, an entry, a name of a file or of a field: the honest are graded."""
    text = hand_in_of("s01", exercises=1).bytes().decode()
    for number, (old, new) in enumerate(
        [
            ('"s01"', f'"s01{odd}"'),
            ('"edition"', f'"{odd}":1,"edition"'),
            ('"raw":"', f'"raw":"{odd}'),
            ('"session":"', f'"session":"{odd}'),
        ]
    ):
        assert old in text
        (folders.handed_in / f"{number}.jsonl").write_text(text.replace(old, new, 1))
    other = os.fsdecode(b"other \xff.jsonl")
    (folders.handed_in / other).write_bytes(b"{}")
    with zipfile.ZipFile(folders.handed_in / "class.zip", "w") as archive:
        archive.writestr("QQ.jsonl", text)
    bent = (folders.handed_in / "class.zip").read_bytes().replace(b"QQ", b"\x00\xff")
    (folders.handed_in / "class.zip").write_bytes(bent)
    put(folders, "s02.jsonl", hand_in_of("s02", exercises=1))
    job = replace(folders, gradebook=place)
    summary = grade_class(sample_key(), ROSTER, RUBRIC, job).summary
    status = {one["name"]: one["status"] for one in summary["files"]}
    assert (len(status), status["s02.jsonl"]) == (7, "graded")
    # What is told of them can be printed anywhere.
    told = json.dumps(summary, ensure_ascii=False)
    assert [sign for sign in told if unicodedata.category(sign)[0] == "C"] == []


@pytest.mark.parametrize("limit", [{"_BATCH": 2}, {"_BATCH_BYTES": 1}])
def test_what_is_recorded_together_changes_nothing(folders, monkeypatch, limit):
    """Many files are recorded a share at a time, and as soon as a share is large."""
    for number in range(3):
        put(folders, f"{number}.jsonl", hand_in_of("s01", care=number / 2))
    (folders.handed_in / "notes.txt").write_text("x")
    whole = graded(folders)
    (folders.results / "gradebook.sqlite").unlink()
    shares = []
    record = Gradebook.record

    def counted(book, works, *more):
        shares.append(len(works))
        return record(book, works, *more)

    for name, value in limit.items():
        monkeypatch.setattr(class_grading, name, value)
    monkeypatch.setattr(Gradebook, "record", counted)
    assert graded(folders) == whole
    assert sum(shares) == 3
    assert max(shares) == limit.get("_BATCH", 1)


def test_totals_are_the_marks_of_all_exercises(folders):
    """Right work on two of three exercises has two thirds or nearly so."""
    put(folders, "a.jsonl", hand_in_of("s01", exercises=2))
    first = graded(folders)["students"][0]
    assert first["out_of"] == 300
    assert 190 < first["total"] <= 200


def test_later_work_decides_and_not_the_name(folders):
    """A hand-in with more of the same work counts, whatever the files are called."""
    put(folders, "a.jsonl", hand_in_of("s01", exercises=2))
    put(folders, "b.jsonl", hand_in_of("s01", exercises=1))
    files = graded(folders)["files"]
    assert [one["status"] for one in files] == ["graded", "superseded"]


def test_report_says_for_whom_to_choose(folders):
    """At its top, with what came back and the command at its end."""
    put(folders, "a.jsonl", hand_in_of("s01"))
    put(folders, "b.jsonl", hand_in_of("s01", session="other"))
    code = graded(folders)["files"][1]["code"]
    text = check_passive((folders.results / "class-report.html").read_text())
    assert "Choose for s01: hand-ins came back that do not go on" in text
    assert "1 graded, 0 superseded, 1 undecided, 0 refused." in text
    assert f"clampbook grade SET --take s01 {code}" in text
    graded(replace(folders, taken=[("s01", code)]))
    text = check_passive((folders.results / "class-report.html").read_text())
    assert "Choose for" not in text
    assert "Counts as you chose." in text


def test_grading_again_gives_the_same_files_and_no_new_rows(folders):
    """Same files, same rubric: same marks and pages, nothing added."""
    put(folders, "a.jsonl", hand_in_of("s01", care=0.5))
    first = graded(folders)
    pages = ("class-report.html", "marks.csv", "sheets/sheet-s01.html")
    before = [(folders.results / name).read_bytes() for name in pages]
    second = graded(folders)
    assert [(folders.results / name).read_bytes() for name in pages] == before
    assert (first["gradings_added"], second["gradings_added"]) == (1, 0)
    assert first["students"] == second["students"]


def test_changed_rubric_adds_a_second_mark(folders):
    """The gradebook keeps the marks of both rubrics."""
    put(folders, "a.jsonl", hand_in_of("s01"))
    graded(folders)
    flat = Rubric(weights=dict.fromkeys(STEPS, 1.0))
    assert graded(folders, rubric=flat)["gradings_added"] == 1
    with Gradebook(folders.results / "gradebook.sqlite") as book:
        assert len(book.gradings(SET_ID, "s01")) == 2


def test_everything_written_is_named_and_there(folders):
    """The summary names the files below results."""
    put(folders, "a.jsonl", hand_in_of("s01"))
    told = []
    summary = grade_class(
        sample_key(), ROSTER, RUBRIC, folders, lambda *step: told.append(step)
    ).summary
    assert summary["written"] == [
        "class-report.html",
        "marks.csv",
        "sheets/sheet-s01.html",
    ]
    assert all((folders.results / name).is_file() for name in summary["written"])
    assert told[0] == ("grading", 1, 0)
    assert told[-1] == ("writing", 3, 3)


def test_empty_class_has_a_report(folders):
    """Nothing handed in is no error."""
    assert graded(folders)["files"] == []
    text = check_passive((folders.results / "class-report.html").read_text())
    assert "none yet" in text
    assert text.count("no hand-in that can be graded") == 3


def test_broken_chain_is_a_remark_and_costs_nothing(folders):
    """The instructor is told; the marks stay."""
    writer = hand_in_of("s01")
    del writer.lines[2]
    put(folders, "a.jsonl", writer)
    (receipt,) = graded(folders)["files"]
    assert receipt["status"] == "graded"
    assert "not a proof" in receipt["reason"]


def test_report_of_a_class_says_what_to_teach_again(folders):
    """Wrong rules, misjudged readings, lost minutes and early stops are told."""
    for student, _ in ROSTER:
        put(folders, f"{student}.jsonl", hand_in_of(student, care=0.5))
    graded(folders)
    text = check_passive((folders.results / "class-report.html").read_text())
    assert "3 students: read these figures as hints, not statistics." in text
    assert "Decimal point one place too far left" in text
    assert "what two loads in parallel would draw" in text
    assert "Relay contacts do not close" in text
    assert "never larger than that of the circuit" in text


def test_report_of_full_marks_has_nothing_to_teach_again(folders):
    """A class without a slip gets a report that says so."""
    key = sample_key(("coil_open",))
    put(folders, "a.jsonl", hand_in_of("s01", exercises=1, key=key))
    graded(folders, key=key)
    text = check_passive((folders.results / "class-report.html").read_text())
    for words in ("known wrong rule.", "No reading was misjudged", "No minutes were"):
        assert words in text
    assert "1 student: read" in text


def test_report_of_a_rubric_with_an_empty_step(folders):
    """A step without weight is shown as none, not as a fault."""
    put(folders, "a.jsonl", hand_in_of("s01"))
    weights = dict.fromkeys(STEPS, 0.0) | {"cause": 1.0}
    graded(folders, rubric=Rubric(weights=weights))
    text = check_passive((folders.results / "class-report.html").read_text())
    assert "100 none none none 100 none none" in text


def test_sheet_shows_both_ways_and_every_reason(folders):
    """A student sees the way taken, the planned way, each step and its reason."""
    put(folders, "a.jsonl", hand_in_of("s01", care=0.5, exercises=2))
    graded(folders)
    sheet = folders.results / "sheets" / "sheet-s01.html"
    text = check_passive(sheet.read_text())
    assert "Mira Aldeen" in text
    assert "Your way: 19 min" in text
    assert "The planned way: 9 min" in text
    assert "Look at the load fuse, 2 min: yes; 7 causes" in text
    assert "When to stop" in text
    assert "You did not start this exercise" in text
    assert "first" in text


HOSTILE_NAMES = (
    "</script><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "=HYPERLINK(1)",
    "Mira\u202e neddla",
)


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_hostile_names_do_nothing(folders, name):
    """Whatever a person or a file is called, the pages stay passive."""
    writer = hand_in_of("s01")
    writer.add(9, "prediction", "x", raw=name, value=1.0, unit="A")
    writer.lines.pop()
    put(folders, name.replace("/", "_"), writer)
    graded(folders, roster=[("s01", name)])
    for page in ("class-report.html", "sheets/sheet-s01.html"):
        html = (folders.results / page).read_text()
        check_passive(html)
        assert "\u202e" not in html
        assert "<bdi>" in html


def test_hostile_answer_is_shown_as_text(folders):
    """What a student typed is quoted on the sheet and never markup."""
    writer = Writer()
    typed = "<script>alert(1)</script>"
    writer.add(1, "prediction", "coil_current", raw=typed, value=1.0, unit="A")
    put(folders, "a.jsonl", writer)
    graded(folders)
    html = (folders.results / "sheets" / "sheet-s01.html").read_text()
    assert typed in check_passive(html)


def test_table_guards_text_and_leaves_numbers(folders):
    """Formulas in names are defused; marks stay numbers; UTF-8 is marked."""
    put(folders, "a.jsonl", hand_in_of("s01"))
    roster = [("s01", "=1+1"), ("+s02", "＝1"), ("s03", " @x"), ("s04", "Zoë - B")]
    graded(folders, roster=roster)
    data = (folders.results / "marks.csv").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"))))
    assert rows[0][:3] == ["id", "name", "exercise 1"]
    assert [row[1] for row in rows[1:]] == ["'=1+1", "'＝1", "'@x", "Zoë - B"]
    assert rows[2][0] == "'+s02"
    assert float(rows[1][5]) <= 300
    assert rows[2][5:] == ["", "", "none"]


def test_sheet_names_are_safe_and_differ():
    """No id leads out of the folder, and no two ids share a file on any disk."""
    ids = ["../../x", "X", "x", "x-2", "", "é", "a" * 300]
    names = sheet_names(ids)
    assert len({name.casefold() for name in names.values()}) == len(ids)
    assert all("/" not in name and len(name) < 80 for name in names.values())


@pytest.mark.parametrize(
    ("entry", "problem"),
    [
        (("prediction", "gremlin", {"raw": "1", "value": 1.0, "unit": "A"}), "gremlin"),
        (("verification", "x", {"raw": "1", "value": 1.0, "unit": "A"}), "“x”"),
        (("test", "gremlin", {"expected": "none"}), "gremlin"),
        (("test", "load_current", {"expected": "yes"}), "“yes”"),
        (
            ("finding", "load_current", {"outcome": "often", "statement": "none"}),
            "often",
        ),
        (
            ("finding", "load_current", {"outcome": "none", "statement": "s99"}),
            "s99",
        ),
        (("conclusion", "x", {"cause": "c99", "correction": "r01"}), "c99"),
        (("conclusion", "x", {"cause": "c01", "correction": "r99"}), "r99"),
    ],
)
def test_entry_about_what_is_not_there_is_refused(entry, problem):
    """Words that the exercise does not hold are no work of this exercise."""
    writer = Writer()
    kind, item, values = entry
    writer.add(1, kind, item, **values)
    with pytest.raises(RefusedError, match=problem):
        check_belongs(read_hand_in("a", writer.bytes()), sample_key(), {"s01"})


@pytest.mark.parametrize(
    ("values", "problem"),
    [
        ({"set_id": "m3"}, "belongs to set “m3”, not to “k7m2q”"),
        ({"edition": 2}, "edition 2 of the set; the answer key is for edition 1"),
        ({"student": "s99"}, "“s99” is not in the roster"),
        ({"student": "s04"}, "holds nothing for student “s04”"),
    ],
)
def test_hand_in_of_another_class_is_refused(values, problem):
    """Set, edition and student must be those of the key."""
    hand_in = read_hand_in("a", Writer(**values).bytes())
    with pytest.raises(RefusedError, match=problem):
        check_belongs(hand_in, sample_key(), {"s01", "s04"})


def test_entry_of_an_exercise_not_given_is_refused():
    """The student's exercises are those of the key."""
    writer = Writer()
    writer.answer(9, "prediction", "coil_current", 1.0)
    with pytest.raises(RefusedError, match="exercise 9, which"):
        check_belongs(read_hand_in("a", writer.bytes()), sample_key(), {"s01"})


def test_hint_belongs_in_a_practice_set_only():
    """A graded set gives no hints, whatever a hand-in says of its own set."""
    writer = Writer()
    writer.add(1, "hint", "choice", step=1)
    hand_in = replace(read_hand_in("a", writer.bytes()), mode="practice")
    with pytest.raises(RefusedError, match="only a practice set"):
        check_belongs(hand_in, sample_key(), {"s01"})
    check_belongs(hand_in, replace(sample_key(), mode="practice"), {"s01"})


def test_work_begins_once_more_in_a_practice_set_only():
    """There the last way is marked as if it were the only one, whatever is noted."""
    twice, once = Writer(), Writer()
    key = replace(sample_key(), mode="practice")
    record = key.of_student("s01")[1]
    twice.answer(1, "prediction", "coil_current", 99.0)
    twice.add(1, "note", "exercise", text="no guesses")
    twice.add(1, "restart", "exercise")
    for writer in (twice, once):
        work_through(writer, record, [test.id for test in record.tests[:2]])
    hand_in, other = (read_hand_in("a", each.bytes()) for each in (twice, once))
    with pytest.raises(RefusedError, match="begins exercise 1 once more"):
        check_belongs(hand_in, sample_key(), {"s01"})
    check_belongs(hand_in, key, {"s01"})
    marks = [
        grade_exercise(record, replay(each.entries, {1: record.start})[1], RUBRIC)
        for each in (hand_in, other)
    ]
    assert marks[0] == marks[1]


def test_cause_without_a_label_is_named_by_its_id():
    """A fault that is not among the causes on offer still has a name."""
    content = record_content()
    content["causes"], content["corrections"] = [], []
    key = answer_key_of(key_content() | {"exercises": [content]})
    record = next(key.exercises)
    assert record.label_of_fault("load_ground_high") == "load ground high"
    assert record.label_of_repair("replace_fan") == "replace fan"


def test_work_handed_in_again_is_marked_as_if_it_came_alone(folders):
    """Whatever a student had handed in before, the marks are those of the work."""
    key = sample_key()
    put(folders, "1.jsonl", hand_in_of("s01"))
    put(folders, "2.jsonl", hand_in_of("s01", care=0.0))
    put(folders, "3.jsonl", hand_in_of("s02"))
    put(folders, "4.jsonl", hand_in_of("s01", exercises=2))
    students = frozenset(id_ for id_, _ in ROSTER)
    marker = Marker(key=key, rubric=RUBRIC, students=students)
    for found in marker.marked_in(folders.handed_in):
        alone = Marker(key=key, rubric=RUBRIC, students=students)
        assert found.work.marks
        assert [found] == list(alone.marked_at(folders.handed_in, found.name))


def test_faulty_record_of_the_key_is_told_and_stops_no_other_student(folders):
    """The place in the key is named; the others are graded."""
    content = key_content()
    broken = next(r for r in content["exercises"] if r["student"] == "s02")
    del broken["fault"]
    put(folders, "1.jsonl", hand_in_of("s01"))
    put(folders, "2.jsonl", hand_in_of("s02"))
    first, second = graded(folders, key=answer_key_of(content))["files"]
    assert (first["status"], second["status"]) == ("graded", "refused")
    assert (
        "The answer key's content is at fault: “[0].fault” is missing"
        in second["reason"]
    )


def test_marks_remembered_are_of_the_same_work_under_the_same_rubric(folders):
    """What was marked before decides nothing: not other work, nor other weights."""
    twice = replace(RUBRIC, weights={k: 2 * v for k, v in RUBRIC.weights.items()})
    put(folders, "half.jsonl", hand_in_of("s01", care=0.5))
    put(folders, "whole.jsonl", hand_in_of("s01"))
    totals = {}
    for rubric in (RUBRIC, twice, RUBRIC):
        marker = Marker(key=sample_key(), rubric=rubric, students=frozenset({"s01"}))
        for marked in marker.marked_in(folders.handed_in):
            totals.setdefault(marked.name, []).append(marked.work.mark)
    for first, doubled, again in totals.values():
        assert (doubled, again) == (pytest.approx(2 * first), first)
    assert totals["half.jsonl"][0] < totals["whole.jsonl"][0]
