"""A table of marks that the instructor sets by hand, read with every fault at once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from answer_keys.csv_table import CsvError, csv_table
from answer_keys.errors import OverridesError, Problem
from answer_keys.gradebook.standings import Override
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.policy import QUESTIONS, Rubric
from answer_keys.visible_text import has_hidden_characters, visible
from workbook.texts import _, figure

COLUMNS = ("student", "exercise", "step", "mark", "reason")
# A reason is printed in a cell of the student's sheet.
_MAX_REASON = 300


def read_overrides(path: Path, key: AnswerKey, rubric: Rubric) -> tuple[Override, ...]:
    """Read a table of marks set by hand.

    Parameters
    ----------
    path : pathlib.Path
        CSV in UTF-8 with the columns of `COLUMNS`. A row without a mark takes an
        earlier one back.

    Returns
    -------
    tuple of Override
        In the order of the rows.

    Raises
    ------
    OverridesError
        With every fault of the table, each with its line and what to write.
    """
    try:
        table = csv_table(path.read_bytes())
    except CsvError as error:
        problem = Problem(path=path, line=error.line, message=str(error))
        raise OverridesError([problem]) from error
    if tuple(map(str.lower, table.columns)) != COLUMNS:
        message = _("write the columns {columns}, in this order.").format(
            columns=table.separator.join(COLUMNS)
        )
        raise OverridesError([Problem(path=path, line=1, message=message)])
    problems = [
        Problem(path=path, line=row.line, message=fault)
        for row in table.rows
        for fault in _faults_of(row.cells, key, rubric)
    ]
    if problems:
        raise OverridesError(problems)
    return tuple(_override(row.cells, key, rubric) for row in table.rows)


def override_from(cells: Sequence[str], key: AnswerKey, rubric: Rubric) -> Override:
    """Read one mark set by hand, its cells in the order of `COLUMNS`.

    Raises
    ------
    OverridesError
        With every fault.
    """
    faults = _faults_of(cells, key, rubric)
    problems = [Problem(path=Path("mark"), line=None, message=each) for each in faults]
    if problems:
        raise OverridesError(problems)
    return _override(cells, key, rubric)


def _override(cells: Sequence[str], key: AnswerKey, rubric: Rubric) -> Override:
    student, exercise, step, mark, reason = cells
    record = key.of_student(student)[int(exercise)]
    return Override(
        student=student,
        exercise=int(exercise),
        step=step.lower(),
        mark=_number(mark) if mark else None,
        out_of=_weights(record, rubric)[step.lower()],
        reason=reason,
    )


def _faults_of(cells: Sequence[str], key: AnswerKey, rubric: Rubric) -> Iterator[str]:
    """Say what is wrong with one row, and what to write."""
    if len(cells) != len(COLUMNS):
        yield _("has {cells} columns. Write {columns}, as line 1 names them.").format(
            cells=len(cells), columns=len(COLUMNS)
        )
        return
    student, exercise, step, mark, reason = cells
    records = key.of_student(student)
    record = records.get(int(exercise)) if exercise.isdecimal() else None
    if not records:
        yield (
            _(
                "student “{student}” is not in the answer key. Write the id as "
                "the class list has it."
            ).format(student=visible(student, 60))
        )
    elif record is None:
        known = ", ".join(map(str, sorted(records)))
        yield _("there is no exercise “{exercise}”. Write one of {known}.").format(
            exercise=visible(exercise, 20), known=known
        )
    else:
        weights = _weights(record, rubric)
        most = weights.get(step.lower())
        if most is None:
            known = ", ".join(weights)
            yield _("there is no step “{step}”. Write one of {known}.").format(
                step=visible(step, 40), known=known
            )
        # NaN, as of what is no number, lies in no range.
        elif mark and not 0 <= _number(mark) <= most:
            yield (
                _(
                    "“{mark}” cannot be the mark. Write a number from 0 to "
                    "{most}, or nothing."
                ).format(mark=visible(mark, 20), most=figure(most))
            )
    if not 0 < len(reason) <= _MAX_REASON or has_hidden_characters(reason):
        yield _("write a reason of 1 to {most} visible characters.").format(
            most=_MAX_REASON
        )


def _weights(record: KeyRecord, rubric: Rubric) -> Mapping[str, float]:
    """Marks of each step of an exercise."""
    # An exercise of questions has one step, worth what all steps of a diagnosis are.
    return {QUESTIONS: rubric.total} if record.questions else rubric.weights


def _number(text: str) -> float:
    """Read a mark with a decimal point or comma; NaN where it is no number."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return math.nan
