"""``clampbook show``: every answer of a set, for the instructor."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click
from msgspec import to_builtins
from rich.console import Console
from rich.table import Table

from answer_keys.keys.key_record import KeyRecord
from generator.commands.console import (
    PLAIN,
    json_option,
    passphrase_option,
    print_json,
    set_argument,
    tell,
)
from generator.week.answers import Answer, answers
from generator.week.answers import qti as qti_of
from generator.week.opened import OpenedSet, check_student, opened_set
from generator.wrapping import wrapped


@click.command()
@set_argument
@click.option(
    "--student",
    metavar="ID",
    help="Show one student's answers only, with the plan of each exercise.",
)
@click.option(
    "--qti",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also write numbers and choices that are asked, with their answers, as a "
    "package of QTI 3.0 items (zip).",
)
@passphrase_option
@json_option
def show(
    folder: Path,
    student: str | None,
    qti: Path | None,
    passphrase: str | None,
    as_json: bool,
) -> None:
    """Show every exercise with its answer, for the instructor only.

    With --json, one object a line. Example: clampbook show week-3 --student s01
    """
    opened = opened_set(folder, passphrase)
    if qti is not None:
        qti.write_bytes(qti_of(opened))
        tell(f"Wrote {qti}. Answers are in it.")
    if as_json:
        _print_records(opened, student)
        return
    console = Console(**PLAIN)
    if student is None:
        console.print(_table(answers(opened)))
        tell("Give --student ID to see the plan of each exercise, too.")
        return
    for answer in answers(opened, student):
        text = "\n".join(_lines(answer))
        click.echo(wrapped(text, console.width) if console.is_terminal else text)


def _print_records(opened: OpenedSet, student: str | None) -> None:
    if student is not None:
        check_student(opened.class_set, student)
    for id_ in opened.key.students:
        if student in (None, id_):
            for whole in opened.key.whole_of(id_):
                print_json({**to_builtins(whole), "plan": _plan_summary(whole)})


def _plan_summary(answer: KeyRecord) -> dict[str, Any]:
    return {
        "expected_minutes": answer.plan.expected_cost,
        "first_tests": list(answer.reasoning.first_tests),
        "way": list(answer.planned),
    }


def _table(shown: Iterable[Answer]) -> Table:
    """A line an exercise, in the eighty columns that a terminal has at least."""
    table = Table("student", "no.", "exercise", "cause", "correction", show_lines=True)
    for answer in shown:
        table.add_row(
            answer.student,
            str(answer.exercise),
            answer.title,
            answer.cause,
            answer.correction,
        )
    return table


def _lines(answer: Answer) -> Iterable[str]:
    yield f"{answer.student} {answer.name}, exercise {answer.exercise}: {answer.title}"
    yield f"  Cause: {answer.cause}"
    yield f"  Correction: {answer.correction}"
    for number, test in enumerate(answer.planned, 1):
        yield f"  {number}. {test}"
    if answer.planned:
        yield f"  Over all causes {answer.expected} on average"
    for asked, right in answer.questions:
        yield f"  {asked}: {right}"
    yield ""
