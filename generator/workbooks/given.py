"""What is done for the student beforehand."""

from __future__ import annotations

from collections.abc import Sequence

from generator.drawing.exercise import Exercise
from generator.drawing.predictions import Prediction
from generator.drawing.wording import short_text
from generator.workbooks.statements import Statement, right_statement
from workbook.quantities import Quantity, read_quantity
from workbook.record.progress import Answer, Given, TestDone


def given_of(
    exercise: Exercise, statements: Sequence[Sequence[Statement]]
) -> Given | None:
    """Do the first steps of an exercise as they should be done.

    Parameters
    ----------
    statements : sequence, length n_tests
        Those of each test, as `statements_in` gives them.

    Returns
    -------
    Given or None
        All predictions, and the first tests of the plan with their findings; None
        where the exercise is the student's own.
    """
    if exercise.radical.given_tests is None:
        return None
    return Given(
        predictions={each.id: _predicted(each) for each in exercise.predictions},
        tests=tuple(
            _tested(exercise, place, statements[place])
            for place in exercise.given_tests
        ),
    )


def _predicted(asked: Prediction) -> Answer:
    raw = short_text(asked.value, asked.unit)
    read = read_quantity(raw, asked.unit)
    # A student's number is the one that is written, not the one it was rounded from.
    value = read.value if isinstance(read, Quantity) else asked.value
    return Answer(raw=raw, value=value, unit=asked.unit)


def _tested(
    exercise: Exercise, place: int, statements: Sequence[Statement]
) -> TestDone:
    outcome = exercise.actual_outcome[place]
    return TestDone(
        item=exercise.tests[place].id,
        expected=exercise.sound_outcome[place],
        outcome=outcome,
        statement=right_statement(statements, outcome),
    )
