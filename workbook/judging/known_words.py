"""Whether an entry speaks of what its exercise holds, for the page and for grading."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Protocol

from workbook.record.entries import (
    ChoiceAnswer,
    ChosenTest,
    Conclusion,
    Entry,
    Finding,
    LinesAnswer,
    NumberAnswer,
    OrderAnswer,
    Prediction,
    Replied,
    Verification,
)


class Named(Protocol):
    """Anything with an id."""

    @property
    def id(self) -> str: ...  # noqa: D102


class OfferedTest(Named, Protocol):
    """A test on offer."""

    @property
    def outcomes(self) -> Collection[str]: ...  # noqa: D102
    @property
    def statements(self) -> Sequence[Named]: ...  # noqa: D102


class AskedQuestion(Named, Protocol):
    """What decides the form of an answer."""

    @property
    def kind(self) -> str: ...  # noqa: D102
    @property
    def unit(self) -> str: ...  # noqa: D102
    @property
    def options(self) -> Sequence[Named]: ...  # noqa: D102
    @property
    def lines(self) -> Sequence[Named]: ...  # noqa: D102


class Asked(Protocol):
    """An exercise, on the page and in the key alike."""

    @property
    def predictions(self) -> Sequence[Named]: ...  # noqa: D102
    @property
    def verification(self) -> Named | None: ...  # noqa: D102
    @property
    def tests(self) -> Sequence[OfferedTest]: ...  # noqa: D102
    @property
    def causes(self) -> Sequence[Named]: ...  # noqa: D102
    @property
    def corrections(self) -> Sequence[Named]: ...  # noqa: D102
    @property
    def questions(self) -> Sequence[AskedQuestion]: ...  # noqa: D102


def unknown_words(asked: Asked, entry: Entry) -> tuple[str, ...]:
    """Give each word of an entry that its exercise does not hold."""
    return tuple(word for word, is_known in _words(asked, entry) if not is_known)


def _words(asked: Asked, entry: Entry) -> Iterator[tuple[str, bool]]:
    """Tell of each word whether the exercise holds it."""
    match entry:
        case Prediction():
            yield entry.item, _holds(asked.predictions, entry.item)
        case Verification():
            last = asked.verification
            yield entry.item, last is not None and last.id == entry.item
        case Conclusion():
            yield entry.cause, _holds(asked.causes, entry.cause)
            yield entry.correction, _holds(asked.corrections, entry.correction)
        case ChosenTest() | Finding():
            test = next((one for one in asked.tests if one.id == entry.item), None)
            yield entry.item, test is not None
            if test is not None:
                yield from _words_of_test(test, entry)
        case _ if isinstance(entry, Replied):
            yield entry.item, _holds(asked.questions, entry.item)


def _holds(known: Iterable[Named], word: str) -> bool:
    return any(one.id == word for one in known)


def _words_of_test(
    test: OfferedTest, entry: ChosenTest | Finding
) -> Iterator[tuple[str, bool]]:
    if isinstance(entry, ChosenTest):
        yield entry.expected, entry.expected in test.outcomes
        return
    yield entry.outcome, entry.outcome in test.outcomes
    yield entry.statement, _holds(test.statements, entry.statement)


def misfit(asked: Asked, entry: Entry) -> str:
    """Name the kind of the question that an answer is none to; empty if it is one.

    A choice is no answer to a number, nor an order that leaves something out to an
    order.
    """
    if isinstance(entry, Replied):
        for question in asked.questions:
            if question.id == entry.item and not _is_answer(question, entry):
                return question.kind
    return ""


def _is_answer(question: AskedQuestion, entry: Replied) -> bool:
    ids = [option.id for option in question.options]
    match question.kind, entry:
        case "number", NumberAnswer():
            return entry.unit == question.unit
        case "choice", ChoiceAnswer():
            return entry.choice in ids
        case "order", OrderAnswer():
            return sorted(entry.order) == sorted(ids)
        case "lines", LinesAnswer():
            return len(entry.lines) == len(question.lines) and all(entry.lines)
    return False
