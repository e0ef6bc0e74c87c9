"""What grading reads of the answer key: one record a student and exercise."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from msgspec import DecodeError, json

from answer_keys.decoding import in_words
from answer_keys.errors import KeyContentError
from answer_keys.keys.key_questions import NumberKey, QuestionKey, check_misconception
from answer_keys.method import Step, step_of
from generator.model.measure import Sorting
from generator.model.plan import Plan
from generator.model.plan_tree import State
from generator.model.reasoning import Reasoning
from workbook.record.bench import PROVES_NOTHING, Bench
from workbook.record.circuit import Section, Statement
from workbook.record.progress import ExerciseProgress, Given, begin

Band = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class StatementKey(Statement):
    """Something that a reading could prove.

    Attributes
    ----------
    outcomes : tuple of str
        The outcomes that prove it by themselves.
    misconception : str
        Id of the one that says it at the real outcome; empty where none does.
    """

    outcomes: tuple[str, ...]
    misconception: str

    def __post_init__(self) -> None:
        check_misconception(self.misconception)


@dataclass(frozen=True, slots=True, kw_only=True)
class TestKey:
    """A test on offer with what it really shows.

    Attributes
    ----------
    id, title, display : str
        `display` is what the instrument showed.
    outcome, sound_outcome : str
        The reading in words, and what a sound circuit would give.
    outcomes : tuple of str
        The words on offer.
    sorting : str
        How a reading is sorted into them.
    statement : str
        Id of what the reading proves by itself.
    statements : tuple of StatementKey
        The statements on offer.
    mistake : str
        Of a test done in a wrong state, why it misleads or hurts; empty otherwise.
    """

    __test__ = False  # not a test of pytest's

    id: str
    title: str
    minutes: float
    display: str
    outcome: str
    sound_outcome: str
    outcomes: tuple[str, ...]
    sorting: Sorting
    statement: str
    statements: tuple[StatementKey, ...]
    mistake: str

    @property
    def is_too_near(self) -> bool:
        """Whether the reading tells nothing though it was done as it should be."""
        return self.outcome.startswith(PROVES_NOTHING) and not self.mistake

    def stated(self, id_: str) -> StatementKey:
        """Find a statement on offer."""
        for statement in self.statements:
            if statement.id == id_:
                return statement
        raise ValueError(f"{self.id} has no statement {id_!r}")

    def proved_by(self, outcome: str | None) -> str:
        """Id of what an outcome would prove; empty where no cause gives it."""
        ids = (one.id for one in self.statements if outcome in one.outcomes)
        return next(ids, "")


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseOption:
    """A cause on offer and the fault that it names."""

    id: str
    label: str
    fault: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionOption:
    """A correction on offer and the repair that it names."""

    id: str
    label: str
    repair: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantedFault:
    """The fault of the circuit and the repair that cures it."""

    id: str
    repair: str


# Without slots: cached properties keep what they find in the record's own dict.
@dataclass(frozen=True, kw_only=True)
class KeyRecord:
    """The answer key of one exercise of one student.

    Attributes
    ----------
    sections : tuple of SectionKey
        In the order of the current's path.
    tests : tuple of TestKey
        In the order of ``reasoning.tests``.
    kind : str
        ``diagnosis``, or what is asked of the circuit instead.
    questions : tuple of QuestionKey
        What is asked instead; the student then got no tests and no causes.
    family : str
        Id of the component family.
    planned : tuple of str
        Ids of the planned tests along what this vehicle shows; empty where nothing is
        left to be told.
    given : Given or None
        What was done for the student beforehand; None where all is the student's own.
    difficulty : mapping of str to float
        As predicted, and what it is predicted from; empty where nobody has told.
    bench : Bench or None
        What the student could set up and measure; None where only the list was there.
    """

    student: str
    exercise: int
    lesson: str
    title: str
    vehicle: str
    complaint: str
    fault: PlantedFault
    predictions: tuple[NumberKey, ...]
    verification: NumberKey
    sections: tuple[Section, ...]
    tests: tuple[TestKey, ...]
    causes: tuple[CauseOption, ...]
    corrections: tuple[CorrectionOption, ...]
    reasoning: Reasoning
    kind: str
    questions: tuple[QuestionKey, ...]
    family: str
    planned: tuple[str, ...]
    given: Given | None = field(hash=False)
    difficulty: Mapping[str, float] = field(default_factory=dict, hash=False)
    bench: Bench | None = field(default=None, hash=False)

    def __post_init__(self) -> None:
        # Checked when it is read: grading looks things up by place, and a key that does
        # not fit together would give wrong marks without a word.
        if tuple(test.id for test in self.tests) != self.reasoning.tests:
            raise ValueError("tests and reasoning.tests name different tests")
        table = self.reasoning
        ids = [fault.id for fault in table.faults]
        rows = dict(zip(ids, table.outcomes, strict=True))
        if rows.get(self.fault.id) != self.outcomes:
            raise ValueError("the fault's row in reasoning differs from the outcomes")
        for test in self.tests:
            if test.outcome not in test.stated(test.statement).outcomes:
                raise ValueError(f"the outcome of {test.id} proves another statement")
        if not rows.keys() >= {cause.fault for cause in self.causes}:
            raise ValueError("a cause names a fault that reasoning does not hold")
        done = {test.item for test in self.start.tests}
        asked = {number.id for number in self.predictions}
        if not (self.start.given_predictions <= asked and done <= {*table.tests}):
            raise ValueError("given names a step that is neither prediction nor test")

    def __hash__(self) -> int:
        """Tell records apart by whose they are: the hash of all they hold is dear."""
        return hash((self.student, self.exercise))

    @cached_property
    def outcomes(self) -> tuple[str, ...]:
        """What each test really shows."""
        return tuple(test.outcome for test in self.tests)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Which step of an instructor's method each test is."""
        pairs = zip(self.tests, self.reasoning.needs, strict=True)
        return tuple(step_of(test.sorting, needs) for test, needs in pairs)

    @cached_property
    def everything(self) -> tuple[int, ...]:
        """All candidates, before any reading."""
        return tuple(range(len(self.reasoning.faults)))

    @cached_property
    def _numbers(self) -> Mapping[str, int]:
        return {id_: number for number, id_ in enumerate(self.reasoning.tests)}

    @cached_property
    def plan(self) -> Plan:
        """The least-cost plan of this circuit; it recalls what its drawing has found.

        That is the planned way, and the expected minutes where the student begins.
        """
        plan, given = self.reasoning.plan, self.start.given_tests
        first, least = dict[State, int](), dict[State, float]()
        state = plan.start
        for place, id_ in enumerate(self.planned):
            first[state] = number = self.test_number(id_)
            if place == given and "expected_minutes" in self.difficulty:
                least[state] = self.difficulty["expected_minutes"]
            state = plan.after(state, number, self.outcomes[number])
        return plan.recalling(first, least) if first else plan

    def plan_with(self, number: int) -> tuple[Plan, int]:
        """The plan that the choice of a test is judged by, and its number there."""
        return self.plan, number

    @cached_property
    def start(self) -> ExerciseProgress:
        """Where the student began."""
        return begin(self.given)

    def test_number(self, test_id: str) -> int:
        """Return the column of a test in the reasoning."""
        return self._numbers[test_id]

    def test(self, test_id: str) -> TestKey | None:
        """Find a test on offer, if it is one."""
        number = self._numbers.get(test_id)
        return None if number is None else self.tests[number]

    def cause(self, cause_id: str) -> CauseOption:
        """Find a cause on offer."""
        return next(one for one in self.causes if one.id == cause_id)

    def correction(self, correction_id: str) -> CorrectionOption:
        """Find a correction on offer."""
        return next(one for one in self.corrections if one.id == correction_id)

    def sections_of(self, candidates: Iterable[int]) -> frozenset[str]:
        """Return the sections in which any of some candidates lies."""
        faults = self.reasoning.faults
        return frozenset().union(*[faults[one].sections for one in candidates])

    def labels_of_sections(self, ids: Collection[str]) -> list[str]:
        """Name sections, in the order of the current's path."""
        return [section.label for section in self.sections if section.id in ids]

    def label_of_fault(self, fault_id: str) -> str:
        """Return the words in which the causes on offer name a fault."""
        labels = (one.label for one in self.causes if one.fault == fault_id)
        return next(labels, fault_id.replace("_", " "))

    def label_of_repair(self, repair_id: str) -> str:
        """Return the words in which the corrections on offer name a repair."""
        labels = (one.label for one in self.corrections if one.repair == repair_id)
        return next(labels, repair_id.replace("_", " "))

    def repair_of(self, fault_id: str) -> str:
        """Return the repair that cures a fault."""
        return next(f.repair for f in self.reasoning.faults if f.id == fault_id)


_Record = TypeVar("_Record", bound=KeyRecord)


def records_read(
    text: bytes, decoder: json.Decoder[tuple[_Record, ...]]
) -> tuple[_Record, ...]:
    """Read a list of records; what their kind does not name is left out.

    Raises
    ------
    KeyContentError
        Where something is missing or does not fit together.
    """
    try:
        return decoder.decode(text)
    except DecodeError as error:
        raise content_error(error) from error


def content_error(error: DecodeError) -> KeyContentError:
    """Say what a decoder has found wrong with a key."""
    return KeyContentError(
        f"The answer key's content is at fault: {in_words(error)}. Put back the file "
        "as it was written."
    )
