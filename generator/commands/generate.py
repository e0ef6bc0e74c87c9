"""``clampbook generate``: draw and write a class set."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from answer_keys.interchange.oneroster import OneRosterClass
from answer_keys.needs import Needs
from answer_keys.reports.draw_needs import needs_after
from generator.commands.console import (
    gradebook_option,
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
)
from generator.drawing.difficulty import ClassDifficulty, class_difficulty
from generator.drawing.request import Request, Student
from generator.sets.class_set import ClassSet, open_key, read_class_set
from generator.sets.graded_set import class_result
from generator.sets.oneroster_roster import is_oneroster, read_oneroster
from generator.sets.roster import invented_roster, read_roster
from generator.sets.set_writing import write_class_set
from lessons.loader import lesson_ids
from workbook.texts import ENGLISH, LANGUAGES

_STUDENTS = 12
_MAX_STUDENTS, _MAX_EXERCISES = 2000, 50


def _class(
    text: str, class_id: str | None
) -> tuple[tuple[Student, ...], OneRosterClass | None]:
    """A number of students, or the class list in a file or a bundle of files."""
    path = Path(text)
    if text and is_oneroster(path):
        return read_oneroster(path, class_id)
    if class_id is not None:
        raise click.BadParameter(
            f"{text!r} is no OneRoster bundle. Leave out --class: it picks from one.",
            param_hint="--students",
        )
    if text.isdecimal() and 1 <= int(text) <= _MAX_STUDENTS:
        return invented_roster(int(text)), None
    if path.is_file():
        return read_roster(path), None
    raise click.BadParameter(
        f"{text!r} is no number of students and no file. Name 1 to {_MAX_STUDENTS}, a "
        "CSV file with the columns id and name, or OneRoster CSV with its "
        "manifest.csv, in a folder or zip.",
        param_hint="--students",
    )


@click.command()
@click.option(
    "--lessons",
    help="Lessons or folders of your own, with commas between; default all of ours.",
)
@click.option(
    "--students",
    show_default=str(_STUDENTS),
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
    "--language",
    type=click.Choice(LANGUAGES),
    default=ENGLISH,
    show_default=True,
    help="What workbooks and handouts say; answer key and reports are in English.",
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
    "--out",
    required=True,
    metavar="SET",
    type=click.Path(path_type=Path),
    help="Folder to write; it must not exist yet.",
)
@gradebook_option
@passphrase_option
@json_option
def generate(out: Path, as_json: bool, **asked: Any) -> None:  # noqa: ANN401 - click's
    """Write a new class set: workbooks, sealed key, rubric.

    With --after, weak faults and skills of a graded set come first, in a practice set
    each student's own, and every fourth exercise repeats what came before.

    Example: clampbook generate --students roster.csv --mode graded --out week-3
    """
    request = _request(asked)
    with progress() as tell:
        made = write_class_set(
            out, request, asked["passphrase"], tell, rubric=asked["rubric"]
        )
    hard = _difficulty(made, asked["passphrase"])
    if as_json:
        print_json({**made.summary, "difficulty": asdict(hard)})
    say.print(f"{hard.text[0].upper()}{hard.text[1:]}.")
    if request.needs is not None:
        say.print(_practised(request.needs))
    say.print(
        f"Wrote {out} (set {made.set_id}). Give out {out / 'for-students'}; never "
        f"give out {out / 'for-instructor'}."
    )


def _request(asked: dict[str, Any]) -> Request:
    """Put together what was asked for, and what the set before it leaves to do."""
    earlier = read_class_set(asked["after"]) if asked["after"] else None
    lessons = tuple(name.strip() for name in (asked["lessons"] or "").split(","))
    if not asked["lessons"]:
        lessons = earlier.request.lessons if earlier else tuple(lesson_ids())
    if earlier and asked["students"] is None:
        students, school_class = earlier.request.students, earlier.request.school_class
    else:
        text = asked["students"]
        text = str(_STUDENTS) if text is None else text
        students, school_class = _class(text, asked["class_id"])
    needs = None
    if earlier:
        key = open_key(earlier, asked["passphrase"])[1]
        result = class_result(earlier, key, asked["gradebook"])
        needs = needs_after(result)
    return Request(
        lessons=lessons,
        students=students,
        exercises=asked["exercises"],
        mode=asked["mode"],
        school_class=school_class,
        language=asked["language"],
        needs=needs,
    )


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


def _difficulty(made: ClassSet, passphrase: str | None) -> ClassDifficulty:
    _, key = open_key(made, passphrase)
    return class_difficulty(
        (record.student, record.difficulty["percent"]) for record in key.whole
    )
