"""An instructor's own lesson: its commented start, and the check of all its files."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from answer_keys.errors import Problem
from answer_keys.written_files import write_text
from generator.drawing.class_draw import new_class_draw
from generator.drawing.course import Course
from generator.errors import ClassDrawError
from generator.questions.asked import title_of
from generator.workbooks.lesson_text import lesson_text
from lessons.errors import LessonError
from lessons.loader import LESSONS_FOLDER, LessonBook, read_lesson, read_part
from workbook.texts import ENGLISH, LANGUAGES

_NAME = re.compile(r"[a-z][a-z0-9-]{1,34}")
_TRIAL = "trial"
# Enough to see that different faults can be drawn, in seconds.
_TRIAL_DRAWS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What a check found.

    Attributes
    ----------
    problems : tuple of Problem
        All faults; none where the files are sound.
    drawn : tuple of str
        Titles of the exercises that were drawn for a trial.
    """

    problems: tuple[Problem, ...] = ()
    drawn: tuple[str, ...] = ()

    @property
    def is_sound(self) -> bool:
        """Whether there is no fault."""
        return not self.problems


def check_part(path: Path) -> Checked:
    """Check the file of a component family.

    Parameters
    ----------
    path : pathlib.Path
        A TOML file.
    """
    try:
        read_part(path)
    except LessonError as error:
        return Checked(problems=error.problems)
    return Checked()


def check_lesson(folder: Path) -> Checked:
    """Check a lesson: its files, its text filled, and exercises drawn for a trial.

    Parameters
    ----------
    folder : pathlib.Path
        Holds ``lesson.toml`` and ``lesson.md``.
    """
    try:
        book = read_lesson(folder)
    except LessonError as error:
        return Checked(problems=error.problems)
    problems = list[Problem]()
    problems += _problems_of_texts(book, folder)
    drawn = list[str]()
    try:
        drawn += _drawn(book)
    except LessonError as error:
        problems += _placed(error.problems, folder)
    except ClassDrawError as error:
        path = folder / "lesson.toml"
        problems.append(Problem(path=path, line=1, message=str(error)))
    return Checked(problems=tuple(problems), drawn=tuple(drawn))


def _problems_of_texts(book: LessonBook, folder: Path) -> list[Problem]:
    """Fill the text in every language it is there in."""
    problems = list[Problem]()
    for spoken in (ENGLISH, *dict(book.translations)):
        if spoken not in LANGUAGES:
            path = folder / f"lesson.{spoken}.md"
            message = (
                f"{spoken!r} is no language of ours. Write {' or '.join(LANGUAGES)}."
            )
            problems.append(Problem(path=path, line=1, message=message))
            continue
        try:
            lesson_text(book, spoken)
        except LessonError as error:
            problems += _placed(error.problems, folder)
    return problems


def _placed(problems: Sequence[Problem], folder: Path) -> list[Problem]:
    """Name the files as they lie on disk: a lesson that was read knows its id only."""
    return [
        Problem(path=folder / one.path.name, line=one.line, message=one.message)
        for one in problems
    ]


def _drawn(book: LessonBook) -> list[str]:
    """Draw some exercises under a secret that no class has."""
    course = Course(lessons=(book,))
    draw = new_class_draw(course, "practice", bytes(32), _TRIAL_DRAWS)
    return [title_of(exercise) for exercise in draw.of(_TRIAL)]


def new_lesson(folder: Path) -> tuple[Path, ...]:
    """Write the commented start of a lesson with a component family of its own.

    Parameters
    ----------
    folder : pathlib.Path
        Its name becomes the lesson's id; it must not exist yet.

    Returns
    -------
    tuple of pathlib.Path
        The files written.

    Raises
    ------
    LessonError
        Where the name cannot be an id, or the folder exists.
    """
    if not _NAME.fullmatch(folder.name):
        message = (
            f"{folder.name!r} cannot be a lesson's name. Choose 2 to 35 small "
            "letters, digits and hyphens, a letter first."
        )
        raise LessonError([Problem(path=folder, line=None, message=message)])
    if folder.exists():
        message = "exists already and is never overwritten. Choose a new name."
        raise LessonError([Problem(path=folder, line=None, message=message)])
    (folder / "parts").mkdir(parents=True)
    places = {
        "lesson.toml": folder / "lesson.toml",
        "lesson.md": folder / "lesson.md",
        "part.toml": folder / "parts" / f"{folder.name}-part.toml",
    }
    for name, path in places.items():
        start = (LESSONS_FOLDER / "start" / f"{name}.txt").read_text(encoding="utf-8")
        text = start.replace("NAME", folder.name)
        write_text(path, text)
    return tuple(places.values())
