"""What is on paper for several students together, in parts of a large class."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from generator.drawing.request import Request, Student
from generator.sets.class_set import ClassSet

# As many as a school's class has. A printed guide takes ten megabytes of memory an
# exercise, so that of long workbooks fewer are printed together.
_MOST_STUDENTS, _MOST_EXERCISES = 30, 120
Span = tuple[str, str]
"""Ids of the first and the last student of a part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPart:
    """Some students of a set, neighbours in its list, whose paper is written together.

    Attributes
    ----------
    slips_file, guide_file, table_file : pathlib.Path
        Their reading slips and the guide to their exercises, as pages, and the table
        for their typed answers.
    span : Span or None
        Told on each page; None where the part is the whole class.
    """

    students: tuple[Student, ...]
    slips_file: Path
    guide_file: Path
    table_file: Path
    span: Span | None = None


def paper_parts(class_set: ClassSet) -> Iterator[PaperPart]:
    """Share out a class; its files have numbers where it has more parts than one."""
    parts = _shared_out(class_set.request)
    digits, own = len(str(len(parts))), class_set.secret_file.parent
    for number, part in enumerate(parts, start=1):
        is_whole = len(parts) == 1
        end = "" if is_whole else f"-{number:0{digits}}"
        yield PaperPart(
            students=part,
            slips_file=own / f"reading-slips{end}.html",
            guide_file=own / f"teachers-guide{end}.html",
            table_file=own / f"typed-answers{end}.csv",
            span=None if is_whole else (part[0].id, part[-1].id),
        )


def _shared_out(request: Request) -> list[tuple[Student, ...]]:
    """Share out students into parts of about the same size, none of them too large."""
    students = request.students
    most = max(1, min(_MOST_STUDENTS, _MOST_EXERCISES // request.exercises))
    size = math.ceil(len(students) / math.ceil(len(students) / most))
    starts = range(0, len(students), size)
    return [students[start : start + size] for start in starts]
