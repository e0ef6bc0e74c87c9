"""Describe what a student keeps and does apart from the steps of an exercise; pure."""

from __future__ import annotations

from typing import Any

from workbook.record.entries import MAX_NOTE_LENGTH
from workbook.record.progress import ExerciseProgress
from workbook.texts import ngettext


def own_view(progress: ExerciseProgress, *, can_restart: bool) -> dict[str, Any]:
    """Describe the note, and whether the exercise can be begun once more.

    Parameters
    ----------
    can_restart : bool
        Whether this is a practice set.

    Returns
    -------
    dict
        ``note`` and ``most`` (characters); ``can_restart``; ``told`` of earlier ways.
    """
    told = ngettext(
        "Begun once more. The way before stays in your journal; the last one counts.",
        "Begun once more {count} times. The ways before stay in your journal; the last "
        "one counts.",
        progress.restarts,
    )
    return {
        "note": progress.note,
        "most": MAX_NOTE_LENGTH,
        "can_restart": can_restart and progress.is_worked_on,
        "told": told.format(count=progress.restarts) if progress.restarts else "",
    }
