"""Reads lessons and component families, and reports every fault of a file at once."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from answer_keys.checked_toml import TomlFile, read_text, read_toml
from answer_keys.errors import Problem
from answer_keys.observed import NOTHING, Observed
from lessons.errors import LessonError
from lessons.family import Family
from lessons.schema import Lesson

LESSONS_FOLDER = Path(__file__).parent
_PARTS = LESSONS_FOLDER / "parts"


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonBook:
    """A lesson with its text and the component families it draws from.

    ``translations`` are its text in other languages, by the name of each. ``observed``
    is how hard its exercises have proved to be in graded classes.
    """

    lesson: Lesson
    text: str
    families: tuple[Family, ...]
    translations: tuple[tuple[str, str], ...] = ()
    observed: Observed = NOTHING

    def __hash__(self) -> int:
        # What is equal has one id, too, and all of its texts take long to hash.
        return hash(self.lesson.id)


def lesson_ids(folder: Path = LESSONS_FOLDER) -> tuple[str, ...]:
    """Names of the lessons in a folder, in the order of the course."""
    paths = folder.glob("*/lesson.toml")
    return tuple(path.parent.name for path in sorted(paths, key=_place))


def _place(path: Path) -> tuple[float, str]:
    """Number of a lesson in the course, and its name; one at fault comes last."""
    file = read_toml(path, [])
    number = file.table.get("number") if file else None
    return number if isinstance(number, int) else math.inf, path.parent.name


def read_lesson(name: str | Path) -> LessonBook:
    """Read a lesson of ours by name, or one of the instructor's own by its folder.

    A folder of one's own may have a ``parts`` folder beside or inside it; families
    that are not there are taken from ours.

    Raises
    ------
    LessonError
        With every fault of the lesson and of its families.
    """
    folder, problems = _folder_of(name), list[Problem]()
    file = read_toml(folder / "lesson.toml", problems)
    lesson = file.checked(Lesson, problems) if file else None
    text = read_text(folder / "lesson.md", problems) or ""
    others = [
        (other.name.split(".")[1], read_text(other, problems) or "")
        for other in sorted(folder.glob("lesson.*.md"))
    ]
    families = list(_families(file, problems)) if file else []
    if file and lesson:
        problems += _problems_of_examples(file, lesson)
    if problems or lesson is None:
        raise LessonError(problems)
    known = tuple(family for family in families if family)
    return LessonBook(
        lesson=lesson, text=text, families=known, translations=tuple(others)
    )


def read_part(path: Path) -> Family:
    """Read the file of one component family.

    Raises
    ------
    LessonError
        With every fault of the file.
    """
    problems = list[Problem]()
    family = _read_named(path, problems)
    if problems or family is None:
        raise LessonError(problems)
    return family


def _problems_of_examples(file: TomlFile, lesson: Lesson) -> list[Problem]:
    """Examples that name a family or a fault which the lesson does not draw."""
    return [
        file.problem(
            ("examples", number, key),
            f"examples.{number}.{key}: {value!r} is not among those of this lesson. "
            f"Write one of {', '.join(known)}.",
        )
        for number, example in enumerate(lesson.examples)
        for key, value, known in (
            ("family", example.family, lesson.families),
            ("fault", example.fault, lesson.faults),
        )
        if value not in known
    ]


def _folder_of(name: str | Path) -> Path:
    own = LESSONS_FOLDER / name
    if isinstance(name, str) and (own / "lesson.toml").is_file():
        return own
    if (Path(name) / "lesson.toml").is_file():
        return Path(name)
    message = (
        f"there is no lesson {str(name)!r}. Name one of {', '.join(lesson_ids())}, "
        "or a folder that holds lesson.toml."
    )
    raise LessonError([Problem(path=Path(name), line=None, message=message)])


def _families(file: TomlFile, problems: list[Problem]) -> Iterator[Family | None]:
    named = file.table.get("families")
    # What is no list of names is told by the check of the lesson.
    for family_id in named if isinstance(named, list) else ():
        if isinstance(family_id, str):
            yield _read_family(file, family_id, problems)


def _read_family(
    lesson: TomlFile, family_id: str, problems: list[Problem]
) -> Family | None:
    folder = lesson.path.parent
    folders = (folder / "parts", folder.parent / "parts", _PARTS)
    paths = [folder / f"{family_id}.toml" for folder in folders]
    path = next((path for path in paths if path.is_file()), None)
    if path is not None:
        return _read_named(path, problems)
    known = ", ".join(sorted(p.stem for p in _PARTS.glob("*.toml")))
    message = (
        f"families: there is no parts/{family_id}.toml. Write one of {known}, or put "
        "a file of your own into a folder called parts."
    )
    problems.append(lesson.problem(("families",), message))
    return None


def _read_named(path: Path, problems: list[Problem]) -> Family | None:
    """Read a family, which has the name of its file."""
    file = read_toml(path, problems)
    family = file.checked(Family, problems) if file else None
    if file and family and family.id != path.stem:
        message = f"id: it is {family.id!r}. Write the file's name, {path.stem!r}."
        problems.append(file.problem(("id",), message))
    return family
