"""Marks for numbers, and for the questions of an exercise that is no diagnosis."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise, zip_longest

from answer_keys.keys.key_questions import NumberKey, QuestionKey, WrongRule
from answer_keys.keys.key_record import Band
from answer_keys.keys.wording import answer_text, band_text
from answer_keys.marking.marks import StepMark
from workbook.record.progress import Answer, Reply
from workbook.texts import _, translated


def graded_number(key: NumberKey, answer: Answer | None) -> StepMark:
    """Grade a number by its band, and name the wrong rule that explains it."""
    right = band_text(key.band, key.unit)
    if answer is None:
        return _of_item(
            key, 0.0, _("Not answered; right is {right}.").format(right=right)
        )
    wrote, misconception = answer_text(answer), ""
    is_right = answer.unit == key.unit and _is_inside(answer.value, key.band)
    reason = _("You wrote {wrote}; right is {right}.").format(wrote=wrote, right=right)
    if answer.unit != key.unit:
        reason = _("You wrote {wrote}, but this is asked in {unit}.").format(
            wrote=wrote, unit=key.unit
        )
    elif not is_right and (rule := _rule(key, answer.value)) is not None:
        reason, misconception = f"{reason} {translated(rule.text)}", rule.id
    return _of_item(
        key, float(is_right), reason, misconception, answer=answer.raw.strip()
    )


def _rule(key: NumberKey, value: float) -> WrongRule | None:
    """Find the wrong rule that explains a number."""
    for rule in key.misconceptions:
        if _is_inside(value, rule.band):
            return rule
    return None


def _is_inside(value: float, band: Band) -> bool:
    # The last bits of a number on the edge depend on how it was typed (350 mA, 0.35 A).
    low, high = band
    slack = 1e-9 * max(abs(low), abs(high))
    return low - slack <= value <= high + slack


def graded_questions(
    questions: Sequence[QuestionKey], replies: Mapping[str, Reply]
) -> Iterator[StepMark]:
    """Grade each question; lines, which a person reads, weigh nothing.

    Parameters
    ----------
    replies : mapping of str to Reply
        By question id.

    Yields
    ------
    StepMark
    """
    for question in questions:
        reply = replies.get(question.id)
        if question.number is not None:
            yield graded_number(question.number, reply.number if reply else None)
        elif question.kind == "choice":
            yield _choice(question, reply)
        elif question.kind == "order":
            yield _order(question, reply)
        else:
            yield from _lines(question, reply)


def _choice(question: QuestionKey, reply: Reply | None) -> StepMark:
    right = question.option(question.right[0])
    if reply is None:
        told = _("Not answered; right is {right}.").format(right=f"“{right.label}”")
        return _of_item(question, 0.0, told)
    said = question.option(reply.choice)
    if said is right:
        reason = _("You chose “{said}”, which is right.").format(said=said.label)
        return _of_item(question, 1.0, reason, answer=said.label)
    told = _("You chose “{said}”; right is “{right}”.")
    told = told.format(said=said.label, right=right.label)
    reason = f"{told} {said.text}".rstrip()
    return _of_item(question, 0.0, reason, said.misconception, answer=said.label)


def _order(question: QuestionKey, reply: Reply | None) -> StepMark:
    """Give an order the share of its neighbours that stand the right way round."""
    right = question.right
    whole = _listed(question, right)
    if reply is None:
        told = _("Not answered; right is {right}.").format(right=whole)
        return _of_item(question, 0.0, f"{told} {question.text}".rstrip())
    order = _listed(question, reply.order)
    if reply.order == right:
        return _of_item(question, 1.0, _("Your order is right."), answer=order)
    places = [right.index(one) for one in reply.order]
    pairs = list(pairwise(places))
    share = sum(first < second for first, second in pairs) / len(pairs)
    # A whole order turned by one place is not half an answer.
    told = _("You ordered {order}; right is {right}.").format(order=order, right=whole)
    reason = f"{told} {question.text}".rstrip()
    return _of_item(question, share / 2, reason, answer=order)


def _lines(question: QuestionKey, reply: Reply | None) -> Iterator[StepMark]:
    """Keep what was written, for a person to read: it weighs nothing."""
    written = reply.lines if reply else ()
    for line, text in zip_longest(question.lines, written[: len(question.lines)]):
        yield StepMark(
            item=f"{question.id}.{line.id}",
            title=line.label,
            mark=0.0,
            out_of=0.0,
            reason=_("One way to write it: “{line}”").format(line=line.text),
            answer=text or "",
        )


def _listed(question: QuestionKey, ids: Sequence[str]) -> str:
    return _(", then ").join(question.option(id_).label for id_ in ids)


def _of_item(
    asked: NumberKey | QuestionKey,
    share: float,
    reason: str,
    misconception: str = "",
    answer: str = "",
) -> StepMark:
    return StepMark(
        item=asked.id,
        title=asked.label,
        mark=share,
        out_of=1.0,
        reason=reason,
        misconception=misconception,
        answer=answer,
    )
