"""What the exercises of a set should practise after an earlier set: weak things."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from answer_keys.needs import Need
from generator.drawing.course import Course
from generator.drawing.stream import Stream
from lessons.loader import LessonBook
from lessons.schema import ExerciseKind

# Faults between two exercises that ask questions: the diagnosis needs all skills.
_FAULTS_A_QUESTION = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """An exercise that is wanted: its lesson, and a fault or a kind of questions.

    Where neither is said, what the lesson draws is right.
    """

    book: LessonBook
    fault: str = ""
    kind: ExerciseKind | None = None


def new_goals(
    course: Course, need: Need, count: int, stream: Stream
) -> tuple[Goal, ...]:
    """Choose what each exercise of one workbook should practise.

    Each fourth is a repeat: of an earlier lesson, else of a fault that went well. All
    others take what is weak, the weakest first, and then what comes in turn.
    """
    weak = list(_weak(course, need))
    known = [goal for fault in need.known for goal in _of_fault(course, fault)]
    goals = list[Goal]()
    for number, book in enumerate(course.turns(count, stream)):
        goal = Goal(book=book)
        if course.repeats(number):
            # With earlier lessons `turns` has made this turn a repeat already.
            if not course.earlier and known:
                goal = known.pop(0)
        elif weak:
            goal = weak.pop(0)
        goals.append(goal)
    return tuple(goals)


def _weak(course: Course, need: Need) -> Iterator[Goal]:
    """Return what is weak, with questions spread between diagnoses."""
    faults = [goal for fault in need.faults for goal in _of_fault(course, fault)]
    questions = [goal for kind in need.kinds for goal in _of_kind(course, kind)]
    while faults or questions:
        yield from faults[:_FAULTS_A_QUESTION]
        yield from questions[:1]
        del faults[:_FAULTS_A_QUESTION], questions[:1]


def _of_fault(course: Course, fault: str) -> Iterator[Goal]:
    """Return a fault to the first lesson that diagnoses it, if there is one."""
    for book in course.lessons:
        if fault in book.lesson.faults and "diagnosis" in book.lesson.kinds:
            yield Goal(book=book, fault=fault, kind="diagnosis")
            return


def _of_kind(course: Course, kind: str) -> Iterator[Goal]:
    for book in course.lessons:
        for asked in book.lesson.kinds:
            if asked == kind:
                yield Goal(book=book, kind=asked)
                return
