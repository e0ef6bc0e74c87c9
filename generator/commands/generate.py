"""``clampbook generate``: draw and write a class set."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
)
from generator.writing.class_set import ClassSet, open_key, write_class_set
from generator.writing.difficulty import ClassDifficulty, class_difficulty
from generator.writing.roster import Student, invented_roster, read_roster
from generator.writing.workbooks import Request
from lessons.loader import lesson_ids

__all__ = ["generate", "set_summary", "written_set"]

_MAX_STUDENTS, _MAX_EXERCISES = 2000, 50


def _class(text: str) -> tuple[Student, ...]:
    """A number of students, or the class list in a file."""
    if text.isdecimal() and 1 <= int(text) <= _MAX_STUDENTS:
        return invented_roster(int(text))
    if Path(text).is_file():
        return read_roster(Path(text))
    raise click.BadParameter(
        f"{text!r}; allowed are 1 to {_MAX_STUDENTS}, or a CSV file with the columns "
        "id and name",
        param_hint="--students",
    )


@click.command()
@click.option(
    "--lessons",
    help="Lessons or folders of your own, with commas between; default all of ours.",
)
@click.option(
    "--students",
    default="12",
    show_default=True,
    metavar="N|roster.csv",
    help="A number of students to invent, or a CSV file with columns id and name.",
)
@click.option(
    "--exercises",
    type=click.IntRange(1, _MAX_EXERCISES),
    default=4,
    show_default=True,
    help="Exercises for each student.",
)
@click.option(
    "--mode",
    type=click.Choice(["practice", "graded"]),
    default="practice",
    show_default=True,
    help="With feedback at every step, or with readings only.",
)
@click.option(
    "--out",
    required=True,
    metavar="SET",
    type=click.Path(path_type=Path),
    help="Folder to write; it must not exist yet.",
)
@passphrase_option
@json_option
def generate(out: Path, as_json: bool, **asked: Any) -> None:  # noqa: ANN401 - click's
    """Write a new class set: workbooks, sealed key, rubric.

    Example: clampbook generate --students roster.csv --mode graded --out week-3
    """
    lessons = asked["lessons"].split(",") if asked["lessons"] else lesson_ids()
    request = Request(
        lessons=tuple(name.strip() for name in lessons),
        students=_class(asked["students"]),
        exercises=asked["exercises"],
        mode=asked["mode"],
    )
    made = written_set(out, request, asked["passphrase"])
    hard = _difficulty(made, asked["passphrase"])
    if as_json:
        print_json({**set_summary(made), "difficulty": asdict(hard)})
    say.print(f"{hard.text[0].upper()}{hard.text[1:]}.")
    say.print(
        f"Wrote {out} (set {made.set_id}). Give out {out / 'for-students'}; never "
        f"give out {out / 'for-instructor'}."
    )


def written_set(out: Path, request: Request, passphrase: str | None) -> ClassSet:
    """Write a new class set, showing how far it has come."""
    with progress() as tell:
        return write_class_set(out, request, passphrase, tell)


def _difficulty(made: ClassSet, passphrase: str | None) -> ClassDifficulty:
    _, key = open_key(made, passphrase)
    return class_difficulty(
        (record["student"], record["difficulty"]["percent"])
        for record in key["exercises"]
    )


def set_summary(made: ClassSet) -> dict[str, Any]:
    """What was written, as JSON for a program."""
    request = made.request
    return {
        "set_id": made.set_id,
        "folder": str(made.folder),
        "mode": request.mode,
        "lessons": list(request.lessons),
        "exercises": request.exercises,
        "students": [
            {
                "id": student.id,
                "workbook": str(
                    made.workbook_file(student.id).relative_to(made.folder)
                ),
            }
            for student in request.students
        ],
    }
