"""``clampbook demo``: the whole job once, with an invented class."""

from __future__ import annotations

from pathlib import Path

import click

from answer_keys.own_command import typed
from generator.commands.console import json_option, print_json, progress, say
from generator.grading.class_grading import GradedClass
from generator.serving.jupyter import open_jupyter
from generator.sets.class_set import ClassSet
from generator.week.class_list import invented_list
from generator.week.inventing import invent_work
from generator.week.marking import grade
from generator.week.new_set import NewSet, generate
from generator.week.opened import opened_set

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
    new = NewSet(out=folder, lessons=(_DEMO_LESSON,), class_list=invented_list(12))
    made, graded = _worked_and_graded(new)
    workbook = made.workbook_file(made.request.students[0].id)
    if as_json:
        print_json({**made.summary, "graded": graded.summary["students"]})
    say.print(
        "\nThe snow groomers of the Hollenkar ski area: 12 invented students worked 4 "
        "broken circuits each,\nhanded in, and were graded.\n\n"
        f"  class report     {made.results / 'class-report.html'}\n"
        f"  student sheets   {made.results / 'sheets'}\n"
        f"  a workbook       {workbook}\n"
        f"  all answers      {typed(f'show {folder}')}\n\n"
        f"'{typed('demo --open')}' opens a workbook in Jupyter in your browser."
    )
    if open_it:
        say.print("Starting Jupyter, for you alone; press Ctrl+C here to stop it.")
        open_jupyter(workbook.parent, workbook.name)


def _worked_and_graded(new: NewSet) -> tuple[ClassSet, GradedClass]:
    """Write a set, let invented students hand in, and grade them."""
    with progress() as show:
        made = generate(new, tell=show).class_set
        opened = opened_set(made.folder)
        invent_work(opened, tell=show)
        return made, grade(opened, tell=show)


def _free_name(stem: str) -> Path:
    path, number = Path(stem), 2
    while path.exists():
        path, number = Path(f"{stem}-{number}"), number + 1
    return path
