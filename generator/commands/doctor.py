"""``clampbook doctor``: look whether this machine has what is needed."""

from __future__ import annotations

import sys

import click

from generator.commands.console import (
    json_option,
    print_json,
    tell,
)
from generator.week.machine import checks


@click.command()
@json_option
def doctor(as_json: bool) -> None:
    """Look whether this machine has what is needed.

    Example: clampbook doctor
    """
    found = checks()
    sound = all(check.is_sound for check in found if check.is_needed)
    if as_json:
        rows = [
            {
                "name": c.name,
                "sound": c.is_sound,
                "found": c.found,
                "needed": c.is_needed,
            }
            for c in found
        ]
        print_json({"checks": rows, "sound": sound})
    for check in found:
        word = "good" if check.is_sound else "BAD " if check.is_needed else "none"
        tell(f"{word}  {check.name:<15} {check.found}")
    tell("This machine is ready." if sound else "This machine is not ready.")
    if not sound:
        sys.exit(1)
