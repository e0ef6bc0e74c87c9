"""A student's handout: every exercise on paper, with an order form for readings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from generator.writing.circuit_text import diagram_of, sheet_rows
from generator.writing.markdown import data_uri
from generator.writing.printing import page_text
from generator.writing.records import page_record

if TYPE_CHECKING:
    from collections.abc import Mapping

    from generator.writing.exercise import Exercise
    from generator.writing.reading_codes import Place
    from generator.writing.workbooks import Workbook

__all__ = ["ORDERS", "handout_text"]

ORDERS = 8
"""Lines of the order form."""


def handout_text(workbook: Workbook, codes: Mapping[Place, str]) -> str:
    """Write the handout of one student as one HTML page; it holds no reading.

    Parameters
    ----------
    workbook : Workbook
    codes : mapping
        As `reading_codes` gives them.
    """
    return page_text(
        "handout.html.j2",
        workbook=workbook,
        exercises=[
            _exercise(exercise, number, workbook.student, codes)
            for number, exercise in enumerate(workbook.exercises, start=1)
        ],
        orders=range(ORDERS),
    )


def _exercise(
    exercise: Exercise, number: int, student: str, codes: Mapping[Place, str]
) -> dict[str, Any]:
    # A graded page has no feedback, and with it no answers.
    page = page_record(exercise, number, "graded")
    diagram = diagram_of(exercise.specification)
    hazards = list(dict.fromkeys(h for test in page["tests"] for h in test["hazards"]))
    return {
        "number": number,
        "title": page["title"],
        "complaint": exercise.complaint,
        "diagram": {"src": data_uri(diagram.svg), "alt": diagram.alt},
        "circuit": diagram.rows,
        "sheet": sheet_rows(exercise.specification),
        "questions": page["questions"],
        "predictions": page["predictions"],
        "hazards": hazards,
        "tests": [
            {
                **{name: test[name] for name in _ON_PAPER},
                "code": codes[student, number, test["id"]],
                "hazards": [hazards.index(h) + 1 for h in test["hazards"]],
            }
            for test in page["tests"]
        ],
        "causes": page["causes"],
        "corrections": page["corrections"],
        "verification": page["verification"],
    }


_ON_PAPER = (
    "title",
    "how",
    "before",
    "minutes",
    "outcomes",
    "instrument",
    "statements",
)
