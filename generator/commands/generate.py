"""``clampbook generate``: draw and write a class set."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from answer_keys.needs import Needs
from generator.commands.console import (
    gradebook_option,
    json_option,
    passphrase_option,
    print_json,
    progress,
    tell,
    workers_option,
)
from generator.drawing.request import MAX_EXERCISES, MAX_STUDENTS
from generator.sets.oneroster_roster import is_oneroster
from generator.week.class_list import ClassList, invented_list, read_class_list
from generator.week.new_set import STUDENTS, NewSet
from generator.week.new_set import generate as write_set
from workbook.texts import ENGLISH, LANGUAGES


def _class_list(text: str | None, class_id: str | None) -> ClassList | None:
    """A number of students, or the class list in a file or a bundle of files."""
    if text is None:
        return None
    path = Path(text)
    if class_id is not None and not (text and is_oneroster(path)):
        raise click.BadParameter(
            f"{text!r} is no OneRoster bundle. Leave out --class: it picks from one.",
            param_hint="--students",
        )
    if text.isdecimal() and 1 <= int(text) <= MAX_STUDENTS:
        return invented_list(int(text))
    if text and (path.is_file() or is_oneroster(path)):
        return read_class_list(path, class_id)
    raise click.BadParameter(
        f"{text!r} is no number of students and no file. Name 1 to {MAX_STUDENTS}, a "
        "CSV file with the columns id and name, or OneRoster CSV with its "
        "manifest.csv, in a folder or zip.",
        param_hint="--students",
    )


@click.command()
@click.option(
    "--lessons",
    multiple=True,
    help="Lessons or folders of your own, with commas between, or one each time; "
    "default all of ours.",
)
@click.option(
    "--students",
    show_default=str(STUDENTS),
    metavar="N|roster.csv|BUNDLE",
    help="A number of students to invent, a CSV file with columns id and name, or a "
    "folder or zip of OneRoster 1.2 CSV.",
)
@click.option(
    "--class",
    "class_id",
    metavar="ID",
    help="The class to take from a bundle with several, by its sourcedId.",
)
@click.option(
    "--exercises",
    type=click.IntRange(1, MAX_EXERCISES),
    default=4,
    show_default=True,
    help="Exercises for each student.",
)
@click.option(
    "--mode",
    type=click.Choice(["practice", "graded", "examination"]),
    default="practice",
    show_default=True,
    help="With feedback at every step, with readings only, or with readings that "
    "'clampbook serve' gives one by one.",
)
@click.option(
    "--causes",
    type=click.Choice(["own", "same"]),
    default="own",
    show_default=True,
    help="What is graded: every student has causes of their own, and it equally hard; "
    "or all have the same in another order, so that one can tell another.",
)
@click.option(
    "--language",
    type=click.Choice(LANGUAGES),
    default=(ENGLISH,),
    show_default=True,
    multiple=True,
    help="What students and you read of the set: workbooks, paper, marks, reports. "
    "Where two are given, students may change; all else is in the first.",
)
@click.option(
    "--after",
    metavar="SET",
    type=click.Path(path_type=Path),
    help="Draw what this graded set showed to be weak, first; its students and lessons "
    "are taken where none are named.",
)
@click.option(
    "--rubric",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="The rubric of the set; practice pages follow its [method]. Default the "
    "lesson's.",
)
@click.option(
    "--difficulty",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="How hard exercises have proved to be in your classes, as 'clampbook report "
    "SET SET --training FOLDER' has written it; workbooks are drawn equally hard by "
    "it.",
)
@click.option(
    "--out",
    required=True,
    metavar="SET",
    type=click.Path(path_type=Path),
    help="Folder to write; it must not exist yet.",
)
@gradebook_option
@workers_option
@passphrase_option
@json_option
def generate(out: Path, as_json: bool, **asked: Any) -> None:  # noqa: ANN401 - click's
    """Write a new class set: workbooks, sealed key, rubric.

    With --after, weak faults and skills of a graded set come first, in a practice set
    each student's own, and every fourth exercise repeats what came before.

    Example: clampbook generate --students roster.csv --mode graded --out week-3
    """
    new = NewSet(
        out=out,
        lessons=_names(asked["lessons"]),
        class_list=_class_list(asked["students"], asked["class_id"]),
        exercises=asked["exercises"],
        mode=asked["mode"],
        causes=asked["causes"],
        language=asked["language"][0],
        also_in=tuple(dict.fromkeys(asked["language"]))[1:],
        after=asked["after"],
        gradebook=asked["gradebook"],
        rubric=asked["rubric"],
        difficulty=asked["difficulty"],
    )
    with progress() as show:
        made = write_set(new, asked["passphrase"], show, workers=asked["workers"])
    if as_json:
        summary = made.class_set.summary
        print_json(
            {
                **summary,
                "difficulty": asdict(made.difficulty),
                "drawn": asdict(made.drawn),
            }
        )
    tell(f"Each student gets {made.drawn.text}.")
    if made.class_set.request.mode != "practice" and made.difficulty.is_fair:
        tell("By prediction it is equally hard for all of them.")
    if made.needs is not None:
        tell(_practised(made.needs))
    tell(
        f"Wrote {out} (set {made.class_set.set_id}). Give out {out / 'for-students'}; "
        f"never give out {out / 'for-instructor'}."
    )


def _names(texts: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name.strip() for text in texts for name in text.split(","))


def _practised(needs: Needs) -> str:
    """Say what the class needs most."""
    if not needs.students:
        return f"Set {needs.after} has no graded work yet: nothing is put first."
    faults = ", ".join(fault.replace("_", " ") for fault in needs.whole.faults[:3])
    kinds = ", ".join(needs.whole.kinds)
    return (
        f"After set {needs.after} the class needs most: faults: {faults or 'none'}; "
        f"questions: {kinds or 'none'}."
    )
