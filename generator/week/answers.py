"""Every answer of a set, for its instructor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from answer_keys.keys.key_questions import QuestionKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.keys.wording import minutes_text
from answer_keys.marking.visits import minutes_along, planned_tests
from generator.exports.qti import qti_package
from generator.paper.guide import told_question
from generator.sets.set_writing import rebuilt_workbooks
from generator.week.opened import OpenedSet, check_student
from workbook.texts import speaking


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer of one exercise.

    Attributes
    ----------
    cause, correction : str
        Of what is broken, whether or not it is asked for.
    planned : tuple of str
        The tests of the plan, each with its minutes.
    expected : str
        Minutes of the plan over all causes, in words.
    questions : tuple of (str, str)
        What else is asked, with its answer.
    """

    student: str
    name: str
    exercise: int
    title: str
    cause: str
    correction: str
    planned: tuple[str, ...]
    expected: str
    questions: tuple[tuple[str, str], ...]


def answers(opened: OpenedSet, student: str | None = None) -> Iterator[Answer]:
    """Give the answers of one student, or of all, one exercise after the other.

    Raises
    ------
    ClassSetError
        Where there is no such student.
    """
    if student is not None:
        check_student(opened.class_set, student)
    for one in opened.class_set.request.students:
        if student in (None, one.id):
            for record in opened.key.of_student(one.id).values():
                with speaking(opened.key.language):
                    answer = _answer(record, one.name)
                yield answer


def _answer(record: KeyRecord, name: str) -> Answer:
    given = record.start.given_tests
    tests = () if record.questions else planned_tests(record)
    taken = zip(tests, minutes_along(record, tests), strict=True)
    return Answer(
        student=record.student,
        name=name,
        exercise=record.exercise,
        title=record.title,
        cause=record.label_of_fault(record.fault.id),
        correction=record.label_of_repair(record.fault.repair),
        planned=tuple(
            f"{test.title}: {minutes_text(minutes)}"
            f"{', done for the student' if number <= given else ''}"
            for number, (test, minutes) in enumerate(taken, 1)
        ),
        expected=minutes_text(record.plan.expected_cost),
        questions=tuple(map(_told, record.questions)),
    )


def _told(question: QuestionKey) -> tuple[str, str]:
    told = told_question(question)
    model = [text for _, text in told["lines"]]
    return question.label, "; ".join(told["right"] or model)


def qti(opened: OpenedSet) -> bytes:
    """Make a package of QTI 3.0 items of the numbers and choices that are asked."""
    workbooks = rebuilt_workbooks(opened.class_set, opened.secret)
    with speaking(opened.class_set.request.language):
        return qti_package(workbooks, opened.class_set.set_id)
