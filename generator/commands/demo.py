"""``clampbook demo``: the whole job once, with an invented class."""

from __future__ import annotations

from pathlib import Path

import click

from generator.commands.console import (
    json_option,
    print_json,
    say,
)
from generator.commands.generate import set_summary, written_set
from generator.commands.grade import graded
from generator.commands.simulate import handed_in
from generator.serving.jupyter import open_jupyter
from generator.writing.kinds import KINDS
from generator.writing.request import Request
from generator.writing.roster import invented_roster

__all__ = ["demo"]

_DEMO_LESSON = "mixed-diagnosis"


@click.command()
@click.option(
    "--out",
    metavar="SET",
    type=click.Path(path_type=Path),
    help="Folder to write; default clampbook-demo, or the next free name.",
)
@click.option("--open", "open_it", is_flag=True, help="Open a workbook in Jupyter.")
@json_option
def demo(out: Path | None, open_it: bool, as_json: bool) -> None:
    """Make a class of 12, let it work and hand in, grade it, and say what to open.

    Example: clampbook demo --open
    """
    folder = out or _free_name("clampbook-demo")
    students = invented_roster(12)
    request = Request(
        lessons=(_DEMO_LESSON,), students=students, exercises=4, mode="practice"
    )
    made = written_set(folder, request, None)
    handed_in(made, tuple(KINDS), None)
    summary = graded(made, None)
    workbook = made.workbook_file(students[0].id)
    if as_json:
        print_json({**set_summary(made), "graded": summary["students"]})
    say.print(
        "\nThe snow groomers of the Hollenkar ski area: 12 invented students worked 4 "
        "broken circuits each,\nhanded in, and were graded.\n\n"
        f"  class report     {made.results / 'class-report.html'}\n"
        f"  student sheets   {made.results / 'sheets'}\n"
        f"  a workbook       {workbook}\n"
        f"  all answers      clampbook show {folder}\n\n"
        "'clampbook demo --open' opens a workbook in Jupyter in your browser."
    )
    if open_it:
        say.print("Starting Jupyter; press Ctrl+C twice here to stop it.")
        open_jupyter(workbook.parent, workbook.name)


def _free_name(stem: str) -> Path:
    path, number = Path(stem), 2
    while path.exists():
        path, number = Path(f"{stem}-{number}"), number + 1
    return path
