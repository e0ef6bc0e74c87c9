"""``clampbook desk``: the instructor's page, for a week without a terminal."""

from __future__ import annotations

import sys
from io import StringIO
from pathlib import Path

import click

from generator.commands.console import say
from generator.desk.application import open_desk
from generator.desk.places import usual_folder
from generator.desk.shortcut import write_shortcut


@click.command()
@click.argument(
    "folder",
    metavar="[FOLDER]",
    required=False,
    type=click.Path(path_type=Path, file_okay=False),
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    show_default="any that is free",
    help="Port of this machine to listen on.",
)
@click.option("--no-browser", is_flag=True, help="Print the address and open nothing.")
@click.option(
    "--shortcut",
    is_flag=True,
    help="Only put an icon on your desktop that opens the desk by a double click.",
)
def desk(folder: Path | None, port: int, no_browser: bool, shortcut: bool) -> None:
    """Open the desk: one page in your browser that does the whole week.

    It shows the sets of one folder, Clampbook among your documents unless you name
    another. Only this machine can open it, and only with its address. It ends with
    its own button, with Ctrl+C here, or half an hour after its page was closed.

    Example: clampbook desk
    """
    if shortcut:
        say.print(f"Wrote {write_shortcut(folder)}. Double-click it to open the desk.")
        return
    sets = folder or usual_folder()

    def started(page: str) -> None:
        say.print(f"The desk of {sets} runs. Press Ctrl+C here to end it.")
        if no_browser:
            say.print(page)

    found = open_desk(sets, port=port, opens_browser=not no_browser, started=started)
    if found is None:
        say.print("The desk has ended.")
        return
    say.print(f"The desk of {sets} runs already.")
    if no_browser:
        say.print(found)
    else:
        click.launch(found)


def main() -> None:
    """Open the desk from an icon, where there is no terminal to speak to."""
    for stream in ("stdout", "stderr"):
        # Windows gives none to a program without a window of its own.
        if getattr(sys, stream) is None:
            setattr(sys, stream, StringIO())
    desk.main(prog_name="clampbook-desk")
