"""What an exercise's plan is reckoned from, as a table that JSON can hold."""

from __future__ import annotations

from typing import Any

from answer_keys.keys.key_record import plan_of
from generator.drawing.exercise import Exercise
from generator.model.plan import Plan
from generator.model.repairs import wrong_repair_minutes


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


def exercise_plan(exercise: Exercise) -> Plan:
    """Find the plan of an exercise, the very one that grading follows."""
    return plan_of(reasoning_table(exercise))


def given_tests(exercise: Exercise) -> tuple[int, ...]:
    """Give the numbers of the planned tests that are done for the student.

    The last test of the plan is always the student's own.
    """
    plan, left = exercise_plan(exercise), tuple(range(len(exercise.candidates)))
    planned = list[int]()
    while (best := plan.best_test(left)) is not None:
        planned.append(best)
        left = plan.after(left, best, exercise.actual_outcome[best])
    return tuple(planned[:-1][: exercise.radical.given_tests or 0])
