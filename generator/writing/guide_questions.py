"""The teacher's guide to questions: what is right, what is likely, what to discuss."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.wording import band_text, letter_of, value_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from answer_keys.key_record import NumberKey, OptionKey, QuestionKey

__all__ = ["discussed", "told_question", "wrong_numbers"]

_DISCUSSED = 4


def told_question(question: QuestionKey) -> dict[str, Any]:
    """Give all that a guide says of one question.

    Returns
    -------
    dict
        ``label``, ``right``, ``why``, pairs in ``wrong`` (an answer, what is behind
        it), pairs in ``lines`` (label, model answer) and ``checklist``.
    """
    letters = {one.id: letter_of(n) for n, one in enumerate(question.options, start=1)}
    is_choice = question.kind == "choice"
    told = {
        "label": question.label,
        "right": [
            f"{letters[id_]} {question.option(id_).label}" for id_ in question.right
        ],
        "why": question.option(question.right[0]).text if is_choice else question.text,
        "wrong": [
            (f"{letters[one.id]} {one.label}", _behind(one))
            for one in (_wrong_options(question) if is_choice else ())
        ],
        "lines": [(one.label, one.text) for one in question.lines],
        "checklist": question.checklist,
    }
    if question.number is None:
        return told
    number = question.number
    right = band_text(number.band, number.unit)
    return {**told, "right": [right], "wrong": wrong_numbers(number)}


def wrong_numbers(asked: NumberKey) -> list[tuple[str, str]]:
    """Give the numbers of wrong rules, each with what was done."""
    return [
        (
            value_text(sum(rule.band) / 2, asked.unit),
            MISCONCEPTIONS[rule.id].title,
        )
        for rule in asked.misconceptions
    ]


def _wrong_options(question: QuestionKey) -> list[OptionKey]:
    return [one for one in question.options if one.id not in question.right]


def _behind(option: OptionKey) -> str:
    if not option.misconception:
        return option.text
    return f"{MISCONCEPTIONS[option.misconception].title}. {option.text}"


def discussed(questions: Sequence[QuestionKey]) -> list[tuple[str, str]]:
    """Give a few questions to discuss with their answers: known wrong rules first."""
    found = [pair for question in questions for pair in _discussed(question)]
    found.sort(key=lambda pair: not pair[0])
    return [(asked, answer) for _, asked, answer in found[:_DISCUSSED]]


def _discussed(question: QuestionKey) -> Iterator[tuple[bool, str, str]]:
    """Whether a wrong rule is known, what to ask, and the answer."""
    if question.number is not None:
        unit = question.number.unit
        for rule in question.number.misconceptions[:1]:
            number = value_text(sum(rule.band) / 2, unit)
            cure = MISCONCEPTIONS[rule.id].cure
            asked = f"{question.label}: how does somebody get {number}?"
            yield True, asked, f"{rule.text} {cure}"
    if question.kind == "choice":
        for option in _wrong_options(question)[:2]:
            asked = f"{question.label} Why not “{option.label}”?"
            yield bool(option.misconception), asked, option.text
    if question.kind == "order" and question.text:
        yield True, f"{question.label}: why in this order?", question.text
