"""Grade one exercise: pure, from the answer key's record and a student's progress."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from answer_keys.choice_marks import choices
from answer_keys.conclusion_marks import cause, correction, is_corrected
from answer_keys.findings import judged_findings
from answer_keys.key_record import Band, KeyRecord, NumberKey
from answer_keys.marks import ExerciseMarks, StepMark
from answer_keys.rubric import Rubric
from answer_keys.wording import answer_text, band_text
from answer_keys.work import Share, Work, no_test, work_of
from workbook.progress import Answer, ExerciseProgress

__all__ = ["grade_exercise"]


def grade_exercise(
    record: KeyRecord, progress: ExerciseProgress, rubric: Rubric
) -> ExerciseMarks:
    """Grade one exercise.

    Parameters
    ----------
    record : KeyRecord
    progress : ExerciseProgress
        Names only what the record holds: `check_belongs` sees to that.
    rubric : Rubric

    Returns
    -------
    ExerciseMarks
        Every step with its mark and its reason; the marks of a step never exceed
        its weight.
    """
    work = work_of(record, progress)
    steps = [
        *_shared(rubric, "predictions", list(_predictions(work))),
        *_shared(rubric, "choices", list(choices(work))),
        *_shared(rubric, "findings", list(_findings(work))),
        *_shared(rubric, "cause", [cause(work)]),
        *_shared(rubric, "correction", [correction(work)]),
        *_shared(rubric, "verification", [_verification(work)]),
    ]
    return ExerciseMarks(exercise=record.exercise, steps=tuple(steps))


def _shared(rubric: Rubric, step: str, shares: Sequence[Share]) -> Iterator[StepMark]:
    """Split the weight of a step over its items."""
    whole = math.fsum(one.weight for one in shares)
    for one in shares:
        out_of = rubric.weights[step] * one.weight / whole
        yield StepMark(
            step=step,
            item=one.item,
            title=one.title,
            mark=out_of * one.share,
            out_of=out_of,
            reason=one.reason,
            misconception=one.misconception,
            minutes_wasted=one.minutes_wasted,
        )


def _predictions(work: Work) -> Iterator[Share]:
    for key in work.record.predictions:
        yield _number(key, work.progress.predictions.get(key.id))


def _verification(work: Work) -> Share:
    share = _number(work.record.verification, work.progress.verification)
    if not share.share or is_corrected(work):
        return share
    reason = f"{share.reason} It counts only with the right correction."
    return replace(share, share=0.0, reason=reason)


def _number(key: NumberKey, answer: Answer | None) -> Share:
    share, reason, misconception = 0.0, "", ""
    right = f"right is {band_text(key.band, key.unit)}"
    if answer is None:
        reason = f"Not answered; {right}."
    elif answer.unit != key.unit:
        reason = f"You wrote {answer_text(answer)}, but this is asked in {key.unit}."
    elif _is_inside(answer.value, key.band):
        share, reason = 1.0, f"You wrote {answer_text(answer)}; {right}."
    else:
        reason = f"You wrote {answer_text(answer)}; {right}."
        rules = (r for r in key.misconceptions if _is_inside(answer.value, r.band))
        if (rule := next(rules, None)) is not None:
            reason, misconception = f"{reason} {rule.text}", rule.id
    return Share(
        item=key.id,
        title=key.label,
        share=share,
        reason=reason,
        misconception=misconception,
    )


def _is_inside(value: float, band: Band) -> bool:
    # The last bits of a number on the edge hang on how it was typed (350 mA, 0.35 A).
    slack = 1e-9 * max(abs(edge) for edge in band)
    return band[0] - slack <= value <= band[1] + slack


def _findings(work: Work) -> Iterator[Share]:
    if not work.path:
        yield no_test("findings", "Findings")
    for visit, judged in judged_findings(work.record, work.path):
        yield Share(
            item=visit.test.id,
            title=visit.test.title,
            share=judged.share,
            reason=judged.reason,
            misconception=judged.misconception,
        )
