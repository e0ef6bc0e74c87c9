"""The sets as the page shows them: what each is, and at which step of the week."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from generator.desk.told_errors import CONTENT_ERRORS, as_error
from generator.sets.class_set import ClassSet, read_class_set
from generator.week.checked import last_check
from generator.week.overview import SetState, lesson_titles, state_of


def standing_of(folder: Path) -> dict[str, Any]:
    """Tell of a set what it is and how far the week with it has come.

    A set that cannot be read is told with what is wrong, and hides no other.
    """
    try:
        class_set = read_class_set(folder)
        state = state_of(class_set)
    except CONTENT_ERRORS as error:
        return {"name": folder.name, "error": as_error(error)}
    return {"name": folder.name, "error": None, **_told(class_set, state)}


def _told(class_set: ClassSet, state: SetState) -> dict[str, Any]:
    check, request = last_check(class_set), class_set.request
    return {
        "mode": request.mode,
        "language": request.language,
        "lessons": list(lesson_titles(class_set)),
        "lesson_ids": list(request.lessons),
        "exercises": request.exercises,
        "students": [{"id": s.id, "name": s.name} for s in request.students],
        "made": state.made_at.isoformat(),
        "step": state.step,
        "files": state.files,
        "graded": state.graded,
        "check": check
        and {
            "sound": check.is_sound,
            "faults": check.faults,
            "at": check.at.isoformat(),
        },
    }
