"""The lessons there are, and the instructor's own: begun by `begin`, then checked."""

from __future__ import annotations

from pathlib import Path

from generator.workbooks.own_lesson import Checked, check_lesson, check_part, new_lesson
from lessons.loader import lesson_ids, read_lesson
from lessons.schema import Lesson


def our_lessons() -> tuple[Lesson, ...]:
    """Give our lessons in the order of the course."""
    return tuple(read_lesson(name).lesson for name in lesson_ids())


def begin(folder: Path) -> tuple[Path, ...]:
    """Write the commented start of a lesson, which can be drawn from as it is.

    Raises
    ------
    LessonError
        Where the name cannot be an id, or the folder exists.
    """
    return new_lesson(folder)


def check_own(path: Path) -> Checked:
    """Check a lesson's folder, or the file of a component family, for all faults."""
    return check_part(path) if path.suffix == ".toml" else check_lesson(path)
