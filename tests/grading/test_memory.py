"""What a grading keeps in memory of each file that came back."""

import gc
import tracemalloc
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.results import ClassResult
from answer_keys.gradebook.standings import Receipt
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.reports.report import class_report, new_report
from generator.grading import class_grading
from generator.grading.class_grading import GradingJob, grade_class
from tests.answer_keys.samples import (
    ROSTER,
    SET_ID,
    TEST_IDS,
    Writer,
    sample_key,
    work_through,
)

KEY = sample_key()
RUBRIC = rubric_from_text(rubric_text())
FEW, MANY = 200, 600
MOST_B = 250
"""Of a file: its name, and what became of it, packed."""


def put(folder, numbers):
    """Hand in so many times: of each student, work that does not go on from another."""
    for number in numbers:
        student, _ = ROSTER[number % len(ROSTER)]
        writer = Writer(student=student, session=f"{number:08x}")
        work_through(writer, KEY.of_student(student)[1], TEST_IDS[:2])
        (folder / f"{student}-{number:05}.jsonl").write_bytes(writer.bytes())


def held_b(job, monkeypatch):
    """What Python holds when all is marked, when all is decided, and at the end [B]."""
    held, account = [], Gradebook.account

    def note():
        gc.collect()
        held.append(tracemalloc.get_traced_memory()[0])

    def mark(marker, folder):
        yield from job.mark(marker, folder)
        note()

    def noted(*given):
        note()
        account(*given)

    monkeypatch.setattr(Gradebook, "account", noted)
    gc.collect()
    tracemalloc.start()
    graded = grade_class(KEY, ROSTER, RUBRIC, replace(job, mark=mark))
    note()
    tracemalloc.stop()
    monkeypatch.setattr(Gradebook, "account", account)
    statuses = [one.status for one in graded.result.receipts]
    assert statuses.count("graded") == len(ROSTER)
    assert statuses.count("undecided") == len(statuses) - len(ROSTER)
    return held


@pytest.mark.nightly
def test_memory_of_a_grading_hardly_grows_with_the_files(tmp_path, monkeypatch):
    """In a gradebook that is new, and in one that has seen them all before."""
    # What is recorded together is the same for any number of them.
    monkeypatch.setattr(class_grading, "_BATCH", 50)
    job = GradingJob(
        handed_in=tmp_path / "handed-in",
        results=tmp_path / "results",
        gradebook=tmp_path / "book.sqlite",
        at=datetime(2026, 12, 1, tzinfo=UTC),
    )
    job.handed_in.mkdir()
    put(job.handed_in, range(FEW))
    grade_class(KEY, ROSTER, RUBRIC, job)  # what is built once for all
    few = held_b(job, monkeypatch)
    put(job.handed_in, range(FEW, MANY))
    for _ in range(2):
        many = held_b(job, monkeypatch)
        each = [
            (more - less) / (MANY - FEW) for more, less in zip(many, few, strict=True)
        ]
        assert max(each) < MOST_B


def test_report_of_many_files_is_made_part_by_part():
    """Nobody holds all of it, and its parts break no line."""
    receipts = [
        Receipt(name=f"{number}.jsonl", status="refused", reason="It has 10 kB.")
        for number in range(5000)
    ]
    result = ClassResult(
        set_id=SET_ID, mode="graded", students=(), receipts=receipts, history={}
    )
    parts = list(class_report(new_report(result)))
    assert max(map(len, parts)) < sum(map(len, parts)) / 4
    assert all(part.endswith("\n") for part in parts[:-1])
    assert "".join(parts).count(".jsonl</bdi>") == len(receipts)
