"""``clampbook netlist``: one test of an exercise for another solver."""

from __future__ import annotations

from pathlib import Path

import click

from generator.commands.console import (
    passphrase_option,
    set_argument,
)
from generator.errors import ClassSetError
from generator.exports.spice import SpiceError, netlist_text
from generator.week.opened import check_student, opened_set


@click.command()
@set_argument
@click.option("--student", required=True, help="Id of the student.")
@click.option(
    "--exercise",
    required=True,
    type=click.IntRange(min=1),
    help="Number of the exercise.",
)
@click.option("--test", "test_id", required=True, help="Id of a test or transient.")
@passphrase_option
def netlist(
    folder: Path, student: str, exercise: int, test_id: str, passphrase: str | None
) -> None:
    """Write one test as a netlist that ngspice runs as it is.

    Besides the tests of the exercise, coil_turn_off and motor_start are transients of
    its sound circuit.

    Example: clampbook netlist week-3 --student s01 --exercise 2 --test load_current
    """
    opened = opened_set(folder, passphrase)
    check_student(opened.class_set, student)
    own = {record.exercise: record for record in opened.key.whole_of(student)}
    if exercise not in own:
        known = ", ".join(map(str, own))
        raise ClassSetError(
            folder,
            f"has no exercise {exercise} of student {student!r}. Name one of {known}.",
        )
    try:
        click.echo(netlist_text(own[exercise], test_id), nl=False)
    except SpiceError as error:
        raise click.ClickException(str(error)) from error
