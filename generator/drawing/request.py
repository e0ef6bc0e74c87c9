"""What an instructor asks for when a class set is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from answer_keys.interchange.school_class import OneRosterClass
from answer_keys.method import DEFAULT_METHOD, Step
from answer_keys.needs import Needs
from answer_keys.observed import NOTHING, Observed
from workbook.texts import ENGLISH

MAX_STUDENTS, MAX_EXERCISES = 2000, 50
"""Of a set: students of its class, and exercises of each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """One student: the id that stands in files, and the name that does not.

    ``login`` is what the student is called on a school's hub, where that is not the id.
    """

    id: str
    name: str
    login: str = ""


Mode = Literal["practice", "graded", "examination"]

Causes = Literal["own", "same"]
"""What a graded class gets: each student causes of their own and a workbook as hard as
all others, or all of them the same causes, each in another order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What the instructor asks for.

    ``needs`` are what the class should practise after an earlier set. ``also_in`` are
    other languages that each student may change to.
    ``school_class`` is the class that the students were read from, where a school's
    information system gave it. ``method`` is the house method that practice pages
    speak of. ``observed`` is how hard exercises have proved to be in graded classes.
    """

    lessons: tuple[str, ...]
    students: tuple[Student, ...]
    exercises: int
    mode: Mode
    edition: int = 1
    school_class: OneRosterClass | None = None
    language: str = ENGLISH
    needs: Needs | None = None
    causes: Causes = "same"
    method: tuple[Step, ...] = DEFAULT_METHOD
    also_in: tuple[str, ...] = ()
    observed: Observed = NOTHING

    @property
    def languages(self) -> tuple[str, ...]:
        """All that a student can choose from, the first one that of handouts."""
        return (self.language, *self.also_in)

    @property
    def has_own_causes(self) -> bool:
        """Whether students get causes of their own."""
        return self.mode == "practice" or self.causes == "own"
