"""Draws each student causes of their own, and every workbook equally hard.

Vehicle and complaint are drawn first; then the cause, out of all that bring the
complaint, each as often as it is found. So neither the number of an exercise nor its
load tells the cause. A workbook that is harder or easier than those of the class has
one exercise after the other drawn again, until the whole is as hard as it should be.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from statistics import fmean

from generator.drawing.class_radicals import new_radicals
from generator.drawing.course import Course, Goal
from generator.drawing.difficulty import difficulty_of, is_near
from generator.drawing.exercise import Exercise
from generator.drawing.exercise_draw import Wanted, new_exercises
from generator.drawing.stream import Stream
from generator.errors import ClassDrawError, DrawError

# Workbooks drawn for nobody, to find how hard they usually are; causes tried in one
# place before its lesson is given up; workbooks of one student before the level is.
_LEVEL_DRAWS = 20
_CAUSES = 10
_PATIENCE = 2000
# Draws made together: more of them may not be wanted, fewer take longer each.
_AHEAD = 4
# Number of an exercise in a workbook, and what sets its draw apart.
_Place = tuple[int, Sequence[str | int]]


def new_own_causes(course: Course, secret: bytes, goals: tuple[Goal, ...]) -> OwnCauses:
    """Find how hard a workbook usually is, by some that no student gets.

    It is as hard as the one with the most others near it, so that draws near it come
    often.

    Parameters
    ----------
    secret : bytes
        The class secret.
    goals : tuple of Goal
        What each exercise of a workbook is to be, the same for all students.

    Raises
    ------
    ClassDrawError
        Where nothing can be drawn of a lesson.
    """
    draws = _Draws(course=course, secret=secret, goals=goals)
    levels = [level for _, level in islice(draws.tries(""), _LEVEL_DRAWS)]
    usual = max(levels, key=lambda level: sum(is_near(each, level) for each in levels))
    return OwnCauses(draws=draws, level=usual)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnCauses:
    """A class whose students get like exercises, each with causes of their own.

    Attributes
    ----------
    draws : _Draws
        Of any student.
    level : float
        How hard each workbook is.
    """

    draws: _Draws
    level: float

    def of(self, student: str) -> tuple[Exercise, ...]:
        """Draw one student's exercises, which do not depend on who else is there.

        Raises
        ------
        ClassDrawError
            Where nothing can be drawn of a lesson.
        """
        for workbook, level in islice(self.draws.tries(student), _PATIENCE):
            if is_near(level, self.level):
                return workbook
        reason = "the whole is harder or easier than is wanted"
        last = DrawError("a workbook", "any cause", _PATIENCE, reason)
        raise ClassDrawError(self.draws.goals[-1].book.lesson.id, last)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draws:
    """All that is drawn for a class, before it is held to a level."""

    course: Course
    secret: bytes
    goals: tuple[Goal, ...]

    def tries(self, student: str) -> Iterator[tuple[tuple[Exercise, ...], float]]:
        """Workbooks of one student, one exercise after the other drawn again.

        Each comes with how hard the whole of it is.
        """
        count = len(self.goals)
        made = self._drawn([(number, (student, number)) for number in range(count)])
        hard = [difficulty_of(exercise) for exercise in made]
        yield tuple(made), fmean(hard)
        # Labels name the place and the try: the same draws come out, however many at
        # once.
        for first in itertools.count(0, _AHEAD):
            ahead = [
                (again % count, (student, again % count, again))
                for again in range(first, first + _AHEAD)
            ]
            for (number, _), exercise in zip(ahead, self._drawn(ahead), strict=True):
                made[number], hard[number] = exercise, difficulty_of(exercise)
                yield tuple(made), fmean(hard)

    def _drawn(self, places: Sequence[_Place]) -> list[Exercise]:
        """Draw for some places of a workbook, all in the same batches."""
        wanted = [self._wanted(*place, 0) for place in places]
        return [
            self._again(place, made) if isinstance(made, DrawError) else made
            for place, made in zip(
                places, new_exercises(wanted, self.secret), strict=True
            )
        ]

    def _again(self, place: _Place, error: DrawError) -> Exercise:
        """Draw other vehicles and complaints where no draw of the first passes."""
        for failed in range(1, _CAUSES):
            [made] = new_exercises([self._wanted(*place, failed)], self.secret)
            if isinstance(made, Exercise):
                return made
            error = made
        raise ClassDrawError(self.goals[place[0]].book.lesson.id, error) from error

    def _wanted(self, number: int, labels: Sequence[str | int], failed: int) -> Wanted:
        """Draw a vehicle and a complaint; its cause comes with the exercise."""
        goal = self.goals[number]
        use = ("own causes", *labels, failed)
        (asked,) = new_radicals((goal,), Stream(self.secret, *use))
        return Wanted(book=goal.book, radical=replace(asked, fault=""), labels=use)
