"""Fold a journal into how far each exercise has come; pure.

The form shows the result and grading marks it, so both see the same work. An entry
that breaks the order of an exercise (say, the second of two recordings of one
prediction, from two windows) stays in the journal but changes nothing here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import ClassVar

from workbook.record.entries import (
    HINT_COSTS,
    ChoiceAnswer,
    ChosenTest,
    Conclusion,
    Entry,
    Finding,
    Hint,
    LinesAnswer,
    Note,
    Number,
    NumberAnswer,
    OrderAnswer,
    Prediction,
    Replied,
    Restart,
    Verification,
)

MAX_LINE_LENGTH = 400
"""Characters of one line that a student writes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A recorded number.

    Parameters
    ----------
    raw : str
        As typed.
    value : float
        In `unit`.
    unit : str
        ``A``, ``V`` or ``Ω``.
    time : str
        UTC time of recording, as in the journal.
    """

    raw: str
    value: float
    unit: str
    time: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """A recorded answer to a question: one of the four, by the question's kind.

    Parameters
    ----------
    choice : str
        Id of the option chosen.
    order : tuple of str
        Ids of all options, in the student's order.
    lines : tuple of str
        What was written, a text a line.
    time : str
        UTC time of recording, as in the journal.
    """

    number: Answer | None = None
    choice: str = ""
    order: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    time: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class TestDone:
    """A test that was done.

    Parameters
    ----------
    item : str
        The test's id.
    expected : str
        The outcome that the student expected of a sound circuit.
    outcome : str or None
        The outcome that the student read; None while the finding is due.
    hints : int
        How many hints the student took before choosing it.
    statement : str or None
        The id of what the student says that it proves; None while it is due.
    """

    __test__: ClassVar[bool] = False  # keeps pytest from collecting it by its name

    item: str
    expected: str
    outcome: str | None = None
    hints: int = 0
    statement: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What was done for the student beforehand.

    Parameters
    ----------
    predictions : dict of str to Answer
        By prediction id.
    tests : tuple of TestDone
        With their findings, in the order they were done.
    """

    predictions: Mapping[str, Answer] = field(default_factory=dict)
    tests: tuple[TestDone, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseProgress:
    """How far one exercise has come.

    Parameters
    ----------
    predictions : dict of str to Answer
        By prediction id, in the order of recording.
    tests : tuple of TestDone
        In the order they were done.
    cause, correction : str or None
        The conclusion.
    verification : Answer or None
        The number predicted for after the repair.
    hints : int
        How many hints were taken since the last test: for the next one, or for the
        conclusion.
    replies : dict of str to Reply
        By question id, in the order of recording.
    given_predictions : frozenset of str
        Ids of the predictions that were done for the student beforehand.
    given_tests : int
        How many of the tests were, the first ones.
    given : Given or None
        What was done for the student beforehand, to begin with once more.
    note : str
        What the student wrote for the student alone.
    restarts : int
        How often the student began once more: all else is of the last time.
    """

    predictions: Mapping[str, Answer] = field(default_factory=dict)
    tests: tuple[TestDone, ...] = ()
    cause: str | None = None
    correction: str | None = None
    verification: Answer | None = None
    hints: int = 0
    replies: Mapping[str, Reply] = field(default_factory=dict)
    given_predictions: frozenset[str] = frozenset()
    given_tests: int = 0
    given: Given | None = None
    note: str = ""
    restarts: int = 0

    @property
    def is_worked_on(self) -> bool:
        """Whether anything was done since its last beginning."""
        return self != _fresh(self)

    @property
    def own_tests(self) -> tuple[TestDone, ...]:
        """The tests that the student did."""
        return self.tests[self.given_tests :]

    @property
    def finding_due(self) -> str | None:
        """The id of the test whose finding is due."""
        last = self.tests[-1:]
        return last[0].item if last and last[0].outcome is None else None


def hint_cost(hints: int) -> float:
    """Return the part of a choice's mark that so many hints cost.

    Examples
    --------
    >>> hint_cost(0), hint_cost(2)
    (0.0, 0.5)
    """
    return HINT_COSTS[hints - 1] if hints else 0.0


def begin(given: Given | None) -> ExerciseProgress:
    """Return where a student begins.

    Examples
    --------
    >>> begin(Given(tests=(TestDone(item="t1", expected="none"),))).given_tests
    1
    """
    if given is None:
        return ExerciseProgress()
    return ExerciseProgress(
        predictions=given.predictions,
        tests=given.tests,
        given_predictions=frozenset(given.predictions),
        given_tests=len(given.tests),
        given=given,
    )


def replay(
    entries: Iterable[Entry],
    starts: Mapping[int, ExerciseProgress] | None = None,
) -> dict[int, ExerciseProgress]:
    """Fold journal entries, in order of time, into progress by exercise number.

    Parameters
    ----------
    entries : iterable of Entry
        Already sorted.
    starts : mapping of int to ExerciseProgress, optional
        Where the student began, as `begin` returns it; else with nothing done.

    Returns
    -------
    dict of int to ExerciseProgress
        Only exercises that have a start or an entry.
    """
    done = dict(starts or {})
    by_exercise = defaultdict[int, list[Entry]](list)
    for entry in entries:
        by_exercise[entry.exercise].append(entry)
    for number, own in by_exercise.items():
        done[number] = _folded(done.get(number, ExerciseProgress()), own)
    return done


def after(progress: ExerciseProgress, entry: Entry) -> ExerciseProgress:
    """Return the progress after one entry; the very same object if it is ignored.

    Examples
    --------
    >>> start = ExerciseProgress()
    >>> after(start, Finding(item="t1", outcome="none", statement="s1")) is start
    True
    """
    done = _folded(progress, [entry])
    return progress if done == progress else done


def _folded(start: ExerciseProgress, entries: Iterable[Entry]) -> ExerciseProgress:
    """Take the steps of one exercise in order; one that is not due is passed over."""
    done, steps = start, list[Entry]()
    for entry in entries:
        match entry:
            case Note():
                done = replace(done, note=entry.text)
            case Restart():
                done, steps = _begun_again(_worked(done, steps)), []
            case _:
                steps.append(entry)
    return _worked(done, steps)


def _begun_again(done: ExerciseProgress) -> ExerciseProgress:
    """Give the start once more; where nothing was done since, all stays as it is."""
    return (
        replace(_fresh(done), restarts=done.restarts + 1) if done.is_worked_on else done
    )


def _fresh(done: ExerciseProgress) -> ExerciseProgress:
    """The same work where nothing of this way was done yet."""
    return replace(begin(done.given), note=done.note, restarts=done.restarts)


def _worked(start: ExerciseProgress, entries: Iterable[Entry]) -> ExerciseProgress:
    """Take steps of one way through an exercise."""
    predictions, tests, hints = dict(start.predictions), list(start.tests), start.hints
    cause, correction = start.cause, start.correction
    verification, replies = start.verification, dict(start.replies)
    for entry in entries:
        is_finding_due = bool(tests) and tests[-1].outcome is None
        is_open = not (cause or is_finding_due)
        match entry:
            case ChosenTest() if is_open and all(t.item != entry.item for t in tests):
                test = TestDone(item=entry.item, expected=entry.expected, hints=hints)
                tests.append(test)
                hints = 0
            case Finding() if is_finding_due and tests[-1].item == entry.item:
                tests[-1] = replace(
                    tests[-1], outcome=entry.outcome, statement=entry.statement
                )
            case Prediction() if not (tests or cause):
                # Of two windows the first to record counts: a prediction is no second
                # guess.
                predictions.setdefault(entry.item, _answer(entry))
            # One after the other, so that nobody pays for a hint that was not shown.
            case Hint() if is_open and entry.step == hints + 1:
                hints = entry.step
            case Conclusion() if is_open and tests:
                cause, correction = entry.cause, entry.correction
            case Verification() if cause is not None and verification is None:
                verification = _answer(entry)
            case NumberAnswer() | ChoiceAnswer() | OrderAnswer() | LinesAnswer():
                replies.setdefault(entry.item, _reply(entry))
    return replace(
        start,
        predictions=predictions,
        tests=tuple(tests),
        cause=cause,
        correction=correction,
        verification=verification,
        hints=hints,
        replies=replies,
    )


def _reply(entry: Replied) -> Reply:
    match entry:
        case NumberAnswer():
            return Reply(number=_answer(entry), time=entry.time)
        case ChoiceAnswer():
            return Reply(choice=entry.choice, time=entry.time)
        case OrderAnswer():
            return Reply(order=entry.order, time=entry.time)
    return Reply(lines=entry.lines, time=entry.time)


def _answer(entry: Number) -> Answer:
    return Answer(
        raw=entry.raw, value=float(entry.value), unit=entry.unit, time=entry.time
    )
