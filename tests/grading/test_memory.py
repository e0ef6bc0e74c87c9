"""What a grading keeps in memory of each file that came back."""

import gc
import tracemalloc
from datetime import UTC, datetime

import pytest

from answer_keys.marking.rubric import rubric_from_text, rubric_text
from generator.grading.class_grading import GradingJob, grade_class
from tests.answer_keys.samples import (
    ROSTER,
    TEST_IDS,
    Writer,
    sample_key,
    work_through,
)

KEY = sample_key()
RUBRIC = rubric_from_text(rubric_text())
FEW, MANY = 500, 2000
MOST_B = 200
"""Of a file: its name, and what became of it, packed."""


def put(folder, numbers):
    """Hand in so many times: of each student, work that does not go on from another."""
    for number in numbers:
        student, _ = ROSTER[number % len(ROSTER)]
        writer = Writer(student=student, session=f"{number:08x}")
        work_through(writer, KEY.of_student(student)[1], TEST_IDS[:2])
        (folder / f"{student}-{number:05}.jsonl").write_bytes(writer.bytes())


def peak_b(job):
    """The most that Python holds at once while a class is graded [B]."""
    gc.collect()
    tracemalloc.start()
    try:
        graded = grade_class(KEY, ROSTER, RUBRIC, job)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    statuses = [one.status for one in graded.result.receipts]
    assert statuses.count("graded") == len(ROSTER)
    assert statuses.count("undecided") == len(statuses) - len(ROSTER)
    return peak


@pytest.mark.nightly
def test_memory_of_a_grading_hardly_grows_with_the_files(tmp_path):
    """In a gradebook that is new, and in one that has seen them all before."""
    job = GradingJob(
        handed_in=tmp_path / "handed-in",
        results=tmp_path / "results",
        gradebook=tmp_path / "book.sqlite",
        at=datetime(2026, 12, 1, tzinfo=UTC),
    )
    job.handed_in.mkdir()
    put(job.handed_in, range(FEW))
    grade_class(KEY, ROSTER, RUBRIC, job)  # what is built once for all
    few = peak_b(job)
    put(job.handed_in, range(FEW, MANY))
    new, seen = peak_b(job), peak_b(job)
    assert (new - few) / (MANY - FEW) < MOST_B
    assert (seen - few) / (MANY - FEW) < MOST_B
