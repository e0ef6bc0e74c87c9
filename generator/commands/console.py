"""What every command shares: where it speaks, its arguments, its progress."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

# Names of files and vehicles are printed as they are, whatever brackets they hold.
PLAIN: dict[str, Any] = {"markup": False, "emoji": False, "highlight": False}
say = Console(stderr=True, soft_wrap=True, **PLAIN)
set_argument = click.argument("folder", metavar="SET", type=click.Path(path_type=Path))
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


gradebook_option = click.option(
    "--gradebook",
    metavar="ADDRESS",
    envvar="CLAMPBOOK_GRADEBOOK",
    help="Database of the gradebook, such as postgresql+psycopg://user@host/name; "
    "default a file of SQLite in SET/results.",
)


@contextmanager
def progress() -> Iterator[Callable[[str, int, int], None]]:
    """Show how far long work has come, on standard error."""
    columns = TextColumn("{task.description:<22}"), BarColumn(), MofNCompleteColumn()
    with Progress(*columns, console=say) as bar:
        tasks: dict[str, Any] = {}

        def tell(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = bar.add_task(what, total=total)
            # A total of 0 stands for one that is not known beforehand.
            bar.update(tasks[what], completed=done, total=total or done)

        yield tell


def print_json(value: object) -> None:
    """Print one JSON value on a line of standard output, in UTF-8 (RFC 8259, 8.1)."""
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, allow_nan=False)
    click.echo(text.encode())
