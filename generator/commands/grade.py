"""``clampbook grade``: mark what was handed in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from answer_keys.marking import ClassFolders, grade_class
from answer_keys.rubric import read_rubric
from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
)
from generator.writing.class_set import ClassSet, open_key, read_class_set

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["grade", "graded"]


@click.command()
@set_argument
@passphrase_option
@json_option
def grade(folder: Path, passphrase: str | None, as_json: bool) -> None:
    """Grade what was handed in; write gradebook, report, sheets and CSV.

    A file that cannot be graded is named with its reason and stops nothing.
    Example: clampbook grade week-3
    """
    class_set = read_class_set(folder)
    summary = graded(class_set, passphrase)
    if as_json:
        print_json(summary)
    for file in summary["files"]:
        if file["status"] != "graded":
            say.print(f"{file['name']}: {file['status']}: {file['reason']}")
    good = sum(file["status"] == "graded" for file in summary["files"])
    report = class_set.results / "class-report.html"
    say.print(f"Graded {good} of {len(summary['files'])} files. Open {report}")


def graded(class_set: ClassSet, passphrase: str | None) -> dict[str, Any]:
    """Grade a set, showing how far it has come; give back the summary."""
    _, key = open_key(class_set, passphrase)
    rubric = read_rubric(class_set.rubric_file)
    roster = [(student.id, student.name) for student in class_set.request.students]
    class_set.handed_in.mkdir(exist_ok=True)
    folders = ClassFolders(handed_in=class_set.handed_in, results=class_set.results)
    with progress() as tell:
        return grade_class(key, roster, rubric, folders, tell)
