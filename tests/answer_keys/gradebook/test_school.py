"""A gradebook with all classes of a school in it, by the same tests on either."""

import hashlib
import multiprocessing
import os
import re
import signal
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from answer_keys.gradebook import gradebook_schema as schema
from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.standings import Override, Receipt, new_standing
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.marking.marked import Marked
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from generator.grading import class_grading
from generator.grading.class_grading import grade_into
from tests.answer_keys.gradebook.test_gradebook import NOW, SOURCE, rows_in, work

RUBRIC = rubric_from_text(rubric_text())


def of_class(set_id, students=3):
    """A hand-in of each student of a class."""
    return [
        work(
            student=f"s{number:02}",
            set_id=set_id,
            sha=hashlib.sha256(f"{set_id} {number}".encode()).hexdigest(),
        )
        for number in range(students)
    ]


def fill(book, sets, students=3, at=NOW):
    """Grade classes, with marks set by hand, choices and returned files."""
    for set_id in sets:
        works = of_class(set_id, students)
        book.record(works, SOURCE, at)
        total = 10.0, 30.0
        standings = [
            new_standing(one.student, one.sha256, total, counts="last") for one in works
        ]
        book.settle(set_id, standings, SOURCE, at)
        by_hand = [
            Override(student=one.student, exercise=1, step="cause", mark=9, reason="x")
            for one in works[::2]
        ]
        book.override(set_id, by_hand, at)
        book.choose(set_id, {one.student: (one.sha256,) for one in works[1::2]}, at)
        receipts = [
            Receipt(name=one.name, status="graded", student=one.student)
            for one in works
        ]
        book.account(set_id, [*receipts, Receipt(name="x", status="refused")])


@contextmanager
def asked(book):
    """What is asked of the database meanwhile, with its parameters."""
    found = []

    def note(_connection, _cursor, statement, parameters, *_):
        found.append((statement, parameters))

    sa.event.listen(book._engine, "before_cursor_execute", note)
    yield found
    sa.event.remove(book._engine, "before_cursor_execute", note)


def test_all_classes_are_read_by_as_many_queries_as_one(place):
    """And what is read is what each gives by itself."""
    sets = [f"set{number:02}" for number in range(12)]
    with Gradebook(place) as book:
        fill(book, sets)
        with asked(book) as of_one:
            assert dict(book.counted_of_sets(sets[:1])).keys() == {sets[0]}
        with asked(book) as of_all:
            found = dict(book.counted_of_sets([*sets, "nobody's"]))
        assert list(found) == sets
        assert len(of_all) == len(of_one) == 2
        assert all(found[set_id] == book.counted(set_id) for set_id in sets)
    (exercise,) = found["set03"]["s00"].exercises
    assert exercise.steps[-1].reason == "x"


def test_old_work_is_forgotten_and_what_is_new_keeps_all_of_its_student(place):
    """By when something was graded first; a set goes with its last student."""
    year = timedelta(days=365)
    with Gradebook(place) as book:
        fill(book, ["gone", "mixed"], at=NOW - year)
        fill(book, ["new"])
        again = work(student="s01", set_id="mixed", sha="c" * 64)
        book.record([again], SOURCE, NOW)
        named = Receipt(name="x", status="graded", student="s01", reason="as s02 did")
        book.account("mixed", [named])
        students, rows = book.forget_before(NOW - timedelta(days=1))
        assert students == {"gone": ("s00", "s01", "s02"), "mixed": ("s00", "s02")}
        assert (rows["hand_in"], rows["grading"], rows["standing"]) == (5, 5, 5)
        assert rows["returned_file"] == 4
        assert book.forget_before(NOW - timedelta(days=1)) == ({}, {})
        assert set(book.counted("new")) == {"s00", "s01", "s02"}
        assert set(book.counted("mixed")) == {"s01"}
        (receipt,) = book.receipts("mixed")
        assert receipt.reason == ""
    for table in set(schema.META.tables.values()) - {schema.VERSION}:
        assert not [row for row in rows_in(place, table) if row.set_id == "gone"]


def test_only_the_sets_named_are_forgotten(place):
    """Of a school's gradebook."""
    with Gradebook(place) as book:
        fill(book, ["one", "other"])
        students, _ = book.forget_before(NOW + timedelta(days=1), ["one"])
        assert students.keys() == {"one"}
        assert len(book.counted("other")) == 3


# One row of it there is.
_SMALL = {"gradebook_version"}
_ALIKE = (
    "INSERT INTO standing (set_id, student, grading, counts, late_days, "
    "deducted_percent, mark, out_of, decided_at) "
    "SELECT set_id, student, id, 'last', 0, 0, mark, out_of, graded_at FROM grading",
    "INSERT INTO hand_in_choice (set_id, student, hand_ins, made_at) "
    "SELECT set_id, student, sha256, seen_at FROM hand_in",
    "INSERT INTO mark_override (set_id, student, exercise, step, mark, out_of, reason, "
    "made_at) SELECT set_id, student, 1, 'cause', 9, 15, 'x', seen_at FROM hand_in",
    "INSERT INTO returned_file (set_id, position, name, status, student, reason, code) "
    "SELECT set_id, substr(student, 2)::int, file_name, 'graded', student, '', '' "
    "FROM hand_in",
)


@pytest.mark.nightly
def test_every_question_about_a_class_has_an_index(postgres):
    """Of 1,000 classes no table is read from end to end for one of them."""
    with Gradebook(postgres.new_database()) as book:
        all_ = [work for n in range(1000) for work in of_class(f"set{n:02}", 10)]
        book.record(all_, SOURCE, NOW)
        with book._turn() as connection:
            for statement in (*_ALIKE, "ANALYZE"):
                connection.execute(sa.text(statement))
        own = of_class("set07", 10)
        standing = new_standing("s01", own[1].sha256, (9.0, 30.0), counts="last")
        with asked(book) as questions:
            book.counted("set07")
            book.standings("set07")
            book.state("set07")
            list(book.known("set07"))
            book.changed("set07")
            book.choices("set07")
            book.gradings("set07", "s01")
            book.work(own[1].sha256)
            book.everything_of("set07", "s01")
            book.record(own, SOURCE, NOW)
            book.settle("set07", [standing], SOURCE, NOW)
            book.account("set07", [])
            book.forget("set07", "s01")
            book.forget_before(NOW + timedelta(days=1), ["set07"])
        assert len(questions) > 30
        for statement, parameters in questions:
            if statement.startswith(("SELECT", "UPDATE", "DELETE")):
                with book._engine.connect() as connection:
                    plan = connection.exec_driver_sql(
                        f"EXPLAIN {statement}", parameters
                    ).scalars()
                    whole = re.findall(r"Seq Scan on (\w+)", "\n".join(plan))
                assert set(whole) <= _SMALL, statement


def graded_by(place, sets, students):
    """Grade classes one after the other, as ``clampbook grade`` does once marked.

    A class is recorded in two parts, so that it can be there by half.
    """
    with pytest.MonkeyPatch.context() as patch, Gradebook(place) as book:
        patch.setattr(class_grading, "_BATCH", students - 4)
        for set_id in sets:
            works = of_class(set_id, students)
            key = AnswerKey(set_id=set_id, edition=1, mode="graded", packed={})
            roster = {one.student: f"Student {one.student}" for one in works}
            marked = [Marked(name=one.name, work=one, modified=NOW) for one in works]
            grade_into(
                book, key, roster, RUBRIC, Path(), lambda *_, all_=marked: iter(all_)
            )


def killed_midway(place, sets, students):
    """Let two graders work on all classes, and kill both once a third is there."""
    spawn = multiprocessing.get_context("spawn")
    graders = [
        spawn.Process(target=graded_by, args=(place, order, students))
        for order in (sets, sets[::-1])
    ]
    for grader in graders:
        grader.start()
    while len(rows_in(place, schema.HAND_INS)) < len(sets) * students // 3:
        assert all(grader.is_alive() for grader in graders)
    for grader in graders:
        os.kill(grader.pid, signal.SIGKILL)
        grader.join()


@pytest.mark.nightly
def test_two_graders_of_fifty_classes_killed_midway(postgres):
    """Started again, nothing is there twice, and nothing is missing."""
    place, students = postgres.new_database(), 104
    sets = [f"set{number:02}" for number in range(50)]
    Gradebook(place).close()
    killed_midway(place, sets, students)
    there = len(rows_in(place, schema.STANDINGS))
    assert there < len(sets) * students
    graded_by(place, sets, students)
    everybody = {(s, f"s{n:02}") for s in sets for n in range(students)}
    for table in (schema.HAND_INS, schema.GRADINGS, schema.STANDINGS):
        rows = [(row.set_id, row.student) for row in rows_in(place, table)]
        assert len(rows) == len(set(rows)), table.name
        assert set(rows) == everybody, table.name
    receipts = rows_in(place, schema.RECEIPTS)
    assert {(row.set_id, row.student) for row in receipts} == everybody
    assert len(receipts) == len(everybody)
    assert {row.status for row in receipts} == {"graded"}
