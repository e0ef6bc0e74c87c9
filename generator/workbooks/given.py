"""What is done for the student beforehand, as entries of a journal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from generator.drawing.exercise import Exercise
from generator.drawing.predictions import Prediction
from generator.drawing.wording import short_text
from generator.workbooks.statements import right_statement, statements_in
from workbook.quantities import Quantity, read_quantity

Entry = dict[str, Any]


def given_steps(exercise: Exercise) -> list[Entry]:
    """Do the first steps of an exercise as they should be done.

    Returns
    -------
    list of dict
        All predictions, then the first tests of the plan with their findings, each as
        the journal would hold it; nothing where the exercise is the student's own.
    """
    if exercise.radical.given_tests is None:
        return []
    return [*map(_predicted, exercise.predictions), *_tested(exercise)]


def _predicted(asked: Prediction) -> Entry:
    raw = short_text(asked.value, asked.unit)
    read = read_quantity(raw, asked.unit)
    return {
        "kind": "prediction",
        "item": asked.id,
        "raw": raw,
        "value": read.value if isinstance(read, Quantity) else asked.value,
        "unit": asked.unit,
    }


def _tested(exercise: Exercise) -> Iterator[Entry]:
    statements = statements_in(exercise)
    for place in exercise.given_tests:
        item, outcome = exercise.tests[place].id, exercise.actual_outcome[place]
        expected = exercise.sound_outcome[place]
        yield {"kind": "test", "item": item, "expected": expected}
        proved = right_statement(statements[place], outcome)
        found = {"outcome": outcome, "statement": proved}
        yield {"kind": "finding", "item": item, **found}
