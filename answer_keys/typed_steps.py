"""What one row of typed answers says: the fields of a journal's entry."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from answer_keys.visible_text import visible
from answer_keys.wording import letter_of
from workbook.errors import QuantityError
from workbook.progress import MAX_LINE_LENGTH
from workbook.quantities import Ambiguous, read_quantity
from workbook.texts import LANGUAGES, _, speaking

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from answer_keys.key_record import KeyRecord, NumberKey, QuestionKey, TestKey
    from answer_keys.typed_table import Row

__all__ = ["RowError", "fields_of", "one_of"]


class RowError(Exception):
    """What is wrong with one row, and what is allowed."""


def fields_of(row: Row, record: KeyRecord) -> dict[str, Any]:
    """Read the step of a row, and what the entry of a journal holds of it.

    Parameters
    ----------
    row : Row
    record : KeyRecord
        Of the row's student and exercise.

    Raises
    ------
    RowError
        Where step, item or an answer is none of those allowed.
    """
    steps = {"answer": _answer} if record.questions else _DIAGNOSIS
    step = one_of("step", row.step.lower(), list(steps))
    return {"kind": step, **steps[step](row, record)}


def one_of(column: str, found: str, allowed: Sequence[str]) -> str:
    """Give what was found in a column, or say what is allowed there."""
    if found not in allowed:
        shown = ", ".join(allowed[:30]) + (" ..." if len(allowed) > 30 else "")
        raise RowError(f"{column} is “{visible(found, 60)}”; allowed: {shown}")
    return found


def _numbers(count: int) -> list[str]:
    return [str(number) for number in range(1, count + 1)]


def _without_second(row: Row) -> None:
    if row.second_answer:
        one_of("second_answer", row.second_answer, ["nothing"])


def _number(row: Row, asked: NumberKey) -> dict[str, Any]:
    _without_second(row)
    try:
        read = read_quantity(row.answer, asked.unit)
    except QuantityError as error:
        raise RowError(f"answer: {str(error).rstrip('.')}") from error
    if isinstance(read, Ambiguous):
        raise RowError(
            f"answer “{read.raw}” can be read in two ways; allowed: "
            f"{' or '.join(read.readings)}"
        )
    return {
        "item": asked.id,
        "raw": read.raw,
        "value": read.value,
        "unit": read.unit,
    }


def _prediction(row: Row, record: KeyRecord) -> dict[str, Any]:
    number = one_of("item", row.item, _numbers(len(record.predictions)))
    return _number(row, record.predictions[int(number) - 1])


def _verification(row: Row, record: KeyRecord) -> dict[str, Any]:
    if row.item:
        one_of("item", row.item, ["nothing"])
    return _number(row, record.verification)


def _test_of(row: Row, record: KeyRecord) -> TestKey:
    number = one_of("item", row.item, _numbers(len(record.tests)))
    return record.tests[int(number) - 1]


def _test(row: Row, record: KeyRecord) -> dict[str, Any]:
    test = _test_of(row, record)
    _without_second(row)
    return {"item": test.id, "expected": _outcome(row, test)}


def _outcome(row: Row, test: TestKey) -> str:
    """Take the word of an outcome, in any language that a handout can be in."""
    words = {word: word for word in test.outcomes}
    for spoken in LANGUAGES:
        with speaking(spoken):
            words |= {_(word).lower(): word for word in test.outcomes}
    typed = row.answer.lower()
    return words.get(typed) or one_of("answer", typed, test.outcomes)


def _finding(row: Row, record: KeyRecord) -> dict[str, Any]:
    test = _test_of(row, record)
    return {
        "item": test.id,
        "outcome": _outcome(row, test),
        "statement": one_of(
            "second_answer",
            row.second_answer.lower(),
            [statement.id for statement in test.statements],
        ),
    }


def _conclusion(row: Row, record: KeyRecord) -> dict[str, Any]:
    if row.item:
        one_of("item", row.item, ["nothing"])
    causes = [cause.id for cause in record.causes]
    corrections = [option.id for option in record.corrections]
    return {
        "item": "conclusion",
        "cause": one_of("answer", row.answer.lower(), causes),
        "correction": one_of("second_answer", row.second_answer.lower(), corrections),
    }


def _answer(row: Row, record: KeyRecord) -> dict[str, Any]:
    """Take the answer to a question by its number."""
    number = one_of("item", row.item, _numbers(len(record.questions)))
    question = record.questions[int(number) - 1]
    if question.number is not None:
        return {**_number(row, question.number), "item": question.id}
    _without_second(row)
    if question.kind == "lines":
        return {"item": question.id, "lines": _lines(row.answer, question)}
    return {"item": question.id, **_lettered(row.answer.lower(), question)}


def _lines(answer: str, question: QuestionKey) -> list[str]:
    lines = [line.strip() for line in answer.split("|")]
    labels = [one.label for one in question.lines]
    is_short = all(0 < len(line) <= MAX_LINE_LENGTH for line in lines)
    if len(lines) != len(labels) or not is_short:
        raise RowError(
            f"answer has {len(lines)} lines; allowed: {' | '.join(labels)}, each of 1 "
            f"to {MAX_LINE_LENGTH} characters"
        )
    return lines


def _lettered(answer: str, question: QuestionKey) -> dict[str, Any]:
    """Read a letter, or all letters in their order, whatever stands between them."""
    ids = {letter_of(n): one.id for n, one in enumerate(question.options, start=1)}
    if question.kind == "choice":
        return {"choice": ids[one_of("answer", answer, list(ids))]}
    letters = re.findall(r"\w", answer)
    if sorted(letters) != list(ids):
        raise RowError(
            f"answer is “{visible(answer, 60)}”; allowed: each of {' '.join(ids)} "
            "once, in the student's order"
        )
    return {"order": [ids[letter] for letter in letters]}


_DIAGNOSIS: Mapping[str, Callable[[Row, KeyRecord], dict[str, Any]]] = {
    "prediction": _prediction,
    "test": _test,
    "finding": _finding,
    "conclusion": _conclusion,
    "verification": _verification,
}
