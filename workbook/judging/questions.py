"""Questions about a circuit: what an answer may be, and what practice says to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from workbook.errors import RefusedError
from workbook.judging.feedback import Remark, judge_number, right_or_not
from workbook.record.payload import Question
from workbook.record.progress import MAX_LINE_LENGTH, Reply
from workbook.texts import _


def answer_fields(question: Question, message: Mapping[str, Any]) -> dict[str, Any]:
    """Take from a page's message what the journal holds of an answer.

    Parameters
    ----------
    question : Question
        Of any kind but ``number``.
    message : mapping
        ``choice``; or ``place-1`` and so on; or ``line-`` and the id of each line.

    Raises
    ------
    RefusedError
        For an order that names one thing twice, or a line that is too long.
    """
    if question.kind == "choice":
        return {"choice": str(message["choice"])}
    if question.kind == "order":
        places = range(1, len(question.options) + 1)
        order = [str(message[f"place-{place}"]) for place in places]
        if len(set(order)) < len(order):
            raise RefusedError(
                _("Each may stand in one place only: look for a double.")
            )
        return {"order": order}
    lines = [str(message[f"line-{line.id}"]).strip() for line in question.lines]
    if any(len(line) > MAX_LINE_LENGTH for line in lines):
        most = _("A line has at most {count} characters.")
        raise RefusedError(most.format(count=MAX_LINE_LENGTH))
    return {"lines": lines}


def judge_reply(question: Question, reply: Reply) -> tuple[Remark, ...]:
    """Say what a practice set says to an answer; nothing in a graded set."""
    told = question.told
    if told is None:
        return ()
    if told.judgement is not None and reply.number is not None:
        return (judge_number(told.judgement, reply.number.value),)
    if question.kind == "choice":
        said, is_right = told.texts[reply.choice], reply.choice == told.right
        if not is_right:
            right = _("Right is “{answer}”.")
            said = f"{said} {right.format(answer=label_of(question, told.right))}"
        return (right_or_not(said.strip(), is_right=is_right),)
    if question.kind == "order":
        return (right_or_not(told.text, is_right=reply.order == told.order),)
    model = zip(question.lines, told.model, strict=True)
    one_way = _("{line}, one way to write it.")
    return tuple(
        Remark(tone="news", label=one_way.format(line=line.label), text=text)
        for line, text in model
    )


def label_of(question: Question, option: str) -> str:
    """Give the words of an option."""
    labels = (each.label for each in question.options if each.id == option)
    return next(labels, option)


def labels_of(question: Question, options: Iterable[str]) -> str:
    """Write options as a numbered line."""
    labels = (label_of(question, option) for option in options)
    return "; ".join(f"{place}. {label}" for place, label in enumerate(labels, 1))
