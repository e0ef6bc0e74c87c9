"""Whether an entry speaks of what its exercise holds, for the page and for grading."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Protocol

from workbook.record.entries import (
    ChoiceAnswer,
    ChosenTest,
    Conclusion,
    Entry,
    Finding,
    Hint,
    LinesAnswer,
    Note,
    NumberAnswer,
    OrderAnswer,
    Prediction,
    Replied,
    Restart,
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


def unknown_words(asked: Asked, entry: Entry) -> list[str]:
    """Give each word of an entry that its exercise does not hold."""
    return [word for word, known in _words(asked, entry) if word not in known]


def _words(asked: Asked, entry: Entry) -> list[tuple[str, Collection[str]]]:
    """Give each word of an entry with those that it may be."""
    match entry:
        case ChosenTest() | Finding():
            return _words_of_test(asked.tests, entry)
        case Prediction():
            return [(entry.item, _ids(asked.predictions))]
        case Verification():
            return [(entry.item, _ids([asked.verification]))]
        case Conclusion():
            cause = entry.cause, _ids(asked.causes)
            return [cause, (entry.correction, _ids(asked.corrections))]
        case Hint() | Note() | Restart():
            return []
    return [(entry.item, _ids(asked.questions))]


def _words_of_test(
    on_offer: Sequence[OfferedTest], entry: ChosenTest | Finding
) -> list[tuple[str, Collection[str]]]:
    for test in on_offer:
        if test.id == entry.item:
            if isinstance(entry, ChosenTest):
                return [(entry.expected, test.outcomes)]
            statement = entry.statement, _ids(test.statements)
            return [(entry.outcome, test.outcomes), statement]
    return [(entry.item, ())]


def _ids(named: Iterable[Named | None]) -> list[str]:
    return [one.id for one in named if one is not None]


def misfit(asked: Asked, entry: Entry) -> str:
    """Name the kind of the question that an answer is none to; empty if it is one.

    A choice is no answer to a number, nor an order that leaves something out to an
    order.
    """
    for question in asked.questions:
        if question.id == entry.item and isinstance(entry, Replied):
            return "" if _is_answer(question, entry) else question.kind
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
