"""All exercises of one student, with the lessons that they are of."""

from __future__ import annotations

from dataclasses import dataclass

from generator.drawing.exercise import Exercise
from generator.workbooks.lesson_text import lesson_text
from lessons.loader import LessonBook
from workbook.texts import ENGLISH, _, language


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonText:
    """A lesson to be read; its text may be in another language than its title."""

    title: str
    text: str
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbook:
    """What one student gets: who, which set, and the exercises in their order.

    It holds nothing of a language: whatever it says is in the one spoken when it is
    asked.
    """

    set_id: str
    student: str
    edition: int
    mode: str
    lessons: tuple[LessonBook, ...]
    exercises: tuple[Exercise, ...]

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

    @property
    def texts(self) -> tuple[LessonText, ...]:
        """The lessons, each text in English where it has no other."""
        return tuple(map(_text_of, self.lessons))


def _text_of(book: LessonBook) -> LessonText:
    told = language() if language() in dict(book.translations) else ENGLISH
    text = lesson_text(book, told)
    return LessonText(title=_(book.lesson.title), text=text, language=told)
