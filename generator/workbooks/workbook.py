"""All exercises of one student, with the texts of their lessons."""

from __future__ import annotations

from dataclasses import dataclass

from generator.drawing.exercise import Exercise


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonText:
    """A lesson to be read; its text may be in another language than its title."""

    title: str
    text: str
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbook:
    """What one student gets: who, which set, and the exercises in their order.

    ``texts`` are its lessons.
    """

    set_id: str
    student: str
    edition: int
    mode: str
    title: str
    aims: tuple[str, ...]
    texts: tuple[LessonText, ...]
    exercises: tuple[Exercise, ...]
