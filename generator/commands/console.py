"""What every command shares: where it speaks, its arguments, its progress."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
from rich.progress import Progress as Bars

from answer_keys.headway import Progress, Stage, stage_text
from generator.workers import MOST_WORKERS
from generator.wrapping import wrapped

# Names of files and vehicles are printed as they are, whatever brackets they hold.
PLAIN: dict[str, Any] = {"markup": False, "emoji": False, "highlight": False}
say = Console(stderr=True, soft_wrap=True, **PLAIN)


def tell(text: str) -> None:
    """Say something to the person at the terminal, in lines that fit it.

    What goes into a file or to another program has a line for each message.
    """
    say.print(wrapped(text, say.width) if say.is_terminal else text)


set_argument = click.argument("folder", metavar="SET", type=click.Path(path_type=Path))
sets_argument = click.argument(
    "folders",
    metavar="SET...",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path),
)
json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON on standard output."
)


def _some_text(
    _: click.Context, parameter: click.Parameter, text: str | None
) -> str | None:
    if text == "":
        raise click.BadParameter(
            "it is empty. Write something, or leave it out.", param=parameter
        )
    return text


passphrase_option = click.option(
    "--passphrase",
    envvar="CLAMPBOOK_PASSPHRASE",
    callback=_some_text,
    help="Passphrase of the class secret; better set CLAMPBOOK_PASSPHRASE.",
)


workers_option = click.option(
    "--workers",
    type=click.IntRange(1, MOST_WORKERS),
    show_default="one a core, where that pays",
    help="Processes that share the work; what they make is the same.",
)


gradebook_option = click.option(
    "--gradebook",
    metavar="ADDRESS",
    envvar="CLAMPBOOK_GRADEBOOK",
    help="Database of the gradebook, such as postgresql+psycopg://user@host/name; "
    "default a file of SQLite in SET/results.",
)


@contextmanager
def progress() -> Iterator[Progress]:
    """Show how far long work has come, on standard error."""
    columns = TextColumn("{task.description:<22}"), BarColumn(), MofNCompleteColumn()
    with Bars(*columns, console=say) as bar:
        tasks: dict[str, Any] = {}

        def show(stage: Stage, done: int, total: int) -> None:
            if stage not in tasks:
                tasks[stage] = bar.add_task(stage_text(stage), total=total)
            # A total of 0 stands for one that is not known beforehand.
            bar.update(tasks[stage], completed=done, total=total or done)

        yield show


def print_json(value: object) -> None:
    """Print one JSON value on a line of standard output, in UTF-8 (RFC 8259, 8.1).

    What an iterator in an object gives is printed as a list, one by one: all files of a
    class are more than need lie in memory.
    """
    for part in _json_parts(value):
        click.echo(part.encode(), nl=False)
    click.echo()


def _json_parts(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for number, key in enumerate(sorted(value)):
            yield f"{', ' if number else '{'}{_json_text(key)}: "
            yield from _json_parts(value[key])
        yield "}" if value else "{}"
    elif isinstance(value, Iterator):
        yield "["
        for number, each in enumerate(value):
            yield f"{', ' if number else ''}{_json_text(each)}"
        yield "]"
    else:
        yield _json_text(value)


def _json_text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, allow_nan=False)
