"""Reads lessons and component families, and reports every fault of a file at once."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from lessons.errors import LessonError, Problem
from lessons.faults_of_files import fault_text, is_only_following, line_of, lines_of
from lessons.schema import Family, Lesson

LESSONS_FOLDER = Path(__file__).parent
_PARTS = LESSONS_FOLDER / "parts"
_Model = TypeVar("_Model", bound=BaseModel)


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonBook:
    """A lesson with its text and the component families it draws from.

    ``translations`` are its text in other languages, by the name of each.
    """

    lesson: Lesson
    text: str
    families: tuple[Family, ...]
    translations: tuple[tuple[str, str], ...] = ()


def lesson_ids(folder: Path = LESSONS_FOLDER) -> tuple[str, ...]:
    """Names of the lessons in a folder, in the order of the course."""
    paths = folder.glob("*/lesson.toml")
    return tuple(path.parent.name for path in sorted(paths, key=_place))


def _place(path: Path) -> tuple[float, str]:
    """Number of a lesson in the course, and its name; one at fault comes last."""
    raw = _read_toml(path, []) or {}
    number = raw.get("number")
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
    folder = _folder_of(name)
    path, problems = folder / "lesson.toml", list[Problem]()
    raw = _read_toml(path, problems)
    lesson = _checked(path, raw, Lesson, problems)
    text = _read_text(folder / "lesson.md", problems) or ""
    others = [
        (other.name.split(".")[1], _read_text(other, problems) or "")
        for other in sorted(folder.glob("lesson.*.md"))
    ]
    named = (raw or {}).get("families", [])
    families = [
        _read_family(path, family_id, problems)
        for family_id in (named if isinstance(named, list) else [])
        if isinstance(family_id, str)
    ]
    if lesson is not None:
        problems += _problems_of_examples(path, lesson)
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


def _problems_of_examples(path: Path, lesson: Lesson) -> list[Problem]:
    """Examples that name a family or a fault which the lesson does not draw."""
    lines = lines_of(_read_text(path, []) or "")
    return [
        Problem(
            path=path,
            line=line_of(("examples", number, key), lines),
            message=f"examples.{number}.{key}: {value!r} is not among those of this "
            f"lesson; allowed are {', '.join(allowed)}",
        )
        for number, example in enumerate(lesson.examples)
        for key, value, allowed in (
            ("family", example.family, lesson.families),
            ("fault", example.fault, lesson.faults),
        )
        if value not in allowed
    ]


def _folder_of(name: str | Path) -> Path:
    own = LESSONS_FOLDER / name
    if isinstance(name, str) and (own / "lesson.toml").is_file():
        return own
    if (Path(name) / "lesson.toml").is_file():
        return Path(name)
    message = (
        f"there is no lesson {str(name)!r}; allowed are "
        f"{', '.join(lesson_ids())}, or a folder that holds lesson.toml"
    )
    raise LessonError([Problem(path=Path(name), line=None, message=message)])


def _read_family(
    lesson: Path, family_id: str, problems: list[Problem]
) -> Family | None:
    folders = (lesson.parent / "parts", lesson.parent.parent / "parts", _PARTS)
    paths = [folder / f"{family_id}.toml" for folder in folders]
    path = next((path for path in paths if path.is_file()), None)
    if path is not None:
        return _read_named(path, problems)
    known = ", ".join(sorted(p.stem for p in _PARTS.glob("*.toml")))
    problem = Problem(
        path=lesson,
        line=line_of(("families",), lines_of(_read_text(lesson, []) or "")),
        message=f"families: there is no parts/{family_id}.toml; allowed are "
        f"{known}, or a file of your own in a folder called parts",
    )
    problems.append(problem)
    return None


def _read_named(path: Path, problems: list[Problem]) -> Family | None:
    """Read a family, which has the name of its file."""
    family = _checked(path, _read_toml(path, problems), Family, problems)
    if family and family.id != path.stem:
        lines = lines_of(_read_text(path, []) or "")
        message = f"id: it is {family.id!r}; allowed is the file's name, {path.stem}"
        problem = Problem(path=path, line=line_of(("id",), lines), message=message)
        problems.append(problem)
    return family


def _read_text(path: Path, problems: list[Problem]) -> str | None:
    try:
        # Some editors put a byte order mark first, which TOML does not allow.
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        message = f"cannot be read as UTF-8 text ({error.__class__.__name__})"
        problems.append(Problem(path=path, line=1, message=message))
        return None


def _read_toml(path: Path, problems: list[Problem]) -> dict[str, Any] | None:
    text = _read_text(path, problems)
    try:
        return None if text is None else tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problems.append(_syntax_problem(path, error))
        return None


def _checked(
    path: Path,
    raw: dict[str, Any] | None,
    model: type[_Model],
    problems: list[Problem],
) -> _Model | None:
    """Turn what a file holds into a record, or add all that is wrong with it."""
    if raw is None:
        return None
    try:
        # The checks of one table may need to know what stands in another.
        return model.model_validate(raw, context=raw)
    except ValidationError as error:
        lines = lines_of(_read_text(path, []) or "")
        problems.extend(
            Problem(
                path=path,
                line=line_of(tuple(fault["loc"]), lines),
                message=fault_text(dict(fault), model),
            )
            for fault in error.errors()
            if not is_only_following(dict(fault))
        )
        return None


def _syntax_problem(path: Path, error: tomllib.TOMLDecodeError) -> Problem:
    # The position stands only in the text of the message before Python 3.14.
    words = str(error).rstrip(")").split()
    at = words[words.index("line") + 1].rstrip(",") if "line" in words else "1"
    line = int(at) if at.isdigit() else 1
    return Problem(path=path, line=line, message=f"is not valid TOML: {error}")
