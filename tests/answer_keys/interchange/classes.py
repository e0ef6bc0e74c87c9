"""Classes of graded students, without a hand-in read."""

from __future__ import annotations

from datetime import UTC, datetime

from answer_keys.gradebook.results import ClassResult, StudentResult, graded_exercise
from answer_keys.marking.marks import ExerciseMarks, StepMark
from tests.answer_keys.samples import SET_ID, sample_record

GRADED_AT = datetime(2026, 11, 27, 9, 30, tzinfo=UTC)
HOSTILE = (
    '=HYPERLINK("https://example.invalid","x")',
    "+1",
    " @SUM(A1)",
    "＝1+1",
    '"; x\r\n1,2',
    "Mira\u202e neddla\x00",
)
"""Names with a formula, quotes, line ends, and signs that turn text around."""


def step(mark=7.5, *, out_of=10.0, name="cause", **more):
    """The mark of a step."""
    facts = {"item": name, "title": "Cause", "reason": "Right.", "answer": "Coil open"}
    return StepMark(step=name, mark=mark, out_of=out_of, **(facts | more))


def graded(*steps, exercise=1, span=None):
    """An exercise of the sample key, with marks of these steps."""
    marks = ExerciseMarks(exercise=exercise, steps=steps or (step(),))
    return graded_exercise(sample_record(), marks, span)


def student(id_="s01", name="Mira Aldeen", *exercises, file="a.jsonl"):
    """A student whose hand-in counts, or who has none."""
    return StudentResult(
        id=id_,
        name=name,
        sheet="x.html",
        file=file,
        graded_at=GRADED_AT if file else None,
        exercises=(exercises or (graded(),)) if file else (),
    )


def class_of(*students):
    """A class."""
    return ClassResult(
        set_id=SET_ID, mode="graded", students=students, receipts=(), history={}
    )
