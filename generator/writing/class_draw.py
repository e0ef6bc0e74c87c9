"""Draws the exercises of a class: in a graded set equally hard for every student."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.writing.difficulty import difficulty_of, is_near
from generator.writing.exercise import Exercise, new_exercise
from generator.writing.radicals import radicals_of_class

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from answer_keys.draw_needs import Needs
    from generator.writing.course import Course
    from generator.writing.radical import Radical
    from lessons.loader import LessonBook

__all__ = ["exercises_of_class"]

_LEVEL_DRAWS = 5


def exercises_of_class(
    course: Course,
    mode: str,
    secret: bytes,
    students: Sequence[str],
    count: int,
    needs: Needs | None = None,
) -> Iterator[tuple[str, tuple[Exercise, ...]]]:
    """Draw the exercises of one student after the other, with the student's id.

    What one student gets does not hang on who else is in the class.

    Parameters
    ----------
    course : Course
    mode : str
        ``graded`` or ``practice``.
    secret : bytes
        The class secret.
    students : sequence of str
    count : int
        Exercises a student.
    needs : Needs or None
        What to practise after an earlier set.

    Raises
    ------
    DrawError
        Where no draw of an exercise passes.
    """
    radicals = radicals_of_class(course, mode, secret, students, count, needs)
    levels: dict[Radical, float] = {}
    if mode == "graded":
        shared = dict.fromkeys(radicals[students[0]])
        levels = {one: _level(course.book(one.lesson), one, secret) for one in shared}
    for student in students:
        yield student, _drawn(course, (student, radicals[student]), secret, levels)


def _level(book: LessonBook, radical: Radical, secret: bytes) -> float:
    """How hard a radical usually is, by some draws that no student gets.

    It is the one with the most others near it, so that draws near it come often.
    """
    kind = (radical.family, radical.fault, str(radical.symptom), radical.variant.text)
    draws = [
        difficulty_of(new_exercise(book, radical, secret, ("level", *kind, number)))
        for number in range(_LEVEL_DRAWS)
    ]
    return max(draws, key=lambda level: sum(is_near(each, level) for each in draws))


def _drawn(
    course: Course,
    student: tuple[str, Sequence[Radical]],
    secret: bytes,
    levels: Mapping[Radical, float],
) -> tuple[Exercise, ...]:
    """Draw the exercises of one student, each as hard as its level if it has one."""
    name, radicals = student

    def is_wanted(exercise: Exercise) -> bool:
        level = levels.get(exercise.radical)
        return level is None or is_near(difficulty_of(exercise), level)

    return tuple(
        new_exercise(
            course.book(radical.lesson), radical, secret, (name, number), is_wanted
        )
        for number, radical in enumerate(radicals, start=1)
    )
