"""``clampbook show``: every answer of a set, for the instructor."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
from msgspec import to_builtins
from rich.console import Console
from rich.table import Table

from answer_keys.keys.key_record import KeyRecord
from answer_keys.keys.wording import minutes_text
from answer_keys.marking.visits import minutes_along, planned_tests
from generator.commands.console import (
    PLAIN,
    json_option,
    passphrase_option,
    print_json,
    say,
    set_argument,
)
from generator.exports.qti import qti_package
from generator.sets.class_set import open_key, read_class_set
from generator.sets.set_writing import rebuilt_workbooks
from workbook.texts import speaking


@click.command()
@set_argument
@click.option(
    "--qti",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also write numbers and choices that are asked, with their answers, as a "
    "package of QTI 3.0 items (zip).",
)
@passphrase_option
@json_option
def show(folder: Path, qti: Path | None, passphrase: str | None, as_json: bool) -> None:
    """Show every exercise with its answer and its plan, for the instructor only.

    With --json, one object a line. Example: clampbook show week-3 --json
    """
    class_set = read_class_set(folder)
    secret, key = open_key(class_set, passphrase)
    if qti is not None:
        workbooks = rebuilt_workbooks(class_set, secret)
        with speaking(class_set.request.language):
            qti.write_bytes(qti_package(workbooks, class_set.set_id))
        say.print(f"Wrote {qti}. Answers are in it.")
    if as_json:
        for whole in key.whole:
            print_json({**to_builtins(whole), "plan": _plan_summary(whole)})
        return
    head = ("student", "exercise", "title", "cause", "correction", "planned tests")
    table = Table(*head, show_lines=True)
    for answer in key.exercises:
        table.add_row(*_shown(answer))
    Console(**PLAIN).print(table)


def _plan_summary(answer: KeyRecord) -> dict[str, Any]:
    return {
        "expected_minutes": answer.plan.expected_cost,
        "first_tests": list(answer.reasoning.first_tests),
        "way": list(answer.planned),
    }


def _shown(answer: KeyRecord) -> tuple[str, ...]:
    given = answer.start.given_tests
    tests = planned_tests(answer)
    taken = zip(tests, minutes_along(answer, tests), strict=True)
    planned = [
        f"{number}. {test.title}: {minutes_text(minutes)}"
        f"{', done for the student' if number <= given else ''}"
        for number, (test, minutes) in enumerate(taken, 1)
    ]
    expected = f"Over all causes {minutes_text(answer.plan.expected_cost)} on average"
    return (
        answer.student,
        str(answer.exercise),
        answer.title,
        answer.label_of_fault(answer.fault.id),
        answer.label_of_repair(answer.fault.repair),
        "\n".join([*planned, expected]),
    )
