"""Marks as rows of cells for people: text that no spreadsheet takes for a formula."""

from __future__ import annotations

from typing import TYPE_CHECKING

from answer_keys.visible_text import name_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from answer_keys.results import ClassResult, StudentResult

__all__ = ["Cell", "guarded", "marks_rows"]

Cell = str | float | None
"""Text, a mark, or nothing."""

# What a spreadsheet takes for the start of a formula, in ASCII and full width.
_FORMULA_STARTS = "=+-@\t\r\n\0＝＋－＠"


def guarded(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would take for a formula.

    Examples
    --------
    >>> guarded("=1+1"), guarded("Mira Aldeen")
    ("'=1+1", 'Mira Aldeen')

    References
    ----------
    CWE-1236, Improper Neutralization of Formula Elements in a CSV File; OWASP ASVS
    5.0, 1.2.10.
    """
    start = text.lstrip(" \u00a0")[:1]
    return f"'{text}" if start and start in _FORMULA_STARTS else text


def marks_rows(result: ClassResult) -> Iterator[tuple[Cell, ...]]:
    """Give a heading, then one row a student: marks of each exercise and their total.

    Parameters
    ----------
    result : ClassResult

    Yields
    ------
    tuple of str, float or None
        Text is guarded already.
    """
    numbers = sorted(
        {one.marks.exercise for each in result.students for one in each.exercises}
    )
    exercises = (f"exercise {number}" for number in numbers)
    yield ("id", "name", *exercises, "total", "out of", "hand-in")
    for student in result.students:
        yield _row(student, numbers)


def _row(student: StudentResult, numbers: list[int]) -> tuple[Cell, ...]:
    marks = {one.marks.exercise: one.marks.mark for one in student.exercises}
    is_graded = student.file is not None
    return (
        guarded(student.id),
        guarded(name_text(student.name)),
        *(marks.get(number) for number in numbers),
        student.total if is_graded else None,
        student.out_of if is_graded else None,
        guarded(student.file or "none"),
    )
