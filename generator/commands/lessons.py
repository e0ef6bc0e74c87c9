"""``clampbook lessons``: list ours, check an instructor's own, begin a new one."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from answer_keys.own_command import typed
from generator.commands.console import json_option, print_json, tell
from generator.week.own_lessons import begin, check_own, our_lessons
from generator.workbooks.own_lesson import Checked


@click.group(invoke_without_command=True)
@json_option
@click.pass_context
def lessons(context: click.Context, as_json: bool) -> None:
    """List the lessons that can be drawn from; check or begin one of your own.

    Example: clampbook lessons
    """
    if context.invoked_subcommand is not None:
        return
    found = our_lessons()
    if as_json:
        print_json({"lessons": [{"id": it.id, "title": it.title} for it in found]})
        return
    for lesson in found:
        click.echo(f"{lesson.id}: {lesson.title}")


@lessons.command()
@click.argument("path", metavar="DIR|PART.toml", type=click.Path(path_type=Path))
@json_option
def check(path: Path, as_json: bool) -> None:
    """Check a lesson of your own, or a part file, and list all its faults.

    A lesson's text is filled, and three exercises are drawn from it for a trial.

    Example: clampbook lessons check my-pumps
    """
    found = check_own(path)
    if as_json:
        print_json(_summary(found))
    for problem in found.problems:
        tell(str(problem))
    for title in found.drawn:
        tell(f"drawn for a trial: {title}")
    tell(f"{path} is {'sound' if found.is_sound else 'at fault'}.")
    if not found.is_sound:
        sys.exit(1)


def _summary(found: Checked) -> dict[str, object]:
    return {
        "sound": found.is_sound,
        "drawn": list(found.drawn),
        "problems": [
            {"file": str(one.path), "line": one.line, "message": one.message}
            for one in found.problems
        ],
    }


@lessons.command()
@click.argument("folder", metavar="NAME", type=click.Path(path_type=Path))
@json_option
def new(folder: Path, as_json: bool) -> None:
    """Write the start of a lesson: a folder with every line explained.

    It can be drawn from as it is. Example: clampbook lessons new my-pumps
    """
    written = begin(folder)
    if as_json:
        print_json({"written": [str(path) for path in written]})
    for path in written:
        tell(f"wrote {path}")
    tell(f"Change them, then: {typed(f'lessons check {folder}')}")
