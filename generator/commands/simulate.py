"""``clampbook simulate``: let invented students work a set."""

from __future__ import annotations

from pathlib import Path

import click

from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    set_argument,
    tell,
)
from generator.invented.kinds import KINDS
from generator.week.inventing import invent_work
from generator.week.opened import opened_set


def _known_kinds(
    _: click.Context, parameter: click.Parameter, text: str
) -> tuple[str, ...]:
    kinds = tuple(name.strip() for name in text.split(","))
    if not set(kinds) <= set(KINDS):
        raise click.BadParameter(
            f"{text!r} are not all kinds of students. Write some of "
            f"{', '.join(KINDS)}, with commas between.",
            param=parameter,
        )
    return kinds


@click.command()
@set_argument
@click.option(
    "--kinds",
    default=",".join(KINDS),
    show_default=True,
    callback=_known_kinds,
    help="Kinds of students, dealt out in turn; name one twice to have more of it.",
)
@passphrase_option
@json_option
def simulate(
    folder: Path, kinds: tuple[str, ...], passphrase: str | None, as_json: bool
) -> None:
    """Let invented students work a set and hand in, to see how it is marked.

    A guesser does anything at random, a relay-replacer always puts in a new relay
    first, a novice is careful, an expert follows the plan; the two in the middle hold
    wrong rules besides. Who is of which kind and holds which rules stands in
    for-instructor/invented-students.json, so that a report can be checked.

    Example: clampbook simulate week-3 --kinds novice,novice,expert
    """
    opened = opened_set(folder, passphrase)
    with progress() as show:
        written = invent_work(opened, kinds, show)
    if as_json:
        print_json({"handed_in": written})
    tell(f"{len(written)} invented students handed in to {folder / 'handed-in'}.")
