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
from generator.sets.class_set import open_key, read_class_set


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
    class_set = read_class_set(folder)
    _, key = open_key(class_set, passphrase)
    own = key.whole_of(student)
    record = next((each for each in own if each.exercise == exercise), None)
    if record is None:
        known = sorted({(each.student, each.exercise) for each in key.exercises})
        shown = ", ".join(f"{who} {number}" for who, number in known[:12])
        raise ClassSetError(
            folder,
            f"has no exercise {exercise} of student {student!r}. Name one of {shown}"
            f"{' ...' if len(known) > 12 else '.'}",
        )
    try:
        click.echo(netlist_text(record, test_id), nl=False)
    except SpiceError as error:
        raise click.ClickException(str(error)) from error
