"""One student's workbook: a notebook without outputs, byte for byte repeatable."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

from generator.writing.circuit_text import circuit_markdown, sheet_markdown
from generator.writing.records import page_record, tells_complaint, title_of
from workbook.cautions import CAUTIONS
from workbook.sealed import seal

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from generator.writing.exercise import Exercise
    from generator.writing.workbooks import Workbook

__all__ = ["notebook_text"]

_FORMAT = 1
_LOCKED = {"editable": False, "deletable": False}


def notebook_text(workbook: Workbook) -> str:
    """Write the notebook as nbformat 4.5 JSON, the same bytes for the same workbook."""
    # Half of what the command would take to start, and needed only here.
    import nbformat

    cells = [_markdown("start", _start(workbook))]
    cells += [
        _markdown(f"lesson-{number}", text)
        for number, text in enumerate(_lessons(workbook.texts), start=1)
    ]
    for number, exercise in enumerate(workbook.exercises, start=1):
        cells += _exercise_cells(number, exercise)
    cells.append(_markdown("end", _END))
    document = {
        "cells": cells,
        "metadata": _metadata(workbook),
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    notebook = nbformat.from_dict(document)
    nbformat.validate(notebook)
    return str(nbformat.writes(notebook, version=4)) + "\n"


def _lessons(texts: Sequence[tuple[str, str]]) -> Iterator[str]:
    """Show the text of a lesson, or fold several, so that the exercises are near."""
    for title, text in texts:
        if len(texts) == 1:
            yield text
        else:
            head = f"<summary><b>Lesson: {escape(title)}</b></summary>"
            yield f"<details>\n{head}\n\n{text}\n\n</details>"


def _metadata(workbook: Workbook) -> dict[str, Any]:
    pages = [
        page_record(exercise, number, workbook.mode)
        for number, exercise in enumerate(workbook.exercises, start=1)
    ]
    return {
        "kernelspec": {
            "name": "python3",
            "display_name": "Python 3",
            "language": "python",
        },
        "language_info": {"name": "python"},
        "clampbook": {
            "format": _FORMAT,
            "set_id": workbook.set_id,
            "student": workbook.student,
            "edition": workbook.edition,
            "mode": workbook.mode,
            "title": workbook.title,
            "sealed": seal({"format": _FORMAT, "exercises": pages}),
        },
    }


def _markdown(cell_id: str, source: str) -> dict[str, Any]:
    return {
        "cell_type": "markdown",
        "id": cell_id,
        "metadata": dict(_LOCKED),
        "source": source,
    }


def _code(number: int) -> dict[str, Any]:
    return {
        "cell_type": "code",
        "id": f"exercise-{number}",
        "metadata": {**_LOCKED, "jupyter": {"source_hidden": True}},
        "source": f"import workbook; workbook.exercise({number})",
        "execution_count": None,
        "outputs": [],
    }


def _start(workbook: Workbook) -> str:
    kind = {
        "practice": "This is a **practice set**: after each step the page says what "
        "was right, what was not, and why.",
        "graded": "This is a **graded set**: the page gives you readings and records "
        "what you do; marks come from your instructor.",
    }[workbook.mode]
    aims = "\n".join(f"- {aim}" for aim in workbook.aims)
    cautions = "\n".join(f"> - {caution}" for caution in CAUTIONS)
    return (
        f"# {workbook.title}\n\n"
        f"Workbook of **{workbook.student}**, set {workbook.set_id}, edition "
        f"{workbook.edition}.\n\n{kind}\n\n"
        "**How to begin.** A form appears by itself below every exercise. Where none "
        "does, run all cells (menu *Run*, *Run All Cells*), or press Shift+Enter on "
        "each. What you record is kept when you close the page: open it again to go "
        "on.\n\n"
        f"You will learn to\n\n{aims}\n\n"
        f"> **Cautions for the shop**\n>\n{cautions}"
    )


_END = (
    "## Hand in\n\n"
    "Press **Download my hand-in** below any exercise and give the one file that is "
    "saved to your instructor. You can hand in again: the newest file counts."
)


def _exercise_cells(number: int, exercise: Exercise) -> list[dict[str, Any]]:
    complaint = (
        f"**Complaint.** {exercise.complaint}\n\n" if tells_complaint(exercise) else ""
    )
    head = (
        f"## Exercise {number}. {title_of(exercise)}\n\n"
        f"{complaint}"
        f"{circuit_markdown(exercise.specification)}\n\n"
        f"### Specification\n\n{sheet_markdown(exercise.specification)}"
    )
    return [_markdown(f"circuit-{number}", head), _code(number)]
