"""Questions as data: on the student's page, in its feedback, and in the key."""

from __future__ import annotations

from typing import Any

from generator.drawing.predictions import Prediction, judgement_of
from generator.pictures.scope import turn_off_picture
from generator.questions.question import Question
from workbook.texts import _


def asked_record(question: Question) -> dict[str, Any]:
    """Give what the page asks; no answers."""
    record: dict[str, Any] = {
        "id": question.id,
        "kind": question.kind,
        "label": question.label,
        "help": question.help,
    }
    if question.number is not None:
        record["unit"] = question.number.unit
    if question.options:
        record["options"] = [{"id": o.id, "label": o.label} for o in question.options]
    if question.lines:
        record["lines"] = [{"id": one.id, "label": one.label} for one in question.lines]
        record["checklist"] = list(question.checklist)
    if question.turn_off is not None:
        picture = turn_off_picture(question.turn_off)
        record["picture"] = {"svg": picture.svg, "alt": picture.alt}
    return record


def told_record(question: Question) -> dict[str, Any]:
    """Give what a practice set says to an answer."""
    if question.number is not None:
        return judgement_of(question.number)
    if question.kind == "choice":
        texts = {option.id: option.told for option in question.options}
        return {"right": question.right[0].id, "texts": texts}
    if question.kind == "order":
        right = [option.id for option in question.right]
        named = _(", then ").join(option.label for option in question.right)
        text = _("The order is: {order}.").format(order=named)
        return {"order": right, "text": f"{text} {question.text}"}
    return {"model": [one.model for one in question.lines]}


def answer_record(question: Question) -> dict[str, Any]:
    """Give what the key holds."""
    number = question.number
    return {
        "id": question.id,
        "kind": question.kind,
        "label": question.label,
        "number": None if number is None else number_record(number),
        "options": [
            {
                "id": option.id,
                "label": option.label,
                "text": option.told,
                "misconception": option.misconception,
            }
            for option in question.options
        ],
        "right": [option.id for option in question.right],
        "text": question.text,
        "lines": [
            {"id": one.id, "label": one.label, "text": one.model}
            for one in question.lines
        ],
        "checklist": list(question.checklist),
    }


def number_record(prediction: Prediction) -> dict[str, Any]:
    """Give a number with its band and the wrong rules that explain others."""
    return {
        "id": prediction.id,
        "label": prediction.label,
        "unit": prediction.unit,
        "value": prediction.value,
        "band": list(prediction.band),
        "misconceptions": [
            {"id": m.id, "value": m.value, "band": list(m.band), "text": m.text}
            for m in prediction.misconceptions
        ],
    }
