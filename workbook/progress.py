"""Fold a journal into how far each exercise has come; pure.

The form shows the result and grading marks it, so both see the same work. An entry
that breaks the order of an exercise (say, the second of two recordings of one
prediction, from two windows) stays in the journal but changes nothing here.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, ClassVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

MAX_LINE_LENGTH = 400
"""Characters of one line that a student writes."""

HINT_COSTS = (0.2, 0.5, 1.0)
"""Part of a choice's mark that is gone after one, two and three hints for it."""


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
    number : Answer or None
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


def begin(given: Iterable[Mapping[str, Any]]) -> ExerciseProgress:
    """Return where a student begins.

    Parameters
    ----------
    given : iterable of mapping
        Predictions, tests and findings done for the student, as journal entries.

    Examples
    --------
    >>> begin([{"kind": "test", "item": "t1", "expected": "none"}]).given_tests
    1
    """
    done = ExerciseProgress()
    for entry in given:
        done = after(done, entry)
    predicted = frozenset(done.predictions)
    return replace(done, given_predictions=predicted, given_tests=len(done.tests))


def replay(
    entries: Iterable[Mapping[str, Any]],
    starts: Mapping[int, ExerciseProgress] | None = None,
) -> dict[int, ExerciseProgress]:
    """Fold journal entries, in order of time, into progress by exercise number.

    Parameters
    ----------
    entries : iterable of mapping
        Entries as in the journal, without headers, already sorted.
    starts : mapping of int to ExerciseProgress, optional
        Where the student began, as `begin` returns it; else with nothing done.

    Returns
    -------
    dict of int to ExerciseProgress
        Only exercises that have a start or an entry.
    """
    state = dict(starts or {})
    for entry in entries:
        number = entry["exercise"]
        state[number] = after(state.get(number, ExerciseProgress()), entry)
    return state


def after(progress: ExerciseProgress, entry: Mapping[str, Any]) -> ExerciseProgress:
    """Return the progress after one entry; the very same object if it is ignored.

    Examples
    --------
    >>> start = ExerciseProgress()
    >>> early = {"kind": "finding", "item": "t1", "outcome": "none", "statement": "s1"}
    >>> after(start, early) is start
    True
    """
    step = _STEPS.get(entry["kind"])
    return progress if step is None else step(progress, entry)


def _prediction(
    progress: ExerciseProgress, entry: Mapping[str, Any]
) -> ExerciseProgress:
    """Predictions come before the first test, each once."""
    if progress.tests or progress.cause or entry["item"] in progress.predictions:
        return progress
    predictions = {**progress.predictions, entry["item"]: _answer(entry)}
    return replace(progress, predictions=predictions)


def _test(progress: ExerciseProgress, entry: Mapping[str, Any]) -> ExerciseProgress:
    """Each test is done once, and not while a finding is due."""
    done = {test.item for test in progress.tests}
    if progress.cause or progress.finding_due or entry["item"] in done:
        return progress
    test = TestDone(
        item=entry["item"], expected=entry["expected"], hints=progress.hints
    )
    return replace(progress, tests=(*progress.tests, test), hints=0)


def _hint(progress: ExerciseProgress, entry: Mapping[str, Any]) -> ExerciseProgress:
    """Hints come one after the other, while a test or the conclusion is due."""
    is_next = entry["step"] == progress.hints + 1 <= len(HINT_COSTS)
    if progress.cause or progress.finding_due or not is_next:
        return progress
    return replace(progress, hints=entry["step"])


def _finding(progress: ExerciseProgress, entry: Mapping[str, Any]) -> ExerciseProgress:
    """The finding belongs to the test just done."""
    if progress.finding_due is None or progress.finding_due != entry["item"]:
        return progress
    found = replace(
        progress.tests[-1], outcome=entry["outcome"], statement=entry["statement"]
    )
    return replace(progress, tests=(*progress.tests[:-1], found))


def _conclusion(
    progress: ExerciseProgress, entry: Mapping[str, Any]
) -> ExerciseProgress:
    """One conclusion, after at least one test and its finding."""
    if progress.cause or progress.finding_due or not progress.tests:
        return progress
    return replace(progress, cause=entry["cause"], correction=entry["correction"])


def _verification(
    progress: ExerciseProgress, entry: Mapping[str, Any]
) -> ExerciseProgress:
    """One verification, after the conclusion."""
    if progress.cause is None or progress.verification is not None:
        return progress
    return replace(progress, verification=_answer(entry))


def _reply(progress: ExerciseProgress, entry: Mapping[str, Any]) -> ExerciseProgress:
    """Each question is answered once, in any order."""
    if entry["item"] in progress.replies:
        return progress
    reply = Reply(
        # A returned file names every form of an answer, and one of them is filled.
        number=None if entry.get("value") is None else _answer(entry),
        choice=entry.get("choice") or "",
        order=tuple(entry.get("order") or ()),
        lines=tuple(entry.get("lines") or ()),
        time=entry.get("time", ""),
    )
    return replace(progress, replies={**progress.replies, entry["item"]: reply})


def _answer(entry: Mapping[str, Any]) -> Answer:
    return Answer(
        raw=entry["raw"],
        value=float(entry["value"]),
        unit=entry["unit"],
        time=entry.get("time", ""),
    )


_STEPS: dict[str, Callable[[ExerciseProgress, Mapping[str, Any]], ExerciseProgress]] = {
    "answer": _reply,
    "prediction": _prediction,
    "hint": _hint,
    "test": _test,
    "finding": _finding,
    "conclusion": _conclusion,
    "verification": _verification,
}
