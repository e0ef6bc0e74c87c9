"""Describe the way through a set: each exercise with its state; pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.record.payload import Exercise
from workbook.record.progress import ExerciseProgress
from workbook.texts import _, later, ngettext
from workbook.views.view_parts import exercise_label

Part = dict[str, Any]

_STATES = {"done": later("done"), "begun": later("begun"), "new": later("not begun")}


def way_view(
    exercises: Mapping[int, Exercise],
    progress: Mapping[int, ExerciseProgress],
    open_steps: Mapping[int, int],
    last: int,
) -> Part:
    """Describe all exercises of a workbook.

    Parameters
    ----------
    exercises : mapping of int to Exercise
        By number.
    progress : mapping of int to ExerciseProgress
        How far each has come.
    open_steps : mapping of int to int
        By exercise, the steps that no hand-in file has yet.
    last : int
        The exercise of the last step recorded; 0 where nothing is.
    """
    listed = [
        _listed(exercise, progress.get(number, exercise.start), open_steps)
        for number, exercise in sorted(exercises.items())
    ]
    left = [each["number"] for each in listed if each["state"] != "done"]
    return {"exercises": listed, "last": last, "left": left, "end": _end(left)}


def _listed(
    exercise: Exercise, progress: ExerciseProgress, open_steps: Mapping[int, int]
) -> Part:
    state = state_of_exercise(exercise, progress)
    return {
        "number": exercise.number,
        "label": exercise_label(exercise.number),
        "title": exercise.title,
        "state": state,
        "state_text": _(_STATES[state]),
        "open": _open(open_steps.get(exercise.number, 0)),
    }


def state_of_exercise(exercise: Exercise, progress: ExerciseProgress) -> str:
    """Say how far an exercise has come: not begun, begun, or done."""
    if exercise.questions:
        is_done = all(each.id in progress.replies for each in exercise.questions)
    else:
        is_done = progress.verification is not None
    if is_done:
        return "done"
    return "begun" if progress.is_worked_on else "new"


def _open(steps: int) -> str:
    if not steps:
        return ""
    text = ngettext("{count} step not handed in", "{count} steps not handed in", steps)
    return text.format(count=steps)


def _end(left: list[int]) -> str:
    """Say what is still open at the end of an exercise."""
    if not left:
        return _("All exercises are done. Download your hand-in below and give it in.")
    return ngettext(
        "Still open: exercise {numbers}.", "Still open: exercises {numbers}.", len(left)
    ).format(numbers=", ".join(map(str, left)))
