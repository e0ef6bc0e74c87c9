"""One student's workbook: a notebook without outputs, byte for byte repeatable."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from html import escape
from types import MappingProxyType
from typing import Any

from generator.drawing.exercise import Exercise
from generator.drawing.wording import with_marks
from generator.pictures.circuit_text import (
    circuit_markdown,
    places_markdown,
    sheet_markdown,
)
from generator.questions.asked import tells_complaint, title_of
from generator.workbooks.lesson_text import lesson_text
from generator.workbooks.page_records import page_record
from generator.workbooks.workbook import Workbook
from lessons.loader import LessonBook
from workbook.cautions import CAUTIONS
from workbook.no_break import keep_units
from workbook.record.plain import plain
from workbook.record.sealed import seal
from workbook.texts import ENGLISH, _, decimal, language, later

_FORMAT = 1
NO_OTHERS: Mapping[str, str] = MappingProxyType({})
_LOCKED = {"editable": False, "deletable": False}


def notebook_text(workbook: Workbook, names: Mapping[str, str] = NO_OTHERS) -> str:
    """Write the notebook as nbformat 4.5 JSON, in the language spoken.

    The same workbook gives the same bytes.

    Parameters
    ----------
    names : mapping of str to str
        Names of the workbook's files by their languages, where there are several.
    """
    others = names if len(names) > 1 else NO_OTHERS
    cells = [_markdown("start", _start(workbook, others))]
    cells += _lesson_cells(workbook.lessons, language())
    for number, exercise in enumerate(workbook.exercises, start=1):
        cells += _exercise_cells(number, exercise, is_one_of=bool(others))
    cells.append(_markdown("end", _end()))
    document = {
        "cells": cells,
        "metadata": _metadata(workbook, others),
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    return _written(document) + "\n"


def _written(document: Mapping[str, Any]) -> str:
    """Write a notebook as nbformat does, which would take half a second to load.

    `clampbook validate` and tests hold it to the schema.
    """
    return json.dumps(
        document, ensure_ascii=False, indent=1, sort_keys=True, separators=(",", ": ")
    )


@lru_cache(maxsize=4)
def _lesson_cells(
    lessons: tuple[LessonBook, ...],
    spoken: str,  # noqa: ARG001 - what is kept is of one language
) -> tuple[dict[str, Any], ...]:
    """The cells of all lessons: the same in every workbook of a class."""
    return tuple(
        _markdown(f"lesson-{number}", text)
        for number, text in enumerate(_lessons(lessons), start=1)
    )


def _lessons(books: Sequence[LessonBook]) -> Iterator[str]:
    """Show the text of a lesson, or fold several, so that the exercises are near."""
    for book in books:
        told = _text_of(book)
        if len(books) == 1:
            yield told
        else:
            title = escape(_(book.lesson.title))
            lesson = _("Lesson: {title}").format(title=title)
            head = f"<summary><b>{lesson}</b></summary>"
            yield f"<details>\n{head}\n\n{told}\n\n</details>"


def _text_of(book: LessonBook) -> str:
    """Text of a lesson; where it has none in the language spoken, in English."""
    if language() in (ENGLISH, *dict(book.translations)):
        return lesson_text(book, language())
    # Marked, so that a reader of the page aloud takes the other voice.
    return f'<div lang="{ENGLISH}">\n\n{lesson_text(book)}\n\n</div>'


def _metadata(workbook: Workbook, others: Mapping[str, str]) -> dict[str, Any]:
    pages = [
        with_marks(plain(page_record(exercise, number, workbook.mode, workbook.method)))
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
            "language": language(),
            "title": workbook.title,
            **({"languages": dict(others)} if others else {}),
            "sealed": seal({"format": _FORMAT, "exercises": pages}),
        },
    }


def _markdown(cell_id: str, source: str) -> dict[str, Any]:
    return {
        "cell_type": "markdown",
        "id": cell_id,
        "metadata": dict(_LOCKED),
        # As nbformat writes it, a list of lines: any other way a save would change
        # every cell.
        "source": keep_units(source).splitlines(keepends=True),
    }


def _code(number: int, *, is_one_of: bool) -> dict[str, Any]:
    # Of several workbooks in a folder each says which one it is.
    which = f', "{language()}"' if is_one_of else ""
    return {
        "cell_type": "code",
        "id": f"exercise-{number}",
        "metadata": {**_LOCKED, "jupyter": {"source_hidden": True}},
        "source": [f"import workbook; workbook.exercise({number}{which})"],
        "execution_count": None,
        "outputs": [],
    }


_KINDS = {
    "practice": later(
        "This is a **practice set**: after each step the page says what was right, "
        "what was not, and why."
    ),
    "graded": later(
        "This is a **graded set**: the page gives you readings and records what you "
        "do; marks come from your instructor."
    ),
    "examination": later(
        "This is an **examination**: your instructor's machine records what you do and "
        "gives each reading when it is due. Where the network is gone, all else goes "
        "on; marks come from your instructor."
    ),
}


def _start(workbook: Workbook, others: Mapping[str, str]) -> str:
    owner = _("Workbook of **{student}**, set {set_id}, edition {edition}.").format(
        student=workbook.student, set_id=workbook.set_id, edition=workbook.edition
    )
    begin = _(
        "**How to begin.** A form opens by itself for every exercise, with the diagram "
        "and the sheet beside it: press *Begin* at the foot of the window. Where there "
        "is none, reload the page; if there is a menu *Run* above it, choose *Run All "
        "Cells* there. What you record is kept when you close the page: open it again "
        "to go on."
    )
    return "\n\n".join(
        [
            f"# {workbook.title}",
            owner,
            *_changes(others),
            _(_KINDS[workbook.mode]),
            begin,
            _cautions(),
            _aims(workbook),
        ]
    )


_TONGUES = {"en": "English", "de": "Deutsch"}


def _changes(others: Mapping[str, str]) -> list[str]:
    """Links to the same workbook in other languages: what was done is there, too."""
    links = [
        f"[{_TONGUES[spoken]}]({name})"
        for spoken, name in others.items()
        if spoken != language()
    ]
    if not links:
        return []
    text = _("The same workbook, with all that you did: {links}.")
    return [text.format(links=", ".join(links))]


def _aims(workbook: Workbook) -> str:
    """List what is learned, folded where the aims of several lessons come together."""
    heading = _("You will learn to")
    aims = "\n".join(f"- {aim}" for aim in workbook.aims)
    if len(workbook.lessons) == 1:
        return f"{heading}\n\n{aims}"
    head = f"<summary><b>{heading}</b></summary>"
    return f"<details>\n{head}\n\n{aims}\n\n</details>"


def _cautions() -> str:
    cautions = "\n".join(f"> - {_(caution)}" for caution in CAUTIONS)
    heading = _("Cautions for the shop")
    return f"> **{heading}**\n>\n{cautions}"


def _end() -> str:
    text = _(
        "Press **Download my hand-in** below any exercise and give the one file that "
        "is saved to your instructor. You can hand in again: the newest file counts."
    )
    heading = _("Hand in")
    return f"## {heading}\n\n{text}"


def _exercise_cells(
    number: int, exercise: Exercise, *, is_one_of: bool
) -> list[dict[str, Any]]:
    heading, sheet = _("Exercise {number}. {title}"), _("Specification")
    parts = [f"## {heading.format(number=number, title=title_of(exercise))}"]
    if tells_complaint(exercise):
        label = _("Complaint.")
        parts.append(f"**{label}** {exercise.complaint}")
    parts += [
        circuit_markdown(exercise.specification),
        f"### {sheet}",
        sheet_markdown(exercise.specification),
    ]
    if exercise.radical.kind == "diagnosis":
        where = _("Where things are")
        once = _("A place takes its minutes once: then it stays open.")
        places = places_markdown(exercise.specification)
        parts += [f"### {where}", once, places]
    text = decimal("\n\n".join(parts))
    return [_markdown(f"circuit-{number}", text), _code(number, is_one_of=is_one_of)]
