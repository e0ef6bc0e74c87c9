"""Every kind of work by the name that the page gives it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any

from generator.desk.line import Line, Stopped
from generator.desk.told_errors import as_error
from generator.desk.work.asked import Asked, AskedError
from workbook.texts import _, speaking

Work = Callable[[Asked, Line], Any]
_ROOMS = ("making", "giving", "marking", "results", "own_lessons")
_WORK: Mapping[str, Work] = {
    name: do
    for room in _ROOMS
    for name, do in import_module(f"generator.desk.work.{room}").WORK.items()
}
"""Loaded by name, as commands are: each room is a way in of its own."""


def do(work: str, given: Mapping[str, Any], line: Line) -> dict[str, Any]:
    """Do a piece of work; gives what is said at its end.

    Raises
    ------
    Stopped
        Where the instructor has stopped it.
    """
    asked = Asked(given)
    try:
        if work not in _WORK:
            raise AskedError(
                _("{work} is no work of this desk.").format(work=repr(work))
            )
        with speaking(asked.language):
            result = _WORK[work](asked, line)
    except (Stopped, BrokenPipeError, EOFError):
        raise
    except Exception as error:  # whatever it is, the page has to say it
        return {"error": as_error(error)}
    kept = result.pop("kept", None) if isinstance(result, dict) else None
    return {"result": result, "kept": kept}
