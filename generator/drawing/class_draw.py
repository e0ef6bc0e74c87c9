"""Draws the exercises of a class: in a graded set equally hard for every student."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from answer_keys.needs import Needs
from generator.drawing.class_radicals import (
    another_radical,
    free_radicals,
    goals_of_class,
    in_own_order,
    shared_radicals,
)
from generator.drawing.course import Course
from generator.drawing.difficulty import difficulty_of, is_near
from generator.drawing.exercise import Exercise
from generator.drawing.exercise_draw import Wanted, new_exercise, new_exercises
from generator.drawing.own_causes import new_own_causes
from generator.drawing.radical import Radical
from generator.drawing.request import Causes, Mode
from generator.drawing.stream import Stream
from generator.errors import ClassDrawError, DrawError
from lessons.loader import LessonBook

# Each is a whole exercise drawn for nobody; the spread is checked afterwards.
_LEVEL_DRAWS = 5
# Causes tried in one place of a workbook before its lesson is given up.
_CAUSES = 10
# Draws of an exercise that has to be as hard as those of the rest of the class.
_PATIENCE = 5000
_Drawn = TypeVar("_Drawn")


class ClassDraw(Protocol):
    """Draws each student of a class by itself; goes to other processes whole."""

    def of(self, student: str) -> tuple[Exercise, ...]:
        """Draw the exercises of one student.

        Raises
        ------
        ClassDrawError
            Where nothing can be drawn of a lesson.
        """


def new_class_draw(
    course: Course,
    mode: Mode,
    secret: bytes,
    count: int,
    needs: Needs | None = None,
    causes: Causes = "same",
) -> ClassDraw:
    """Find what the students of a class share; what each gets hangs on no other.

    Parameters
    ----------
    mode : Mode
        An ``examination`` has diagnoses only: a screen to read off holds its answer.
    secret : bytes
        The class secret.
    count : int
        Exercises a student.
    needs : Needs or None
        What to practise after an earlier set.
    causes : Causes
        Whether those who are graded have causes of their own.

    Raises
    ------
    ClassDrawError
        Where nothing can be drawn of a lesson.
    """
    if mode == "practice":
        return _FreelyDrawn(course=course, secret=secret, count=count, needs=needs)
    if causes == "own":
        goals = goals_of_class(course, mode, secret, count, needs)
        return new_own_causes(course, secret, goals)
    shared = shared_radicals(course, mode, secret, count, needs)
    levels = _levels(course, shared, secret)
    return _SameCauses(course=course, secret=secret, shared=shared, levels=levels)


@dataclass(frozen=True, slots=True, kw_only=True)
class _FreelyDrawn:
    """Exercises as hard as they come, of causes that each student draws freely."""

    course: Course
    secret: bytes
    count: int
    needs: Needs | None

    def of(self, student: str) -> tuple[Exercise, ...]:
        course, secret = self.course, self.secret
        radicals = free_radicals(course, secret, student, self.count, self.needs)

        wanted = [
            Wanted(book=course.book(one.lesson), radical=one, labels=(student, number))
            for number, one in enumerate(radicals, start=1)
        ]
        made = list[Exercise]()
        for number, first in enumerate(new_exercises(wanted, secret)):
            if isinstance(first, Exercise):
                made.append(first)
                continue
            others = (*radicals[:number], *radicals[number + 1 :])
            made.append(self._instead(wanted[number], others, first))
        return tuple(made)

    def _instead(
        self, wanted: Wanted, others: Sequence[Radical], first: DrawError
    ) -> Exercise:
        """Draw another radical where no draw of the one that was wanted passes."""

        def draw(one: Radical, again: tuple[int, ...]) -> Exercise:
            # That one was drawn already, and this is what it failed on.
            if not again:
                raise first
            book = self.course.book(one.lesson)
            return new_exercise(book, one, self.secret, (*wanted.labels, *again))

        use = self.course, self.secret, wanted.labels
        _, made = _drawable(use, (wanted.radical, others), draw)
        return made


@dataclass(frozen=True, slots=True, kw_only=True)
class _SameCauses:
    """The same causes for all, in an order of each student's own and equally hard.

    ``levels`` are what is drawn for each radical, and how hard.
    """

    course: Course
    secret: bytes
    shared: tuple[Radical, ...]
    levels: Mapping[Radical, tuple[Radical, float]]

    def of(self, student: str) -> tuple[Exercise, ...]:
        radicals = in_own_order(self.shared, self.secret, student)
        return tuple(
            _as_hard(self.course, self.levels[radical], self.secret, (student, number))
            for number, radical in enumerate(radicals, start=1)
        )


def _levels(
    course: Course, radicals: Sequence[Radical], secret: bytes
) -> dict[Radical, tuple[Radical, float]]:
    """Return what is drawn for each radical of a class, and how hard it usually is."""
    # The order of a set hangs on hashes of strings, which differ in each run.
    shared = sorted(set(radicals), key=repr)
    return {
        radical: _drawable(
            (course, secret, ("level", repr(radical))),
            (radical, [other for other in shared if other != radical]),
            lambda one, again: _level(course.book(one.lesson), one, secret, again),
        )
        for radical in shared
    }


def _drawable(
    use: tuple[Course, bytes, tuple[str | int, ...]],
    wanted: tuple[Radical, Sequence[Radical]],
    draw: Callable[[Radical, tuple[int, ...]], _Drawn],
) -> tuple[Radical, _Drawn]:
    """Draw a radical, or another of its lesson where no draw of it passes.

    Parameters
    ----------
    use : tuple of Course, bytes, tuple
        The secret, and the labels of what takes a radical's place.
    wanted : pair of Radical and sequence of Radical
        With the rest of the workbook.
    draw : callable
        Takes the radical, and what sets this try apart from those before.
    """
    (course, secret, labels), (radical, others) = use, wanted
    failed: list[Radical] = []
    while True:
        try:
            return radical, draw(radical, (len(failed),) if failed else ())
        except DrawError as error:
            # Another way to ask for as much of the lesson; a radical that failed never
            # returns.
            failed.append(radical)
            if len(failed) == _CAUSES:
                raise ClassDrawError(radical.lesson, error) from error
        # What takes its place depends on this place alone, and on no other student.
        stream = Stream(secret, "instead", *labels, len(failed))
        radical = another_radical(course, failed, others, stream)


def _level(
    book: LessonBook, radical: Radical, secret: bytes, again: tuple[int, ...]
) -> float:
    """How hard a radical usually is, by some draws that no student gets.

    It is the one with the most others near it, so that draws near it come often.
    """
    kind = (radical.family, radical.fault, str(radical.symptom), radical.variant.text)
    wanted = [
        Wanted(book=book, radical=radical, labels=("level", *kind, number, *again))
        for number in range(_LEVEL_DRAWS)
    ]
    draws = list[float]()
    for made in new_exercises(wanted, secret):
        if isinstance(made, DrawError):
            raise made
        draws.append(difficulty_of(made))
    return max(draws, key=lambda level: sum(is_near(each, level) for each in draws))


def _as_hard(
    course: Course,
    levelled: tuple[Radical, float],
    secret: bytes,
    labels: tuple[str, int],
) -> Exercise:
    """Draw an exercise until one is as hard as its level.

    The whole class has its radical, so that no other can take its place.
    """
    radical, level = levelled

    def is_wanted(exercise: Exercise) -> bool:
        return is_near(difficulty_of(exercise), level)

    book = course.book(radical.lesson)
    try:
        return new_exercise(book, radical, secret, labels, is_wanted, _PATIENCE)
    except DrawError as error:
        raise ClassDrawError(radical.lesson, error) from error
