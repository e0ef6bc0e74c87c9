"""What reports need of a class: its marks laid beside the answer key."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import chain

from answer_keys.gradebook.standings import Receipt
from answer_keys.keys.key_questions import NumberKey
from answer_keys.keys.key_record import KeyRecord, TestKey
from answer_keys.keys.set_ups import with_set_ups
from answer_keys.marking.marked import Span
from answer_keys.marking.marks import ExerciseMarks, StepMark
from answer_keys.marking.visits import minutes_along, planned_tests
from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.mistakes import MISTAKES
from workbook.texts import ENGLISH


@dataclass(frozen=True, slots=True, kw_only=True)
class TestOutline:
    """A test as reports name it, with what it takes."""

    __test__ = False  # not a test of pytest's

    id: str
    title: str
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """What reports need of an exercise: its key is a thousand times as large.

    Attributes
    ----------
    fault : str
        Id of the planted one.
    cause : str
        That fault in words.
    has_questions : bool
        Whether questions were asked in place of a diagnosis.
    done, planned : tuple of TestOutline
        The tests that the student chose, and those of the plan, in their order.
    chances : tuple of str
        Misconceptions that the student's steps could have shown, each as often.
    predicted_percent : float
        Of the marks, what a careful novice was expected to lose by the plan alone.
    """

    lesson: str
    vehicle: str
    kind: str
    family: str
    fault: str
    cause: str
    has_questions: bool
    done: tuple[TestOutline, ...]
    planned: tuple[TestOutline, ...]
    chances: tuple[str, ...]
    predicted_percent: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GradedExercise:
    """One exercise of one student with its marks.

    Attributes
    ----------
    span : (datetime.datetime, datetime.datetime) or None
        From when to when it was worked on, by the student's clock; None where the
        hand-in has no times of it.
    """

    outline: Outline
    marks: ExerciseMarks
    span: Span | None = None

    @property
    def share(self) -> float:
        """Share of its marks that was given."""
        return self.marks.mark / self.marks.out_of if self.marks.out_of else 0.0

    def of_step(self, step: str) -> tuple[StepMark, ...]:
        """Return the marks of one step of the rubric."""
        return tuple(one for one in self.marks.steps if one.step == step)

    @property
    def choices(self) -> tuple[tuple[TestOutline, StepMark], ...]:
        """The tests done, in their order, each with the mark of its choice."""
        tests = {test.id: test for test in self.outline.done}
        marks = self.of_step("choices")
        return tuple((tests[one.item], one) for one in marks if one.item in tests)

    @property
    def named_cause(self) -> str:
        """The cause named, in words; empty where none was."""
        return next((one.answer for one in self.of_step("cause")), "")

    @property
    def is_cause_right(self) -> bool:
        """Whether the cause named counts."""
        return math.fsum(one.mark for one in self.of_step("cause")) > 0

    @property
    def worst(self) -> StepMark | None:
        """The step that lost the most marks."""
        lost = {one.out_of - one.mark: one for one in self.marks.steps}
        most = max(lost, default=0.0)
        return lost[most] if most > 0 else None

    @property
    def is_started(self) -> bool:
        """Whether the student did anything here."""
        return bool(self.choices) or any(one.answer for one in self.marks.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class StudentResult:
    """One student with what was graded.

    Attributes
    ----------
    id, name : str
        From the roster.
    sheet : str
        File name of the student's sheet.
    file : str or None
        The returned file that counts; None where nothing came back.
    late_days : int
        Days begun since the deadline.
    deducted_percent : float
        Of all marks, for being late.
    graded_at : datetime.datetime or None
        When the marks that count were recorded.
    """

    id: str
    name: str
    sheet: str
    file: str | None = None
    late_days: int = 0
    deducted_percent: float = 0.0
    graded_at: datetime | None = None
    exercises: tuple[GradedExercise, ...] = ()

    @property
    def steps(self) -> tuple[StepMark, ...]:
        """All step marks of all exercises."""
        return tuple(step for one in self.exercises for step in one.marks.steps)

    @property
    def total(self) -> float:
        """Marks of all exercises, less what is deducted for being late."""
        marks = math.fsum(step.mark for step in self.steps)
        return marks * (1 - self.deducted_percent / 100)

    @property
    def out_of(self) -> float:
        """Marks that all exercises carry."""
        return math.fsum(step.out_of for step in self.steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassResult:
    """A whole class.

    ``language`` is that of the answer key, and of all that is reported. ``history``
    holds the last tries in earlier sets by student and skill.
    """

    set_id: str
    mode: str
    has_own_causes: bool = True
    language: str = ENGLISH
    students: tuple[StudentResult, ...]
    receipts: Collection[Receipt]
    history: Mapping[str, Mapping[str, tuple[bool, ...]]]

    @property
    def graded(self) -> tuple[StudentResult, ...]:
        """The students whose hand-in was graded."""
        return tuple(one for one in self.students if one.file is not None)


_OF_CONCLUSIONS = {m.id for m in MISCONCEPTIONS.values() if m.kind == "conclusion"}
# A test done in a wrong state can be chosen only where it is on offer.
_OF_CHOICES = {m.id for m in MISCONCEPTIONS.values() if m.kind == "choice"} - set(
    MISTAKES.values()
)


def graded_exercise(
    record: KeyRecord, marks: ExerciseMarks, span: Span | None = None
) -> GradedExercise:
    """Lay the marks of an exercise beside its outline.

    Parameters
    ----------
    span : (datetime.datetime, datetime.datetime) or None
        From when to when it was worked on.
    """
    tried = [mark.item for mark in marks.steps if mark.step == "choices"]
    record = with_set_ups(record, [*(t.item for t in record.start.tests), *tried])
    done = [test for id_ in tried if (test := record.test(id_))]
    hard = record.difficulty
    # Tests done for the student have opened places, whose minutes nobody pays again.
    given = [record.tests[record.test_number(t.item)] for t in record.start.tests]
    outline = Outline(
        lesson=record.lesson,
        vehicle=record.vehicle,
        kind=record.kind,
        family=record.family,
        fault=record.fault.id,
        cause=record.label_of_fault(record.fault.id),
        has_questions=bool(record.questions),
        done=_outlines(record, [*given, *done])[len(given) :],
        planned=_outlines(record, () if record.questions else planned_tests(record)),
        chances=tuple(_chances(record, marks, done)),
        # What earlier classes lost beyond the prediction is in the percent, too:
        # reports measure each class against the plan alone, not against the report
        # before.
        predicted_percent=hard.get("percent", 0.0) - hard.get("observed", 0.0),
    )
    return GradedExercise(outline=outline, marks=marks, span=span)


def _outlines(record: KeyRecord, tests: Sequence[TestKey]) -> tuple[TestOutline, ...]:
    """Tests in the order of doing, each with the minutes that it then takes."""
    return tuple(
        TestOutline(id=test.id, title=test.title, minutes=minutes)
        for test, minutes in zip(tests, minutes_along(record, tests), strict=True)
    )


def _chances(
    record: KeyRecord, marks: ExerciseMarks, done: list[TestKey]
) -> Iterator[str]:
    """Return each misconception once for every time that it could have shown."""
    answered = {mark.item for mark in marks.steps if mark.answer}
    for number in _numbers(record):
        if number.id in answered:
            # Once a number, however many of its bands one rule explains.
            yield from {rule.id for rule in number.misconceptions}
    is_concluded = any(mark.answer for mark in marks.steps if mark.step == "cause")
    concluded = _OF_CONCLUSIONS if is_concluded else set()
    yield from (_others(record, answered, done) | concluded) - {""}


def _numbers(record: KeyRecord) -> Iterator[NumberKey]:
    """Return every number that was asked for."""
    if not record.questions:
        yield from (*record.predictions, record.verification)
    for question in record.questions:
        if question.number is not None:
            yield question.number


def _others(record: KeyRecord, answered: set[str], done: list[TestKey]) -> set[str]:
    """Return all that choices, findings and chosen answers could show."""
    asked = (one.options for one in record.questions if one.id in answered)
    found = {option.misconception for option in chain.from_iterable(asked)}
    for test in done:
        found |= {statement.misconception for statement in test.statements}
    if done:
        found |= _OF_CHOICES | {MISTAKES.get(test.id, "") for test in record.tests}
    return found
