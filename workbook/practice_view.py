"""Describe what only a practice page has, in the parts of `workbook.view`; pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from workbook.hints import hints
from workbook.planned import Step, planned_way, way_taken
from workbook.progress import hint_cost

if TYPE_CHECKING:
    from workbook.payload import Exercise
    from workbook.progress import ExerciseProgress

    Part = dict[str, Any]

_ORDINALS = ("first", "second", "third")
_TELLS = (
    "It says where to look.",
    "It names the best tests, if one is still needed.",
    "It names the planned test and what its outcomes would leave.",
)


def hint_parts(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Show the hints taken for the next choice, and offer one more."""
    all_hints = hints(exercise, progress.tests)
    taken = all_hints[: progress.hints]
    shown = {
        "kind": "remarks",
        "key": "hints",
        "remarks": [
            {"tone": "news", "label": f"Hint {number}.", "text": text}
            for number, text in enumerate(taken, 1)
        ],
    }
    is_more = len(taken) < len(all_hints)
    return [
        *([shown] if taken else []),
        *([_hint_form(progress.hints)] if is_more else []),
    ]


def _hint_form(taken: int) -> Part:
    """Say what the next hint costs before it is shown."""
    cost = 100 * hint_cost(taken + 1)
    before = f" instead of {100 * hint_cost(taken):.0f} %" if taken else ""
    whose = "this choice's" if taken else "your next choice's"
    return {
        "kind": "form",
        "key": "hint",
        "action": "hint",
        "item": "choice",
        "values": {"step": taken + 1},
        "legend": "Still stuck?" if taken else "Stuck?",
        "help": f"{_TELLS[taken]} It costs {cost:.0f} %{before} of {whose} mark.",
        "is_minor": True,
        "submit": f"Show the {_ORDINALS[taken]} hint (costs {cost:.0f} %)",
        "fields": [],
    }


def ways_part(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """Show the way taken and the planned way side by side."""
    if exercise.feedback is None:
        return None
    taken = way_taken(exercise, exercise.feedback, progress.tests)
    planned = planned_way(exercise, exercise.feedback)
    text = (
        f"You took {_minutes(taken):g} min, the planned way {_minutes(planned):g} min. "
        "The planned way needs the fewest minutes on average over all causes; for one "
        "cause another way can be shorter by luck."
    )
    return {
        "kind": "pair",
        "key": "ways",
        "tables": [_way("Your way", taken), _way("The planned way", planned)],
        "text": text,
    }


def _way(caption: str, steps: list[Step]) -> Part:
    return {
        "caption": caption,
        "columns": ["Test", "Time", "Causes left"],
        "rows": [
            [step.test.title, f"{step.test.minutes:g} min", _causes(step)]
            for step in steps
        ],
        "foot": f"{_minutes(steps):g} min",
    }


def _causes(step: Step) -> str:
    is_told = step.is_proved and step.causes_left > 1
    return f"{step.causes_left}, same repair" if is_told else str(step.causes_left)


def _minutes(steps: list[Step]) -> float:
    return sum(step.test.minutes for step in steps)
