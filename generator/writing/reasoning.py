"""What an exercise's plan is reckoned from, as a table that JSON can hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from generator.model.repairs import wrong_repair_minutes

if TYPE_CHECKING:
    from generator.writing.exercise import Exercise

__all__ = ["reasoning_table"]


def reasoning_table(exercise: Exercise) -> dict[str, Any]:
    """Tabulate priors, outcomes, minutes and repairs: all that decides the plan."""
    faults, places = exercise.candidates, exercise.places
    repairs = dict.fromkeys(fault.repair for fault in faults)
    return {
        "faults": [
            {
                "id": fault.id,
                "prior": fault.prior,
                "repair": fault.repair,
                "sections": sorted(where),
            }
            for fault, where in zip(faults, places, strict=True)
        ],
        "tests": [test.id for test in exercise.tests],
        "minutes": [test.minutes for test in exercise.tests],
        "outcomes": [list(row) for row in exercise.outcome],
        "repair_minutes": {repair: wrong_repair_minutes(repair) for repair in repairs},
    }
