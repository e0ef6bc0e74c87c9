"""A generated class, worked by invented students and graded as it came back."""

import json
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.marking.rubric import STEPS, rubric_from_text, rubric_text
from answer_keys.reports.report import class_in
from generator.drawing.stream import Stream
from generator.grading.class_grading import grade_into
from generator.invented.cohort import hand_in_of
from generator.invented.kinds import KINDS, InventedStudent
from tests.drawn import SECRET, workbooks
from tests.keys import answer_key_of, key_content_of, whole_of

RUBRIC = rubric_from_text(rubric_text())
STUDENTS = ("s01", "s02", "s03")
SET = {"format": 1, "set_id": "abcd2345", "edition": 1, "mode": "graded"}


@cache
def content():
    """The opened key of a class of three."""
    records = [
        key_content_of(
            exercise,
            number,
            {
                "set_id": SET["set_id"],
                "student": workbook.student,
                "lesson": "mixed-diagnosis",
            },
        )
        for workbook in workbooks("graded")
        for number, exercise in enumerate(workbook.exercises, start=1)
    ]
    return {**SET, "exercises": records}


@cache
def worked(kind):
    """Name and bytes of what every student of the class hands in, all of one kind."""
    stream = Stream(SECRET.value, "cohort")
    files = {}
    for student in STUDENTS:
        own = [r for r in content()["exercises"] if r["student"] == student]
        worker = InventedStudent(
            id=student, kind=kind, slip_frac=KINDS[kind].slip_frac[1]
        )
        name, data = hand_in_of(worker, [*map(whole_of, own)], SET, stream)
        files[name] = data
    return files


def graded_again(kind):
    """Grade the class from its files."""
    key = answer_key_of(content())
    with TemporaryDirectory() as folder:
        for name, data in worked(kind).items():
            (Path(folder) / name).write_bytes(data)
        roster = [(student, student) for student in STUDENTS]
        with Gradebook("sqlite://") as book:
            grade_into(book, key, dict.fromkeys(STUDENTS, ""), RUBRIC, Path(folder))
            return class_in(book, key, roster)


graded = cache(graded_again)


def steps_of(result):
    """All step marks of a class, each with its student's exercise."""
    return [
        (student, one, step)
        for student in result.students
        for one in student.exercises
        for step in one.marks.steps
    ]


def asked_in(record):
    """Every question of a key record."""
    return (*record["predictions"], record["verification"])


def wrong_rules(kind):
    """The wrong rule by which each number was made, by student, exercise and item."""
    questions = {
        (record["student"], record["exercise"], asked["id"]): asked
        for record in content()["exercises"]
        for asked in asked_in(record)
    }
    found = {}
    for name, data in worked(kind).items():
        for entry in map(json.loads, data.decode().splitlines()[2:]):
            if "value" in entry:
                place = (name[-9:-6], entry["exercise"], entry["item"])
                asked = questions[place]
                rules = (asked, *asked["misconceptions"])
                off = {abs(r["value"] / entry["value"] - 1): r for r in rules}
                if off[min(off)] is not asked:
                    found[place] = off[min(off)]
    return found


def test_expert_gets_full_marks_in_every_step():
    """Who makes no slip loses nothing anywhere."""
    result = graded("expert")
    assert [receipt.status for receipt in result.receipts] == ["graded"] * 3
    for _, _, step in steps_of(result):
        assert step.mark == pytest.approx(step.out_of), step.reason
    assert [s.total for s in result.students] == pytest.approx([300] * 3)


def test_planted_misconceptions_are_the_ones_reported():
    """Each wrong number is traced to the wrong rule that it was made by."""
    rules = wrong_rules("guesser")
    assert len(rules) > 12
    for student, one, step in steps_of(graded("guesser")):
        rule = rules.pop((student.id, one.marks.exercise, step.item), None)
        if rule is not None:
            assert step.misconception == rule["id"]
            assert rule["text"] in step.reason
    assert not rules


@pytest.mark.parametrize("kind", KINDS)
def test_every_step_is_marked_with_a_reason(kind):
    """Each exercise has all six steps, adding up to its weights, each with words."""
    for student in graded(kind).students:
        for one in student.exercises:
            steps = one.marks.steps
            assert tuple(dict.fromkeys(step.step for step in steps)) == STEPS
            assert sum(step.out_of for step in steps) == pytest.approx(100)
            assert all(step.reason.strip() for step in steps)


def test_same_files_get_the_same_marks():
    """Grading again changes no mark and no reason."""
    results = (graded("novice"), graded_again("novice"))
    first, again = ([step for *_, step in steps_of(result)] for result in results)
    assert first == again
