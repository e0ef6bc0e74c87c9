"""Describe the questions of an exercise that is no diagnosis; pure."""

from __future__ import annotations

from typing import Any

from workbook.judging.questions import judge_reply, label_of, labels_of
from workbook.record.payload import Exercise, Question
from workbook.record.progress import MAX_LINE_LENGTH, ExerciseProgress, Reply
from workbook.texts import _, later
from workbook.views.view_parts import (
    image,
    number_part,
    remarks,
    section,
    select_field,
    state_of,
    text_part,
)

Part = dict[str, Any]

_INTRO = later(
    "Answer from the diagram and the sheet, in any order. Each answer is recorded once."
)
_DONE = later("This exercise is done.")


def question_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Ask every question, each in a form of its own.

    Parameters
    ----------
    exercise : Exercise
        With questions.

    Returns
    -------
    dict
        JSON values only.
    """
    is_done = all(each.id in progress.replies for each in exercise.questions)
    parts: list[Part | None] = [None if is_done else text_part("intro", _(_INTRO))]
    for question in exercise.questions:
        parts += _parts(question, progress.replies.get(question.id))
    parts.append(text_part("end", _(_DONE)) if is_done else None)
    state = state_of(is_done=is_done)
    return section("answer", _("Answer"), state, parts)


def _parts(question: Question, reply: Reply | None) -> list[Part | None]:
    """Show a question's picture, then ask it or show its answer."""
    picture = image(question.picture)
    shown = picture and {"kind": "picture", "key": f"picture:{question.id}", **picture}
    if question.kind == "number":
        answer = None if reply is None else reply.number
        judgement = question.told.judgement if question.told else None
        return [shown, number_part("answer", question.number, answer, judgement)]
    key = f"answer:{question.id}"
    if reply is not None:
        return [shown, _answered(key, question, reply)]
    return [
        shown,
        {
            "kind": "form",
            "key": key,
            "action": "answer",
            "item": question.id,
            "legend": question.label,
            "help": question.help,
            "checklist": list(question.checklist),
            "submit": _("Record"),
            "fields": _fields(question),
        },
    ]


def _fields(question: Question) -> list[Part]:
    if question.kind == "choice":
        options = [{"value": o.id, "label": o.label} for o in question.options]
        field = {"kind": "radios", "name": "choice", "label": _("Your answer")}
        return [{**field, "is_column": True, "options": options}]
    if question.kind == "order":
        places = range(1, len(question.options) + 1)
        return [
            select_field(f"place-{place}", _place(place), question.options)
            for place in places
        ]
    return [
        {
            "kind": "text",
            "name": f"line-{line.id}",
            "label": line.label,
            "most": MAX_LINE_LENGTH,
        }
        for line in question.lines
    ]


def _place(place: int) -> str:
    words = {1: _("1st"), 2: _("2nd"), 3: _("3rd")}
    return words.get(place) or _("{place}th").format(place=place)


def _answered(key: str, question: Question, reply: Reply) -> Part:
    """Show what was recorded, and in a practice set what is said to it."""
    said = {
        "choice": [[question.label, label_of(question, reply.choice)]],
        "order": [[question.label, labels_of(question, reply.order)]],
        "lines": [
            [line.label, text]
            for line, text in zip(question.lines, reply.lines, strict=False)
        ],
    }
    return {
        "kind": "answer",
        "key": key,
        "rows": said[question.kind],
        "typed": "",
        "time": reply.time,
        "remarks": remarks(judge_reply(question, reply)),
    }
