"""What is asked in an exercise of each kind."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from generator.drawing.exercise import Exercise
from generator.drawing.stream import Stream
from generator.questions.branches import branch_questions
from generator.questions.drops import drop_questions
from generator.questions.logs import log_questions
from generator.questions.millivolts import millivolt_questions
from generator.questions.numbers import current_questions, display_questions
from generator.questions.question import Question, mixed
from generator.questions.reasons import reason_questions
from generator.questions.shares import share_questions
from generator.questions.switches import switch_questions
from generator.questions.traces import trace_questions
from generator.questions.waveforms import scope_questions
from generator.questions.write_up import write_up_questions
from workbook.texts import _

KIND_TITLES: Mapping[str, str] = {
    "branches": "fuses and branches",
    "currents": "what current to expect",
    "display": "from display to amperes",
    "drops": "voltage drops under load",
    "scope": "a turn-off on the scope",
    "traces": "currents in time",
    "logs": "a vehicle at rest",
    "shares": "shares of one fuse",
    "millivolts": "millivolts across a fuse",
    "switches": "switches without contacts",
    "reasons": "say why",
    "write-up": "complaint, cause, correction",
}
"""Every kind of exercise but the diagnosis, and how its heading ends."""

_QUESTIONS: Mapping[str, Callable[[Exercise, Stream], Iterable[Question]]] = {
    "branches": branch_questions,
    "currents": current_questions,
    "display": display_questions,
    "drops": lambda exercise, _: drop_questions(exercise),
    "scope": scope_questions,
    "traces": lambda made, stream: trace_questions(made.specification, stream),
    "logs": lambda made, stream: log_questions(made.specification, stream),
    "shares": lambda made, stream: share_questions(made.specification, stream),
    "millivolts": lambda made, stream: millivolt_questions(made.specification, stream),
    "switches": lambda made, stream: switch_questions(made.specification, stream),
    "reasons": lambda _, stream: reason_questions(stream),
    "write-up": write_up_questions,
}


def questions_of(exercise: Exercise) -> tuple[Question, ...]:
    """Derive the questions of an exercise from its drawn circuit.

    Returns
    -------
    tuple of Question
        None for a diagnosis; the same for the same exercise.
    """
    if exercise.radical.kind == "diagnosis":
        return ()
    stream = Stream(exercise.question_key, "questions")
    asked = _QUESTIONS[exercise.radical.kind](exercise, stream)
    # Mixed as they come: each is written with its right option first.
    return tuple(mixed(question, stream) for question in asked)


def title_of(exercise: Exercise) -> str:
    """Heading of an exercise: the vehicle and what it does."""
    names = exercise.specification.names
    kind = exercise.radical.kind
    if kind == "diagnosis":
        return f"{names.vehicle}: {names.load} {_(exercise.symptom)}"
    return f"{names.vehicle}, {names.load}: {_(KIND_TITLES[kind])}"


def tells_complaint(exercise: Exercise) -> bool:
    """Whether the student is told the complaint: where a cause is asked for."""
    return exercise.radical.kind in ("diagnosis", "write-up")
