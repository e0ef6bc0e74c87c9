"""What only a practice page has, in the parts of every view; pure."""

from __future__ import annotations

from typing import Any

from workbook.judging.hints import hints
from workbook.judging.planned import Step, planned_way, planner_of, way_taken
from workbook.record.payload import Exercise
from workbook.record.progress import ExerciseProgress, hint_cost
from workbook.texts import _, figure, later
from workbook.views.given_view import title_of

Part = dict[str, Any]

_SHOW = (
    later("Show the first hint (costs {cost} %)"),
    later("Show the second hint (costs {cost} %)"),
    later("Show the third hint (costs {cost} %)"),
)
_TELLS = (
    later("A hint says where to look."),
    later("The next hint names the best tests, if one is still needed."),
    later("The next hint names the planned test and what its outcomes would leave."),
)


def hint_parts(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Show the hints taken for the next choice, and offer one more."""
    all_hints = hints(exercise, progress.tests)
    taken = all_hints[: progress.hints]
    shown = {
        "kind": "remarks",
        "key": "hints",
        "remarks": [
            {
                "tone": "news",
                "label": _("Hint {number}.").format(number=number),
                "text": text,
            }
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
    cost, before = _percent(taken + 1), _percent(taken)
    costs = (
        _("It costs {cost} % instead of {before} % of this choice's mark.")
        if taken
        else _("It costs {cost} % of your next choice's mark.")
    )
    return {
        "kind": "form",
        "key": "hint",
        "action": "hint",
        "item": "choice",
        "values": {"step": taken + 1},
        "legend": _("Still stuck?") if taken else _("Stuck?"),
        "help": f"{_(_TELLS[taken])} {costs.format(cost=cost, before=before)}",
        "is_minor": True,
        "submit": _(_SHOW[taken]).format(cost=cost),
        "fields": [],
    }


def _percent(hints: int) -> str:
    return f"{100 * hint_cost(hints):.0f}"


def ways_part(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """Show the way taken and the planned way side by side."""
    if exercise.feedback is None:
        return None
    planner = planner_of(exercise, exercise.feedback)
    taken = way_taken(planner, progress.tests)
    planned = planned_way(planner)
    text = _(
        "You took {taken} min, the planned way {planned} min. The planned way needs "
        "the fewest minutes on average over all causes; for one cause another way can "
        "be shorter by luck."
    ).format(taken=_minutes(taken), planned=_minutes(planned))
    return {
        "kind": "pair",
        "key": "ways",
        "tables": [
            _way(_("Your way"), taken, progress.given_tests),
            _way(_("The planned way"), planned),
        ],
        "text": text,
    }


def _way(caption: str, steps: list[Step], given: int = 0) -> Part:
    return {
        "caption": caption,
        "columns": [_("Test"), _("Time"), _("Causes left")],
        "rows": [
            [
                title_of(step.test, is_given=place < given),
                _in_min(figure(step.minutes)),
                _causes(step),
            ]
            for place, step in enumerate(steps)
        ],
        "foot": _in_min(_minutes(steps)),
    }


def _causes(step: Step) -> str:
    # Several causes of one repair are a proof, too: else they would look like work
    # left.
    is_told = step.is_proved and step.causes_left > 1
    if not is_told:
        return str(step.causes_left)
    return _("{count}, same repair").format(count=step.causes_left)


def _minutes(steps: list[Step]) -> str:
    return figure(sum(step.minutes for step in steps))


def _in_min(minutes: str) -> str:
    return _("{minutes} min").format(minutes=minutes)
