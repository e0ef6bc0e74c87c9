"""The lessons of a set, whose turn it is, and what each turn should practise.

New lessons, and some that came before; what was weak in an earlier set first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from answer_keys.needs import Need
from answer_keys.observed import Observed
from generator.drawing.stream import Stream
from lessons.loader import LessonBook, lesson_ids, read_lesson
from lessons.schema import ExerciseKind

# One exercise in four comes from an earlier lesson: what is practised again after a
# while is kept (Latimier et al., Educational Psychology Review 33, 2021, from memory).
REVIEW_EVERY = 4
"""One exercise in so many repeats what came before: the second, the sixth and so on."""
# Faults between two exercises that ask questions: the diagnosis needs all skills.
_FAULTS_A_QUESTION = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The lessons that a set is made for, and those that came before the first."""

    lessons: tuple[LessonBook, ...]
    earlier: tuple[LessonBook, ...] = ()

    def book(self, lesson_id: str) -> LessonBook:
        """Find a lesson by its id."""
        return next(
            b for b in (*self.lessons, *self.earlier) if b.lesson.id == lesson_id
        )

    def after(self, observed: Observed) -> Course:
        """Draw by how hard exercises have proved to be."""
        return replace(
            self,
            lessons=tuple(replace(b, observed=observed) for b in self.lessons),
            earlier=tuple(replace(b, observed=observed) for b in self.earlier),
        )

    @staticmethod
    def repeats(number: int) -> bool:
        """Whether an exercise, counted from nought, repeats what came before."""
        return number % REVIEW_EVERY == 1

    def turns(self, count: int, stream: Stream) -> tuple[LessonBook, ...]:
        """Choose the lesson of each exercise: in turn, each fourth an earlier one.

        Where there are more lessons than turns, they are spread over the course from
        a start of chance.
        """
        turns, asked = list[LessonBook](), 0
        step = max(1, len(self.lessons) // count)
        start = stream.integer(len(self.lessons)) if step > 1 else 0
        for number in range(count):
            if self.earlier and self.repeats(number):
                turns.append(stream.choice(self.earlier))
            else:
                place = start + asked * step
                turns.append(self.lessons[place % len(self.lessons)])
                asked += 1
        return tuple(turns)


def read_course(names: Sequence[str]) -> Course:
    """Read lessons by name or folder, and all of ours that come before them.

    Raises
    ------
    LessonError
        Where a lesson is at fault.
    """
    lessons = tuple(read_lesson(name) for name in names)
    first = min(book.lesson.number for book in lessons)
    ours = (read_lesson(name) for name in lesson_ids())
    earlier = tuple(_in_whole(b) for b in ours if b.lesson.number < first)
    return Course(lessons=lessons, earlier=earlier)


def _in_whole(book: LessonBook) -> LessonBook:
    """Practise a lesson again by whole diagnoses alone: they need all that it asks."""
    whole = {"kinds": ("diagnosis",), "given_tests": (), "unlisted": 0}
    lesson = book.lesson.model_copy(update=whole)
    return replace(book, lesson=lesson)


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
