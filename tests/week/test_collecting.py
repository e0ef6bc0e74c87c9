"""What comes back is put in safely, accounted for, and typed in from paper."""

import pytest

from answer_keys.errors import RefusedError
from generator.errors import ClassSetError
from generator.week import collecting
from generator.week.collecting import (
    PaperAnswer,
    collect,
    keep_paper,
    paper_form,
    put_in,
)
from generator.week.marking import grade
from tests.cli.command import files_below


@pytest.fixture(autouse=True)
def read_in_this_process(monkeypatch):
    """Each other process takes a second; both give the same."""

    def marked_here(marker, folder, *, workers):  # noqa: ARG001 - of the others
        return marker.marked_in(folder)

    monkeypatch.setattr(collecting, "mark_in_processes", marked_here)


def test_files_are_accounted_for_and_the_missing_are_named(opened):
    """A workbook in place of a hand-in is refused; nothing is recorded."""
    handed_in = opened.class_set.handed_in
    next(handed_in.glob("*s02*")).unlink()
    put_in(opened.class_set, "mine.ipynb", b'{"cells": []}')
    before = files_below(opened.class_set.folder)
    found = collect(opened)
    assert files_below(opened.class_set.folder) == before
    assert [one.id for one in found.handed_in] == ["s01"]
    assert [one.id for one in found.missing] == ["s02"]
    assert {one.name: bool(one.refusal) for one in found.files} == {
        next(handed_in.glob("*s01*")).name: False,
        "mine.ipynb": True,
    }


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("a.jsonl", "a.jsonl"),
        ("Aldeen_7/work.jsonl", "Aldeen_7/work.jsonl"),
        ("../../etc/x.jsonl", "etc/x.jsonl"),
        ("C:\\Users\\ada\\x.jsonl", "C_/Users/ada/x.jsonl"),
        ("/root/.hidden", "root/hidden"),
        ("..", "file"),
        ("", "file"),
        ("a\u202e\x00b.zip", "ab.zip"),
        ("marks.csv", "returned/marks.csv"),
    ],
)
def test_name_of_a_file_leads_nowhere_else(name, kept, opened):
    """It is below the folder of what came back, whatever it was called."""
    assert put_in(opened.class_set, name, b"x") == kept
    assert (opened.class_set.handed_in / kept).read_bytes() == b"x"


def test_file_is_kept_once_and_never_overwritten(opened):
    """The same bytes again are the same file; others get another name."""
    names = [
        put_in(opened.class_set, "a.zip", data) for data in (b"1", b"2", b"1", b"3")
    ]
    assert names == ["a.zip", "a-2.zip", "a.zip", "a-3.zip"]


def test_huge_file_is_refused(opened, monkeypatch):
    """Before anything of it is written."""
    monkeypatch.setattr(collecting, "MAX_ZIP_BYTES", 3)
    with pytest.raises(RefusedError, match="larger than 3 bytes"):
        put_in(opened.class_set, "a.zip", b"1234")


def paper_of(form):
    """A number for each prediction, and else the first of all that can be chosen."""
    for exercise in form:
        steps = ("test", "finding", "conclusion")
        first = {one.step: one for one in reversed(exercise.asked)}
        numbers = [one for one in exercise.asked if one.step == "prediction"]
        for one in [*numbers, *(first[step] for step in steps if step in first)]:
            yield PaperAnswer(
                exercise=exercise.number,
                step=one.step,
                item=one.item,
                answer=one.first[0][0] if one.first else f"1 {one.unit}",
                second_answer=one.second[0][0] if one.second else "",
            )


def test_paper_is_typed_in_and_graded(opened):
    """The form names what the grammar of the table takes."""
    for path in opened.class_set.handed_in.iterdir():
        path.unlink()
    form = paper_form(opened, "s02")
    assert [one.number for one in form] == [1, 2]
    path = keep_paper(opened, "s02", list(paper_of(form)))
    assert path.name == "typed-s02.csv"
    graded = grade(opened)
    assert [one.id for one in graded.result.graded] == ["s02"]
    assert [one.status for one in graded.result.receipts] == ["graded"]


def test_faults_of_paper_are_told_and_nothing_is_written(opened):
    """All at once, and an earlier table stays."""
    answers = [
        PaperAnswer(exercise=1, step="prediction", item="1", answer="much"),
        PaperAnswer(exercise=9, step="conclusion", answer="c01", second_answer="r01"),
    ]
    before = files_below(opened.class_set.folder)
    with pytest.raises(RefusedError) as caught:
        keep_paper(opened, "s01", answers)
    told = caught.value.reason.splitlines()
    assert told[0].startswith("Exercise 1, prediction 1: ")
    assert told[1].startswith("Exercise 9, cause and correction: ")
    assert files_below(opened.class_set.folder) == before


def test_paper_of_nobody_is_refused(opened):
    """The students of the set are named."""
    with pytest.raises(ClassSetError, match="has no student 'x'"):
        paper_form(opened, "x")
