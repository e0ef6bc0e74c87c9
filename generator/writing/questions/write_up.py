"""Readings of the planned way, to be concluded from and written up."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from generator.model.repairs import repair_text
from generator.writing.questions.question import (
    Line,
    Question,
    choice_of,
    wrong,
)
from generator.writing.reasoning import exercise_plan

if TYPE_CHECKING:
    from collections.abc import Iterator

    from generator.writing.exercise import Exercise
    from generator.writing.stream import Stream

__all__ = ["write_up_questions"]

_OTHERS = 3
_CHECKLIST = (
    "The complaint is what the operator noticed, not what you think is broken",
    "The cause names one part and what is wrong with it",
    "A reading with its unit stands behind the cause",
    "The correction mends that cause, and names the part",
    "The reading after the repair is there to prove it",
)


def write_up_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Give the readings, ask what they prove, and have three lines written of it."""
    given = f"Readings taken: {_readings(exercise)}"
    names, fault = exercise.specification.names, exercise.fault
    others = [f for f in exercise.candidates if f.repair != fault.repair]
    some = stream.shuffled(others)[:_OTHERS]
    if some:
        question = choice_of(
            "proved_cause",
            "Which cause do these readings prove?",
            (names.fill(fault.title), "Every reading fits it, and no other repair's."),
            [
                wrong(
                    names.fill(each.title),
                    "One of the readings cannot come from it.",
                    "ruled_out_cause",
                )
                for each in some
            ],
        )
        yield replace(question, help=given)
        repairs = dict.fromkeys(each.repair for each in some)
        yield choice_of(
            "right_correction",
            "Which correction does that cause need?",
            (names.fill(repair_text(fault.repair)), "It mends what is broken."),
            [
                wrong(
                    names.fill(repair_text(repair)),
                    "It mends another part.",
                    "repair_beside_cause",
                )
                for repair in repairs
            ],
        )
    yield Question(
        id="three_lines",
        kind="lines",
        label="Write it up in three lines",
        help=f"{given} These lines are kept for your instructor to read.",
        lines=_lines(exercise),
        checklist=_CHECKLIST,
    )


def _lines(exercise: Exercise) -> tuple[Line, ...]:
    fill = exercise.specification.names.fill
    proof = exercise.verification.right
    return (
        Line(id="complaint", label="Complaint", model=exercise.complaint),
        Line(id="cause", label="Cause", model=f"{fill(exercise.fault.title)}."),
        Line(
            id="correction",
            label="Correction",
            model=f"{fill(repair_text(exercise.fault.repair))}. Proved: {proof}",
        ),
    )


def _readings(exercise: Exercise) -> str:
    """Follow the plan along what this vehicle shows."""
    plan = exercise_plan(exercise)
    left: tuple[int, ...] = tuple(range(len(exercise.candidates)))
    taken = list[int]()
    while (best := plan.best_test(left)) is not None:
        taken.append(best)
        left = plan.after(left, best, exercise.actual_outcome[best])
    fill = exercise.specification.names.fill
    said = (
        f"{fill(exercise.tests[place].title)}: {exercise.readings[place].display}"
        for place in taken or (0,)
    )
    return "; ".join(said) + "."
