"""Grading without a terminal: what comes out, and marks changed by hand."""

import html
import re

import pytest

from answer_keys.errors import OverridesError
from generator.week.checked import Check, last_check
from generator.week.checking import check, keep_check
from generator.week.marking import Marking, changed_mark, grade
from generator.week.opened import opened_set
from generator.week.reporting import Wanted, export, report, result_of
from lessons.loader import read_lesson
from tests.cli.command import json_of


def test_grading_accounts_for_files_and_for_who_is_missing(opened):
    """The student whose file is taken away has handed in nothing."""
    next(opened.class_set.handed_in.glob("*s02*")).unlink()
    told = []
    graded = grade(opened, tell=lambda *step: told.append(step))
    assert [one.status for one in graded.result.receipts] == ["graded"]
    assert [one.id for one in graded.missing] == ["s02"]
    assert {stage for stage, _, _ in told} == {"grading", "writing"}


def test_function_and_command_give_the_same_marks(opened):
    """Both are the same work."""
    ours = grade(opened).summary
    theirs = json_of("grade", opened.class_set.folder)
    assert theirs["students"] == ours["students"]
    assert theirs["gradings_added"] == 0


def test_mark_is_changed_with_a_reason_and_taken_back(reported):
    """It counts at once, and the report says why."""
    place = "s01", 1, "cause"
    before = result_of(reported).students[0].total
    held = sum(
        mark.mark
        for mark in result_of(reported).students[0].exercises[0].of_step("cause")
    )
    new = 0.0 if held else 20.0
    grade(reported, Marking(overrides=[changed_mark(reported, place, new, "said so")]))
    assert result_of(reported).students[0].total == pytest.approx(before + new - held)
    grade(reported, Marking(overrides=[changed_mark(reported, place, None, "back")]))
    assert result_of(reported).students[0].total == pytest.approx(before)


@pytest.mark.parametrize(
    ("place", "mark", "reason", "said"),
    [
        (("x9", 1, "cause"), 1.0, "why", "student “x9” is not in the answer key"),
        (("s01", 9, "cause"), 1.0, "why", "no exercise “9”"),
        (("s01", 1, "guess"), 1.0, "why", "no step “guess”"),
        (("s01", 1, "cause"), 1.0, "", "write a reason"),
    ],
)
def test_mark_that_cannot_be_is_refused(place, mark, reason, said, reported):
    """Each fault is a sentence that a page can show."""
    with pytest.raises(OverridesError, match=said):
        changed_mark(reported, place, mark, reason)


def test_report_is_headed_by_what_its_instructor_knows(reported):
    """The set's name, its lessons, and the day; its code stands at the foot."""
    report(reported)
    page = reported.class_set.results / "class-report.html"
    text = page.read_text("utf-8")
    (title,) = re.findall("<h1>(.*?)</h1>", text)
    assert title == reported.class_set.folder.name
    for lesson in reported.class_set.request.lessons:
        assert html.escape(read_lesson(lesson).lesson.title, quote=False) in text
    assert re.search(r"Marked on \d{4}-\d\d-\d\d", text)


def test_report_gives_figures_and_names_its_files(reported):
    """The figures are of the class that was graded."""
    made = report(reported)
    assert len(made.figures.result.graded) == 2
    assert "class-report.html" in made.written


def test_results_are_exported_without_a_file(reported, tmp_path):
    """A page gives them out itself."""
    wanted = Wanted(format="csv", file=tmp_path / "marks.csv", decimal="comma")
    made = export(reported, result_of(reported), wanted)
    assert b"s01" in made.data
    assert list(tmp_path.glob("*.csv")) == []


def test_last_check_is_kept_beside_the_set(opened):
    """A set that was never checked says so; a stray file is a fault in words."""
    class_set = opened.class_set
    assert last_check(class_set) is None
    (class_set.folder / "for-students" / "notes.txt").write_text("x")
    for folder in (class_set.folder / "for-students").glob("s*"):
        next(folder.glob("*.ipynb")).write_text("{}")
    keep_check(class_set, check(opened))
    kept = last_check(opened_set(class_set.folder).class_set)
    assert isinstance(kept, Check)
    assert not kept.is_sound
    assert kept.counts["workbooks"] == (0, 3)
    assert any(fault.startswith("for-students/notes.txt: ") for fault in kept.faults)
    class_set.checked_file.write_text("{")
    assert last_check(class_set) is None
