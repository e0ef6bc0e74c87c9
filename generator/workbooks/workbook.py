"""All exercises of one student, with the lessons that they are of."""

from __future__ import annotations

from dataclasses import dataclass

from answer_keys.method import DEFAULT_METHOD, Step
from generator.drawing.exercise import Exercise
from lessons.loader import LessonBook
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbook:
    """What one student gets: who, which set, and the exercises in their order.

    ``method`` is the house method that a practice page speaks of.

    It is the same in all languages; what it says is in the one spoken when it is asked.
    """

    set_id: str
    student: str
    edition: int
    mode: str
    lessons: tuple[LessonBook, ...]
    exercises: tuple[Exercise, ...]
    method: tuple[Step, ...] = DEFAULT_METHOD

    @property
    def title(self) -> str:
        """Heading of the whole."""
        if len(self.lessons) == 1:
            return _(self.lessons[0].lesson.title)
        return _("Relay circuits")

    @property
    def aims(self) -> tuple[str, ...]:
        """What is learned, of all lessons."""
        return tuple(_(aim) for book in self.lessons for aim in book.lesson.aims)
