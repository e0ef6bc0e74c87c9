"""What a graded class tells of its exercises, small enough to keep that of a school."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from answer_keys.gradebook.results import ClassResult, GradedExercise
from answer_keys.reports.help_view import held_in, student_views
from answer_keys.reports.skills import shown_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """One diagnosis of one student.

    Attributes
    ----------
    student : int
        Their place in the class.
    cause : str
        The planted fault in words.
    planned : tuple of str
        Ids of the planned tests.
    lost_percent, predicted_percent : float
        Of its marks: what was lost, and what the plan alone had predicted.
    is_right : bool
        Whether the cause was named rightly.
    """

    student: int
    lesson: str
    fault: str
    cause: str
    family: str
    planned: tuple[str, ...]
    lost_percent: float
    predicted_percent: float
    is_right: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one student has taken from the reading of one test."""

    student: int
    test: str
    title: str
    lost_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """How often a misconception was shown in a lesson, and could have been."""

    shown: int
    chances: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """All of it, of one class.

    Attributes
    ----------
    name : str
        What the class is called.
    needs_help : int
        Students whom their instructor should talk to.
    misconceptions : mapping of (str, str) to Shown
        By lesson and id.
    held : mapping of str to int
        How many students do so again and again, by id.
    """

    set_id: str
    name: str
    students: int
    graded: int
    mean_percent: float | None
    needs_help: int
    diagnoses: tuple[Diagnosis, ...]
    findings: tuple[Finding, ...]
    misconceptions: Mapping[tuple[str, str], Shown]
    held: Mapping[str, int]


def evidence_of(result: ClassResult, name: str) -> Evidence:
    """Take from a class's results what they tell of its exercises."""
    views = student_views(result)
    means = [one.percent for one in views]
    return Evidence(
        set_id=result.set_id,
        name=name,
        students=len(result.students),
        graded=len(result.graded),
        mean_percent=sum(means) / len(means) if means else None,
        needs_help=sum(one.needs_help for one in views),
        diagnoses=tuple(_diagnoses(result)),
        findings=tuple(_findings(result)),
        misconceptions=_misconceptions(result),
        held={
            one.misconception.id: len(one.holders)
            for one in held_in(views)
            if one.holders
        },
    )


def _started(result: ClassResult) -> Iterator[tuple[int, GradedExercise]]:
    """Diagnoses that somebody has begun: of the others nothing can be learnt."""
    for number, student in enumerate(result.graded):
        for one in student.exercises:
            is_diagnosis = not one.outline.has_questions and one.marks.out_of
            if is_diagnosis and one.is_started:
                yield number, one


def _diagnoses(result: ClassResult) -> Iterator[Diagnosis]:
    for student, one in _started(result):
        about = one.outline
        yield Diagnosis(
            student=student,
            lesson=about.lesson,
            fault=about.fault,
            cause=about.cause,
            family=about.family,
            planned=tuple(test.id for test in about.planned),
            lost_percent=100 * (1 - one.marks.mark / one.marks.out_of),
            predicted_percent=about.predicted_percent,
            is_right=one.is_cause_right,
        )


def _findings(result: ClassResult) -> Iterator[Finding]:
    for student, one in _started(result):
        titles = {test.id: test.title for test in one.outline.done}
        for mark in one.of_step("findings"):
            if mark.item in titles and mark.out_of:
                yield Finding(
                    student=student,
                    test=mark.item,
                    title=titles[mark.item],
                    lost_percent=100 * (1 - mark.mark / mark.out_of),
                )


def _misconceptions(result: ClassResult) -> dict[tuple[str, str], Shown]:
    chances, shown = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
    for student in result.graded:
        for one in student.exercises:
            lesson = one.outline.lesson
            chances.update((lesson, id_) for id_ in one.outline.chances)
            shown.update((lesson, id_) for id_, _ in shown_in(one))
    return {
        key: Shown(shown=shown[key], chances=max(shown[key], chances[key]))
        for key in chances | shown
    }
