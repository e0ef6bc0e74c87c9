"""Grade one exercise: pure, from the answer key's record and a student's progress."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.answer_marks import graded_number, graded_questions
from answer_keys.marking.choice_marks import choices
from answer_keys.marking.conclusion_marks import cause, correction
from answer_keys.marking.finding_marks import judged_findings
from answer_keys.marking.marks import ExerciseMarks, StepMark, no_test, split
from answer_keys.marking.policy import QUESTIONS, Rubric
from answer_keys.marking.visits import Visit, Work, work_of
from workbook.record.progress import ExerciseProgress
from workbook.texts import _


def grade_exercise(
    record: KeyRecord, progress: ExerciseProgress, rubric: Rubric
) -> ExerciseMarks:
    """Grade one exercise.

    Parameters
    ----------
    progress : ExerciseProgress
        Names only what the record holds: `check_belongs` sees to that.

    Returns
    -------
    ExerciseMarks
        Every step with its mark and its reason. What was done for the student is no
        step: where all of a rubric's step was, the others share its weight.
    """
    if record.questions:
        answers = list(graded_questions(record.questions, progress.replies))
        shared = tuple(split(QUESTIONS, rubric.total, answers))
        return ExerciseMarks(exercise=record.exercise, steps=shared)
    judged = _by_step(work_of(record, progress), rubric)
    asked = math.fsum(rubric.weights[step] for step in judged)
    # Under a rubric that counts nothing else, what is left carries no marks.
    scale = rubric.total / asked if asked else 0.0
    steps = [
        mark
        for step, own in judged.items()
        for mark in split(step, scale * rubric.weights[step], own)
    ]
    return ExerciseMarks(exercise=record.exercise, steps=tuple(steps))


def _by_step(work: Work, rubric: Rubric) -> dict[str, list[StepMark]]:
    """Judge the student's own items of each step of the rubric, where there are any."""
    # Each hangs on the one before: a right correction of a wrong cause is a guess.
    named = cause(work)
    cured = correction(work, is_cause_right=bool(named.mark))
    judged = {
        "predictions": list(_predictions(work)),
        "choices": list(choices(work, rubric.method)),
        "findings": list(_findings(work)),
        "cause": [named],
        "correction": [cured],
        "verification": [_verification(work, is_cured=bool(cured.mark))],
    }
    return {step: own for step, own in judged.items() if own}


def _predictions(work: Work) -> Iterator[StepMark]:
    for key in work.record.predictions:
        if key.id in work.progress.given_predictions:
            continue
        yield graded_number(key, work.progress.predictions.get(key.id))


def _verification(work: Work, *, is_cured: bool) -> StepMark:
    judged = graded_number(work.record.verification, work.progress.verification)
    if work.progress.verification is None or is_cured:
        return judged
    after = _("It counts only with the right correction.")
    return replace(judged, mark=0.0, reason=f"{judged.reason} {after}")


def _findings(work: Work) -> Iterator[StepMark]:
    if not work.own_path:
        yield no_test("findings", _("Findings"))
    for visit, judged in judged_findings(work.record, work.marked_path):
        if visit.is_given:
            continue
        yield StepMark(
            item=visit.test.id,
            title=visit.test.title,
            mark=judged.share,
            out_of=1.0,
            reason=judged.reason,
            misconception=judged.misconception,
            answer=_found(visit),
        )


def _found(visit: Visit) -> str:
    """Say in words what was taken from a reading."""
    if visit.done.statement is None:
        return ""
    return (
        f"{_(str(visit.done.outcome))}: {visit.test.stated(visit.done.statement).text}"
    )
