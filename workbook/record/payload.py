"""The exercises inside a workbook's sealed text, as records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import Any

from workbook.errors import SealError
from workbook.record.bench import PROVES_NOTHING, Bench, is_code
from workbook.record.circuit import Circuit, Section, Sign, Statement
from workbook.record.plain import record_from
from workbook.record.progress import ExerciseProgress, Given, begin
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberAsked:
    """A number that the student predicts, before the tests or after the repair."""

    id: str
    label: str
    unit: str
    help: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """What a screen shows: SVG text, and the same in words."""

    svg: str
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where parts are reached: in words, the minutes to it, and what can hurt there."""

    id: str
    label: str
    where: str
    minutes: float
    risk: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagnosticTest:
    """A test on offer, with what its instrument displays in this circuit.

    ``before`` is what must be true before it is done, ``minutes`` are those of the
    reading at the places in ``needs``. Only an instrument with a screen has a
    ``picture``, only a meter a ``range``. ``tool`` is the kind of instrument; ``at`` is
    the spot of the diagram where it reads, ``signs`` what is put where for it.
    """

    id: str
    title: str
    how: str
    before: str
    minutes: float
    needs: tuple[str, ...]
    hazards: tuple[str, ...]
    outcomes: tuple[str, ...]
    display: str
    instrument: str
    statements: tuple[Statement, ...]
    picture: Picture | None = None
    range: str = ""
    tool: str = ""
    at: str = ""
    signs: tuple[Sign, ...] = ()

    @property
    def is_own(self) -> bool:
        """Whether the student has set it up: it is no test of the list."""
        return is_code(self.id)

    def statement(self, wanted: str) -> Statement:
        """Find one of its statements."""
        return next(each for each in self.statements if each.id == wanted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A cause or a correction to choose from."""

    id: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Misconception:
    """A wrong rule, known by the band of numbers that it gives."""

    low: float
    high: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What is right for a number, and what to say to it; practice sets only."""

    low: float
    high: float
    right: str
    wrong: str
    misconceptions: tuple[Misconception, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingFeedback:
    """What a test shows and proves; practice sets only.

    ``proved_by`` gives for each outcome the statement that it proves,
    ``misconceptions`` for each statement what is wrong with the rule that says it.
    ``caution`` says what is wrong with a test done in a wrong state; ``is_drop``
    whether it reads a voltage drop, which there is only while current flows,
    ``is_complaint`` whether it shows no more than what was complained of.
    """

    is_drop: bool
    sound: str
    sound_text: str
    outcome: str
    text: str
    caution: str
    fits: frozenset[str]
    proved_by: Mapping[str, str]
    misconceptions: Mapping[str, str]
    is_complaint: bool = False

    @property
    def unproving(self) -> str:
        """The outcome that proves no cause: of a sound circuit, or the complaint's."""
        return self.outcome if self.is_complaint else self.sound

    @property
    def is_too_near(self) -> bool:
        """Whether the reading tells nothing though it was done as it should be."""
        return self.outcome.startswith(PROVES_NOTHING) and not self.caution


@dataclass(frozen=True, slots=True, kw_only=True)
class ConclusionFeedback:
    """What is right to conclude, and what to say; practice sets only.

    ``causes`` are all that the right correction cures.
    """

    causes: frozenset[str]
    correction: str
    right: str
    wrong_cause: str
    wrong_correction: str
    unproved: str


@dataclass(frozen=True, kw_only=True)
class PlanFeedback:
    """What decides the plan, as `workbook.judging.planned` reads it; practice only.

    Parameters
    ----------
    sides : dict of str to str
        Where each cause lies, by its id.
    chances : dict of str to float
        How likely each cause is, at any scale.
    repairs : dict of str to int
        The number of each cause's correction.
    trial_min : dict of str to float
        Minutes lost on each correction where it is wrong, by its number.
    harmless : frozenset of str
        Causes that show nothing abnormal.
    outcomes : dict of str to str
        By test, one letter a cause: the place of its outcome among the test's words.
    method : dict of str to int
        By test, at which step of the house method it is done.
    """

    sides: Mapping[str, str]
    chances: Mapping[str, float]
    repairs: Mapping[str, int]
    trial_min: Mapping[str, float]
    harmless: frozenset[str]
    outcomes: Mapping[str, str]
    method: Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Feedback:
    """All feedback of an exercise; practice sets only.

    ``sections_of`` gives for each cause the sections in which it lies;
    ``verifications`` what another test than ``verification`` reads after a correction.
    """

    predictions: Mapping[str, Judgement]
    tests: Mapping[str, ReadingFeedback]
    conclusion: ConclusionFeedback
    verification: Judgement
    plan: PlanFeedback
    sections_of: Mapping[str, frozenset[str]]
    verifications: Mapping[str, Judgement] = field(default_factory=dict)

    def after(self, correction: str | None) -> Judgement:
        """What is right for the reading after a correction."""
        return self.verifications.get(correction or "", self.verification)

    def __hash__(self) -> int:
        """Tell one from another, as an exercise does."""
        return id(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a practice set says to one question.

    A number has a ``judgement``; a choice its ``right`` option and a text for each; an
    order all ids in the ``order`` that is right; lines a ``model`` answer a line.
    """

    text: str = ""
    judgement: Judgement | None = None
    right: str = ""
    texts: Mapping[str, str] = field(default_factory=dict)
    order: tuple[str, ...] = ()
    model: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something asked of a circuit without a test.

    ``kind`` is ``number``, ``choice``, ``order`` or ``lines``: a number has a ``unit``,
    choice and order have ``options``, lines have a label each and a checklist. ``told``
    is there in practice sets only.
    """

    id: str
    kind: str
    label: str
    help: str
    unit: str = ""
    options: tuple[Choice, ...] = ()
    lines: tuple[Choice, ...] = ()
    checklist: tuple[str, ...] = ()
    picture: Picture | None = None
    told: Told | None = None

    @property
    def number(self) -> NumberAsked:
        """The number that it asks for."""
        return NumberAsked(id=self.id, label=self.label, unit=self.unit, help=self.help)


@dataclass(frozen=True, kw_only=True)
class Exercise:
    """One exercise as the page needs it; `feedback` is None in a graded set.

    An exercise that is no diagnosis has ``questions`` and nothing else to do. ``given``
    is what was done for the student beforehand; None where all is the student's own.
    After each correction the test that had failed is asked again: ``verification``, or
    what ``verifications`` has under the id of the correction. Without a ``circuit`` the
    page has nothing to show beside its steps, without a ``bench`` only the tests of the
    list are done. What ``is_unlisted`` shows no list.
    """

    number: int
    title: str
    kind: str = "diagnosis"
    predictions: tuple[NumberAsked, ...] = ()
    places: tuple[Place, ...] = ()
    sections: tuple[Section, ...] = ()
    tests: tuple[DiagnosticTest, ...] = ()
    causes: tuple[Choice, ...] = ()
    corrections: tuple[Choice, ...] = ()
    verification: NumberAsked | None = None
    verifications: Mapping[str, NumberAsked] = field(default_factory=dict)
    feedback: Feedback | None = None
    questions: tuple[Question, ...] = ()
    given: Given | None = None
    circuit: Circuit | None = None
    bench: Bench | None = None
    is_unlisted: bool = False

    @property
    def with_list_alone(self) -> Exercise:
        """The same without what the student has set up."""
        return self

    @cached_property
    def start(self) -> ExerciseProgress:
        """Where the student begins."""
        return begin(self.given)

    @property
    def numbers(self) -> tuple[NumberAsked, ...]:
        """Every number that is asked for."""
        asked = (each.number for each in self.questions if each.kind == "number")
        last = () if self.verification is None else (self.verification,)
        return (*self.predictions, *last, *asked)

    def __hash__(self) -> int:
        """Tell one exercise from another: what is found of one is kept by it."""
        return id(self)

    def asked_after(self, correction: str | None) -> NumberAsked | None:
        """The number that is asked after a correction."""
        return self.verifications.get(correction or "", self.verification)

    def question(self, wanted: str) -> Question | None:
        """Find one of its questions."""
        return next((each for each in self.questions if each.id == wanted), None)

    def test(self, wanted: str) -> DiagnosticTest:
        """Find one of its tests."""
        return next(each for each in self.tests if each.id == wanted)

    def __post_init__(self) -> None:
        """Check that all is there: the page must not find that out later."""
        sections = {section.id for section in self.sections}
        said = (each for test in self.tests for each in test.statements)
        if not all(sections.issuperset(each.cleared + each.suspect) for each in said):
            raise ValueError(f"sections of exercise {self.number}")
        numbers, tests = {p.id for p in self.predictions}, {t.id for t in self.tests}
        places = {place.id for place in self.places}
        if not all(places.issuperset(test.needs) for test in self.tests):
            raise ValueError(f"places of exercise {self.number}")
        done = {test.item for test in self.start.tests}
        if not (self.start.given_predictions <= numbers and done <= tests):
            raise ValueError(f"what is done for the student in exercise {self.number}")
        if self.feedback is None:
            return
        feedback, causes = self.feedback, {each.id for each in self.causes}
        asked = numbers, tests, tests, causes
        told = feedback.predictions, feedback.tests, feedback.plan.outcomes
        if asked != (*map(set, told), set(feedback.plan.sides)):
            raise ValueError(f"feedback to every step of exercise {self.number}")


@dataclass(frozen=True, kw_only=True)
class ExtendedExercise(Exercise):
    """An exercise with set-ups of the student among its tests, made from one without.

    It is never sealed.
    """

    listed: Exercise

    # Said again, because a dataclass else makes a hash of all that it holds.
    __hash__ = Exercise.__hash__

    @classmethod
    def of(
        cls,
        listed: Exercise,
        own: tuple[DiagnosticTest, ...],
        feedback: Feedback | None,
    ) -> ExtendedExercise:
        """Put tests behind those of the list."""
        every = {each.name: getattr(listed, each.name) for each in fields(Exercise)}
        told = {"tests": (*listed.tests, *own), "feedback": feedback}
        return cls(**{**every, **told}, listed=listed)

    @property
    def with_list_alone(self) -> Exercise:
        """The exercise that it was made from."""
        return self.listed


def exercises_from_payload(payload: Mapping[str, Any]) -> dict[int, Exercise]:
    """Build the records.

    Parameters
    ----------
    payload : mapping
        As `workbook.record.sealed.unseal` returns it.

    Returns
    -------
    dict of int to Exercise
        By exercise number.

    Raises
    ------
    SealError
        When something is missing or of the wrong shape.
    """
    try:
        exercises = [record_from(Exercise, item) for item in payload["exercises"]]
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        text = _("The sealed text lacks something it needs: {reason}.")
        raise SealError(text.format(reason=error)) from error
    return {exercise.number: exercise for exercise in exercises}
