"""Questions as the student's page has them, and as the key holds them."""

from __future__ import annotations

from dataclasses import replace

from answer_keys.decoding import copied_as
from answer_keys.keys.key_questions import NumberKey, OptionKey, QuestionKey
from generator.drawing.predictions import Prediction
from generator.drawing.turn_off import TurnOff
from generator.pictures.scope import turn_off_picture
from generator.questions.question import Question
from workbook.record import payload
from workbook.texts import _


def question_asked(question: Question, mode: str) -> payload.Question:
    """What the page asks; what is right for it in a practice set only."""
    return replace(
        copied_as(payload.Question, question),
        unit="" if question.number is None else question.number.unit,
        told=_told(question) if mode == "practice" else None,
    )


def picture_of(shown: TurnOff | None) -> payload.Picture | None:
    """The screen of a scope, where that is what is read."""
    if shown is None:
        return None
    return copied_as(payload.Picture, turn_off_picture(shown))


def number_asked(prediction: Prediction) -> payload.NumberAsked:
    """What the page asks of a number."""
    return copied_as(payload.NumberAsked, prediction)


def judgement_of(prediction: Prediction) -> payload.Judgement:
    """What is right for a number, and what to say to it."""
    low, high = prediction.band
    return payload.Judgement(
        low=low,
        high=high,
        right=prediction.right,
        wrong=prediction.wrong,
        misconceptions=tuple(
            payload.Misconception(
                low=each.band[0],
                high=each.band[1],
                text=f"{_(each.text)} {_(each.cure)}",
            )
            for each in prediction.misconceptions
        ),
    )


def _told(question: Question) -> payload.Told:
    if question.number is not None:
        return payload.Told(judgement=judgement_of(question.number))
    if question.kind == "choice":
        texts = {option.id: option.told for option in question.options}
        return payload.Told(right=question.right[0].id, texts=texts)
    if question.kind == "order":
        named = _(", then ").join(option.label for option in question.right)
        text = _("The order is: {order}.").format(order=named)
        return payload.Told(
            order=tuple(option.id for option in question.right),
            text=f"{text} {question.text}",
        )
    return payload.Told(model=tuple(one.model for one in question.lines))


def question_key(question: Question) -> QuestionKey:
    """What the key holds of a question."""
    return QuestionKey(
        id=question.id,
        kind=question.kind,
        label=question.label,
        number=None if question.number is None else number_key(question.number),
        options=tuple(
            OptionKey(
                id=option.id,
                label=option.label,
                text=option.told,
                misconception=option.misconception,
            )
            for option in question.options
        ),
        right=tuple(option.id for option in question.right),
        text=question.text,
        lines=tuple(
            OptionKey(id=one.id, label=one.label, text=one.model)
            for one in question.lines
        ),
        checklist=question.checklist,
    )


def number_key(prediction: Prediction) -> NumberKey:
    """What the key holds of a number: its band, and the rules that give others."""
    return copied_as(NumberKey, prediction)
