"""What the class report says, computed from a class's results; pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean, median

from answer_keys.gradebook.results import ClassResult, GradedExercise, StudentResult
from answer_keys.marking.marks import StepMark
from answer_keys.marking.rubric import MARKED_STEPS, STEPS
from answer_keys.reports.general_names import fault_name, test_name


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultGroup:
    """All exercises of a lesson with the same planted fault.

    Attributes
    ----------
    lesson, fault : str
        In words.
    count : int
        Exercises.
    mean : float
        Mean mark [%].
    proved : int
        Exercises in which the cause was named rightly.
    named_instead : str
        The wrong cause named most often with its count, or empty.
    """

    lesson: str
    fault: str
    count: int
    mean: float
    weakest_step: str
    weakest_percent: float
    proved: int
    named_instead: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Confusion:
    """A reading that was taken for another outcome than it shows, or expected so."""

    title: str
    count: int
    of: int
    example: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassView:
    """The figures of the class report.

    Attributes
    ----------
    totals : tuple of float
        One a graded student [%].
    median : float or None
        None where nothing was graded.
    steps : dict of str to tuple of float
        By step, one share a student [%].
    early_stops, conclusions : int
        Conclusions drawn while causes of different repairs were possible, and all.
    """

    totals: tuple[float, ...]
    median: float | None
    steps: dict[str, tuple[float, ...]]
    faults: tuple[FaultGroup, ...]
    confusions: tuple[Confusion, ...]
    early_stops: int
    conclusions: int

    @property
    def step_means(self) -> dict[str, float]:
        """Mean share of each step that was graded [%]."""
        return {step: fmean(shares) for step, shares in self.steps.items() if shares}

    @property
    def weakest_step(self) -> str | None:
        """The step with the lowest mean."""
        means = self.step_means
        return min(means, key=lambda step: means[step]) if means else None


def percent(mark: float, out_of: float) -> float | None:
    """Return a mark in percent; None where there is none to be had."""
    return 100.0 * mark / out_of if out_of else None


def step_percents(student: StudentResult) -> dict[str, float | None]:
    """Return a student's share of each step over all exercises [%]."""
    return {step: _step_percent(student.exercises, step) for step in MARKED_STEPS}


def class_view(result: ClassResult) -> ClassView:
    """Compute what the class report says."""
    graded = result.graded
    exercises = [one for student in graded for one in student.exercises]
    totals = [percent(one.total, one.out_of) or 0.0 for one in graded]
    # Only of those who named a cause: the others never said that they stopped.
    stops = [
        step for one in exercises if one.named_cause for step in _items(one, "stop")
    ]
    return ClassView(
        totals=tuple(totals),
        median=median(totals) if totals else None,
        steps=_steps(graded),
        faults=tuple(_fault_groups(exercises)),
        confusions=tuple(_confusions(exercises)),
        early_stops=sum(not step.mark for step in stops),
        conclusions=len(stops),
    )


def _steps(graded: Sequence[StudentResult]) -> dict[str, tuple[float, ...]]:
    """Shares of each step; the questions only where a set has some."""
    shares = {step: tuple(_shares(graded, step)) for step in MARKED_STEPS}
    return {step: some for step, some in shares.items() if some or step in STEPS}


def _items(one: GradedExercise, item: str) -> Iterator[StepMark]:
    return (step for step in one.marks.steps if step.item == item)


def _step_percent(exercises: Iterable[GradedExercise], step: str) -> float | None:
    marks = [m for one in exercises for m in one.marks.steps if m.step == step]
    return percent(sum(m.mark for m in marks), sum(m.out_of for m in marks))


def _shares(students: Iterable[StudentResult], step: str) -> Iterator[float]:
    for student in students:
        share = _step_percent(student.exercises, step)
        if share is not None:
            yield share


def _fault_groups(exercises: Iterable[GradedExercise]) -> Iterator[FaultGroup]:
    groups: defaultdict[tuple[str, str], list[GradedExercise]] = defaultdict(list)
    for one in exercises:
        if one.outline.has_questions:
            continue
        groups[one.outline.lesson, one.outline.fault].append(one)
    found = [_fault_group(members) for members in groups.values()]
    yield from sorted(found, key=lambda group: (group.mean, group.fault))


def _fault_group(members: list[GradedExercise]) -> FaultGroup:
    first = members[0].outline
    shares = {step: _step_percent(members, step) for step in STEPS}
    known = {step: share for step, share in shares.items() if share is not None}
    weakest = min(known, key=lambda step: known[step], default=STEPS[0])
    instead = Counter(
        one.named_cause for one in members if one.named_cause and not one.is_cause_right
    )
    common = instead.most_common(1)
    return FaultGroup(
        lesson=first.lesson.replace("-", " ").replace("_", " ").capitalize(),
        fault=fault_name(first.fault, first.cause),
        count=len(members),
        mean=fmean(100.0 * one.share for one in members),
        weakest_step=weakest,
        weakest_percent=known.get(weakest, 0.0),
        proved=sum(one.is_cause_right for one in members),
        named_instead=f"{common[0][0]} ({common[0][1]})" if common else "",
    )


def _confusions(exercises: Iterable[GradedExercise]) -> Iterator[Confusion]:
    findings: defaultdict[str, list[StepMark]] = defaultdict(list)
    for one in exercises:
        for step in one.marks.steps:
            if step.step == "findings" and step.item != "findings":
                findings[test_name(step.item, step.title)].append(step)
    found = [
        Confusion(
            title=title,
            count=len(wrong),
            of=len(steps),
            example=wrong[0].reason,
        )
        for title, steps in findings.items()
        if (wrong := [step for step in steps if step.mark < step.out_of])
    ]
    # By counts and not by shares: one of one is no confusion of the class.
    yield from sorted(found, key=lambda one: (-one.count, one.title))
