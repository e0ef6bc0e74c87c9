"""Lessons of the instructor's own, in a folder beside the sets."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from answer_keys.keys.class_secret import new_class_secret
from generator.desk.line import Line
from generator.desk.work.asked import Asked, AskedError
from generator.week.class_list import invented_list
from generator.week.new_set import NewSet, preview_workbook
from generator.week.own_lessons import begin, check_own
from workbook.texts import _

_NAME = re.compile(r"[a-z][a-z0-9-]{1,40}")


def _folder(asked: Asked) -> Path:
    name = asked.text("name")
    if not _NAME.fullmatch(name):
        raise AskedError(
            _("The name takes small letters, digits and hyphens: my-pumps.")
        )
    return asked.sets / "lessons" / name


def _listed(asked: Asked, _: Line) -> list[dict[str, str]]:
    return [{"name": it.name, "folder": str(it)} for it in asked.own_lessons]


def _begun(asked: Asked, _: Line) -> dict[str, Any]:
    folder = _folder(asked)
    folder.parent.mkdir(exist_ok=True)
    written = begin(folder)
    return {
        "folder": str(folder),
        "written": [path.relative_to(folder).as_posix() for path in written],
    }


def _checked(asked: Asked, line: Line) -> dict[str, Any]:
    """Check a lesson; lay out a workbook of one that is sound, to try."""
    folder = _folder(asked)
    found = check_own(folder)
    line.progress("drawing", 0, 1)
    return {
        "problems": [
            {
                "file": one.path.relative_to(folder).as_posix()
                if one.path.is_relative_to(folder)
                else one.path.name,
                "line": one.line,
                "message": one.message,
            }
            for one in found.problems
        ],
        "drawn": list(found.drawn),
        "workbook": asked.lay_out(_workbook(folder)) if found.is_sound else None,
    }


def _workbook(folder: Path) -> str:
    new = NewSet(
        out=folder / "never-written",
        lessons=(str(folder),),
        class_list=invented_list(1),
        exercises=2,
    )
    return preview_workbook(new, new_class_secret())


WORK: Mapping[str, Callable[[Asked, Line], Any]] = {
    "own-lessons": _listed,
    "begin-lesson": _begun,
    "check-lesson": _checked,
}
