"""``clampbook demo``: the whole job once, with an invented class."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from answer_keys.marking.rubric import read_rubric
from answer_keys.own_command import typed
from generator.commands.console import json_option, print_json, progress, say
from generator.drawing.request import Request
from generator.grading.class_grading import GradingJob, grade_class
from generator.invented.kinds import KINDS
from generator.invented.simulation import simulate_class
from generator.serving.jupyter import open_jupyter
from generator.sets.class_set import ClassSet, open_key
from generator.sets.roster import invented_roster
from generator.sets.set_writing import write_class_set

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
    made, summary = _worked_and_graded(folder, request)
    workbook = made.workbook_file(students[0].id)
    if as_json:
        print_json({**made.summary, "graded": summary["students"]})
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


def _worked_and_graded(
    folder: Path, request: Request
) -> tuple[ClassSet, dict[str, Any]]:
    """Write a set, let invented students hand in, and grade them."""
    with progress() as tell:
        made = write_class_set(folder, request, progress=tell)
        opened = open_key(made)
        simulate_class(made, tuple(KINDS), opened, tell)
        job = GradingJob(
            handed_in=made.handed_in,
            results=made.results,
            gradebook=made.gradebook_file,
        )
        rubric = read_rubric(made.rubric_file)
        return made, grade_class(opened[1], made.roster, rubric, job, tell)


def _free_name(stem: str) -> Path:
    path, number = Path(stem), 2
    while path.exists():
        path, number = Path(f"{stem}-{number}"), number + 1
    return path
