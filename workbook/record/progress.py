"""Fold a journal into how far each exercise has come; pure.

The form shows the result and grading marks it, so both see the same work. An entry
that breaks the order of an exercise (say, the second of two recordings of one
prediction, from two windows) stays in the journal but changes nothing here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

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
    drafts = {number: _Draft(start) for number, start in (starts or {}).items()}
    for entry in entries:
        number = entry["exercise"]
        if number not in drafts:
            drafts[number] = _Draft(ExerciseProgress())
        drafts[number].take(entry)
    return {number: draft.progress() for number, draft in drafts.items()}


def after(progress: ExerciseProgress, entry: Mapping[str, Any]) -> ExerciseProgress:
    """Return the progress after one entry; the very same object if it is ignored.

    Examples
    --------
    >>> start = ExerciseProgress()
    >>> early = {"kind": "finding", "item": "t1", "outcome": "none", "statement": "s1"}
    >>> after(start, early) is start
    True
    """
    draft = _Draft(progress)
    return draft.progress() if draft.take(entry) else progress


class _Draft:
    """Progress that is being worked on: a record anew for each entry takes long."""

    __slots__ = tuple(ExerciseProgress.__dataclass_fields__)

    def __init__(self, progress: ExerciseProgress) -> None:
        self.predictions = dict(progress.predictions)
        self.tests = list(progress.tests)
        self.cause = progress.cause
        self.correction = progress.correction
        self.verification = progress.verification
        self.hints = progress.hints
        self.replies = dict(progress.replies)
        self.given_predictions = progress.given_predictions
        self.given_tests = progress.given_tests

    def progress(self) -> ExerciseProgress:
        return ExerciseProgress(
            predictions=self.predictions,
            tests=tuple(self.tests),
            cause=self.cause,
            correction=self.correction,
            verification=self.verification,
            hints=self.hints,
            replies=self.replies,
            given_predictions=self.given_predictions,
            given_tests=self.given_tests,
        )

    def take(self, entry: Mapping[str, Any]) -> bool:
        """Take an entry; tell whether it changed anything."""
        step = _STEPS.get(entry["kind"])
        return step is not None and step(self, entry)

    @property
    def is_finding_due(self) -> bool:
        return bool(self.tests) and self.tests[-1].outcome is None


def _prediction(draft: _Draft, entry: Mapping[str, Any]) -> bool:
    """Predictions come before the first test, each once."""
    is_due = not (draft.tests or draft.cause or entry["item"] in draft.predictions)
    if is_due:
        draft.predictions[entry["item"]] = _answer(entry)
    return is_due


def _test(draft: _Draft, entry: Mapping[str, Any]) -> bool:
    """Each test is done once, and not while a finding is due."""
    item = entry["item"]
    if draft.cause or draft.is_finding_due or any(t.item == item for t in draft.tests):
        return False
    test = TestDone(item=item, expected=entry["expected"], hints=draft.hints)
    draft.tests.append(test)
    draft.hints = 0
    return True


def _hint(draft: _Draft, entry: Mapping[str, Any]) -> bool:
    """Hints come one after the other, while a test or the conclusion is due."""
    is_next = entry["step"] == draft.hints + 1 <= len(HINT_COSTS)
    if draft.cause or draft.is_finding_due or not is_next:
        return False
    draft.hints = entry["step"]
    return True


def _finding(draft: _Draft, entry: Mapping[str, Any]) -> bool:
    """The finding belongs to the test just done."""
    if not draft.is_finding_due or draft.tests[-1].item != entry["item"]:
        return False
    done = draft.tests[-1]
    draft.tests[-1] = TestDone(
        item=done.item,
        expected=done.expected,
        hints=done.hints,
        outcome=entry["outcome"],
        statement=entry["statement"],
    )
    return True


def _conclusion(draft: _Draft, entry: Mapping[str, Any]) -> bool:
    """One conclusion, after at least one test and its finding."""
    if draft.cause or draft.is_finding_due or not draft.tests:
        return False
    draft.cause, draft.correction = entry["cause"], entry["correction"]
    return True


def _verification(draft: _Draft, entry: Mapping[str, Any]) -> bool:
    """One verification, after the conclusion."""
    is_due = draft.cause is not None and draft.verification is None
    if is_due:
        draft.verification = _answer(entry)
    return is_due


def _reply(draft: _Draft, entry: Mapping[str, Any]) -> bool:
    """Each question is answered once, in any order."""
    if entry["item"] in draft.replies:
        return False
    draft.replies[entry["item"]] = Reply(
        # A returned file names every form of an answer, and one of them is filled.
        number=None if entry.get("value") is None else _answer(entry),
        choice=entry.get("choice") or "",
        order=tuple(entry.get("order") or ()),
        lines=tuple(entry.get("lines") or ()),
        time=entry.get("time", ""),
    )
    return True


def _answer(entry: Mapping[str, Any]) -> Answer:
    return Answer(
        raw=entry["raw"],
        value=float(entry["value"]),
        unit=entry["unit"],
        time=entry.get("time", ""),
    )


_STEPS: dict[str, Callable[[_Draft, Mapping[str, Any]], bool]] = {
    "answer": _reply,
    "prediction": _prediction,
    "hint": _hint,
    "test": _test,
    "finding": _finding,
    "conclusion": _conclusion,
    "verification": _verification,
}
