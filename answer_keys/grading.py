"""Grade one exercise: pure, from the answer key's record and a student's progress."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from answer_keys.key_record import Band, KeyRecord, NumberKey
from answer_keys.marks import ExerciseMarks, StepMark
from answer_keys.reading_path import Visit, visits
from answer_keys.rubric import Rubric
from answer_keys.wording import answer_text, band_text, listed, minutes_text
from workbook.progress import Answer, ExerciseProgress, hint_cost

__all__ = ["MINUTES_TO_A_THIRD", "grade_exercise"]

MINUTES_TO_A_THIRD = 10.0
"""Wasted minutes that leave 1/e, about a third, of a choice's mark."""


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
    work = _Work(record=record, progress=progress, path=visits(record, progress))
    steps = [
        *_shared(rubric, "predictions", list(_predictions(work))),
        *_shared(rubric, "choices", list(_choices(work))),
        *_shared(rubric, "findings", list(_findings(work))),
        *_shared(rubric, "cause", [_cause(work)]),
        *_shared(rubric, "correction", [_correction(work)]),
        *_shared(rubric, "verification", [_verification(work)]),
    ]
    return ExerciseMarks(exercise=record.exercise, steps=tuple(steps))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """What one student did in one exercise, beside its key."""

    record: KeyRecord
    progress: ExerciseProgress
    path: tuple[Visit, ...]

    @property
    def left(self) -> tuple[int, ...]:
        """Candidates that fit every real reading so far."""
        return self.path[-1].after if self.path else self.record.everything


@dataclass(frozen=True, slots=True, kw_only=True)
class _Share:
    """The share of an item's mark that was earned, with the reason."""

    item: str
    title: str
    share: float
    reason: str
    misconception: str = ""
    minutes_wasted: float = 0.0


def _shared(rubric: Rubric, step: str, shares: Sequence[_Share]) -> Iterator[StepMark]:
    """Split the weight of a step evenly over its items."""
    for one in shares:
        out_of = rubric.weights[step] / len(shares)
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


def _predictions(work: _Work) -> Iterator[_Share]:
    for key in work.record.predictions:
        yield _number(key, work.progress.predictions.get(key.id))


def _verification(work: _Work) -> _Share:
    return _number(work.record.verification, work.progress.verification)


def _number(key: NumberKey, answer: Answer | None) -> _Share:
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
    return _Share(
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


def _choices(work: _Work) -> Iterator[_Share]:
    if not work.path:
        yield _no_test("choices", "Choice of tests")
        return
    for visit in work.path:
        yield _Share(
            item=visit.test.id,
            title=visit.test.title,
            share=math.exp(-visit.minutes_wasted / MINUTES_TO_A_THIRD)
            * (1 - hint_cost(visit.done.hints)),
            reason=_choice_reason(work.record, visit) + _hint_reason(visit.done.hints),
            minutes_wasted=visit.minutes_wasted,
        )
    yield _stop(work)


def _no_test(step: str, title: str) -> _Share:
    return _Share(item=step, title=title, share=0.0, reason="No test was done.")


def _choice_reason(record: KeyRecord, visit: Visit) -> str:
    if not visit.minutes_wasted:
        return "A good choice: no other test leads to the cause in fewer minutes."
    lost = minutes_text(visit.minutes_wasted)
    if visit.planned is None:
        return f"The cause was proved already; this test took another {lost}."
    better = f"“{visit.planned.title}” ({minutes_text(visit.planned.minutes)})"
    if _splits_nothing(record, visit):
        return (
            f"All {len(visit.before)} causes that were still possible give the same "
            f"reading here, so it told nothing; {better} would have."
        )
    return (
        f"From here this way takes {lost} more, on average, than starting with "
        f"{better}."
    )


def _splits_nothing(record: KeyRecord, visit: Visit) -> bool:
    column = record.test_number(visit.test.id)
    rows = record.reasoning.outcomes
    return len({rows[candidate][column] for candidate in visit.before}) == 1


def _stop(work: _Work) -> _Share:
    record, left = work.record, work.left
    share, reason = 0.0, "You drew no conclusion."
    if work.progress.cause is not None:
        share, reason = _stop_judged(record, left)
    hints = work.progress.hints
    return _Share(
        item="stop",
        title="When to stop",
        share=share * (1 - hint_cost(hints)),
        reason=reason + (_hint_reason(hints) if share else ""),
    )


def _hint_reason(hints: int) -> str:
    """Say what the hints for a choice cost; nothing where none was taken."""
    if not hints:
        return ""
    taken = "the hint" if hints == 1 else f"the {hints} hints"
    cost = f"{100 * hint_cost(hints):.0f} %"
    return f" Minus {cost} for {taken} you took for this choice."


def _stop_judged(record: KeyRecord, left: tuple[int, ...]) -> tuple[float, str]:
    faults = [record.reasoning.faults[candidate] for candidate in left]
    labels = [record.label_of_fault(fault.id) for fault in faults]
    if len(faults) == 1:
        return 1.0, "You stopped when one cause was left."
    if record.plan.is_settled(left):
        return 1.0, (
            f"You stopped when the {len(faults)} causes left all need the same repair: "
            f"{listed(labels)}."
        )
    if record.plan.best_test(left) is None:
        return 1.0, (
            f"You stopped when no test on offer tells the {len(faults)} causes left "
            f"apart: {listed(labels)}."
        )
    return 0.0, (
        f"You concluded while {len(faults)} causes were still possible: "
        f"{listed(labels)}."
    )


def _findings(work: _Work) -> Iterator[_Share]:
    if not work.path:
        yield _no_test("findings", "Findings")
    for visit in work.path:
        key, done = visit.test, visit.done
        halves = (done.expected == key.sound_outcome, done.outcome == key.outcome)
        yield _Share(
            item=key.id,
            title=key.title,
            share=sum(halves) / 2,
            reason=f"{_expected_reason(visit)} {_outcome_reason(visit)}",
        )


def _expected_reason(visit: Visit) -> str:
    said, right = visit.done.expected, visit.test.sound_outcome
    if said == right:
        return f"In a sound circuit it reads “{right}”, as you said."
    return f"In a sound circuit it reads “{right}”; you said “{said}”."


def _outcome_reason(visit: Visit) -> str:
    said, right = visit.done.outcome, visit.test.outcome
    shown = f"The reading, {visit.test.display}, is “{right}”"
    if visit.test.display == right:
        shown = f"Here it reads “{right}”"
    if said is None:
        return f"{shown}; you recorded no finding."
    return (
        f"{shown}, as you found." if said == right else f"{shown}; you said “{said}”."
    )


def _cause(work: _Work) -> _Share:
    share, reason = _cause_judged(work)
    return _Share(item="cause", title="Cause", share=share, reason=reason)


def _cause_judged(work: _Work) -> tuple[float, str]:
    record, planted = work.record, work.record.fault
    real = record.label_of_fault(planted.id)
    if work.progress.cause is None:
        return 0.0, f"You named no cause; it was “{real}”."
    said = record.cause(work.progress.cause)
    if said.fault == planted.id:
        return 1.0, f"“{real}” was the cause."
    ruled_out_by = _ruled_out_by(work, said.fault)
    if ruled_out_by is not None:
        return 0.0, (
            f"The cause was “{real}”. “{said.label}” was ruled out by "
            f"“{ruled_out_by.test.title}”, which read “{ruled_out_by.test.display}”."
        )
    if record.repair_of(said.fault) == planted.repair:
        return 1.0, (
            f"The cause was “{real}”. Your readings do not tell “{said.label}” from it "
            "and the repair is the same, so it counts in full."
        )
    return 0.0, (
        f"The cause was “{real}”. “{said.label}” was still possible, but your "
        "readings had not proved it."
    )


def _ruled_out_by(work: _Work, fault_id: str) -> Visit | None:
    """Find the first reading that a fault does not fit."""
    ids = [fault.id for fault in work.record.reasoning.faults]
    number = ids.index(fault_id)
    return next((visit for visit in work.path if number not in visit.after), None)


def _correction(work: _Work) -> _Share:
    record, right = work.record, work.record.fault.repair
    label = record.label_of_repair(right)
    if work.progress.correction is None:
        share, reason = 0.0, f"You named no correction; it is “{label}”."
    elif record.correction(work.progress.correction).repair == right:
        share, reason = 1.0, f"“{label}” cures it."
    else:
        said = record.correction(work.progress.correction).label
        share, reason = 0.0, f"“{said}” does not cure it; “{label}” does."
    return _Share(item="correction", title="Correction", share=share, reason=reason)
