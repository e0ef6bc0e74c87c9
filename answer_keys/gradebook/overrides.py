"""A table of marks that the instructor sets by hand, read with every fault at once."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping
from pathlib import Path

from answer_keys.errors import OverridesError
from answer_keys.gradebook.standings import Override
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.rubric import QUESTIONS, Rubric
from answer_keys.visible_text import has_hidden_signs, visible

COLUMNS = ("student", "exercise", "step", "mark", "reason")
_MAX_REASON = 300


def read_overrides(path: Path, key: AnswerKey, rubric: Rubric) -> tuple[Override, ...]:
    """Read a table of marks set by hand.

    Parameters
    ----------
    path : pathlib.Path
        CSV in UTF-8 with the columns of `COLUMNS`, commas or semicolons between. A row
        without a mark takes an earlier one back.
    key : AnswerKey
    rubric : Rubric

    Returns
    -------
    tuple of Override
        In the order of the rows.

    Raises
    ------
    OverridesError
        With every fault of the table, each with its row and what is allowed.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise OverridesError(
            path, ["it is not UTF-8; allowed is “CSV UTF-8”"]
        ) from error
    head = text.partition("\n")[0]
    separator = ";" if head.count(";") > head.count(",") else ","
    faults, found = list[str](), list[Override]()
    try:
        rows = csv.reader(io.StringIO(text), delimiter=separator, strict=True)
        names = tuple(name.strip().lower() for name in next(rows, []))
        if names != COLUMNS:
            faults.append(f"row 1: allowed are the columns {separator.join(COLUMNS)}")
        for cells in rows if not faults else ():
            own = list(_faults_of(cells, key, rubric))
            faults += [f"row {rows.line_num}: {fault}" for fault in own]
            if not own and any(cells):
                found.append(_override(cells, key, rubric))
    except csv.Error as error:
        faults.append(f"{error}; allowed are quotes in pairs")
    if faults:
        raise OverridesError(path, faults)
    return tuple(found)


def _override(cells: list[str], key: AnswerKey, rubric: Rubric) -> Override:
    student, exercise, step, mark, reason = map(str.strip, cells)
    record = key.of_student(student)[int(exercise)]
    return Override(
        student=student,
        exercise=int(exercise),
        step=step.lower(),
        mark=_number(mark) if mark else None,
        out_of=_weights(record, rubric)[step.lower()],
        reason=reason,
    )


def _faults_of(cells: list[str], key: AnswerKey, rubric: Rubric) -> Iterator[str]:
    """Say what is wrong with one row, and what is allowed."""
    if not any(cells):
        return
    if len(cells) != len(COLUMNS):
        yield f"has {len(cells)} columns; allowed are {len(COLUMNS)}"
        return
    student, exercise, step, mark, reason = map(str.strip, cells)
    records = key.of_student(student)
    record = records.get(int(exercise)) if exercise.isdecimal() else None
    if not records:
        yield f"student “{visible(student, 60)}” is not in the answer key"
    elif record is None:
        allowed = ", ".join(map(str, sorted(records)))
        yield f"exercise “{visible(exercise, 20)}”; allowed are {allowed}"
    else:
        weights = _weights(record, rubric)
        most = weights.get(step.lower())
        if most is None:
            yield f"step “{visible(step, 40)}”; allowed are {', '.join(weights)}"
        elif mark and not 0 <= _number(mark) <= most:
            yield f"mark “{visible(mark, 20)}”; allowed is 0 to {most:g}, or nothing"
    if not 0 < len(reason) <= _MAX_REASON or has_hidden_signs(reason):
        yield f"reason: allowed are 1 to {_MAX_REASON} signs that show"


def _weights(record: KeyRecord, rubric: Rubric) -> Mapping[str, float]:
    """Marks of each step of an exercise."""
    return {QUESTIONS: rubric.total} if record.questions else rubric.weights


def _number(text: str) -> float:
    """Read a mark with a decimal point or comma; what is none is not allowed."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return math.nan
