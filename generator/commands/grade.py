"""``clampbook grade``: marks for what came back, and what is kept of a student."""

from __future__ import annotations

import json
import shlex
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from answer_keys.gradebook.remarks import GRADE
from answer_keys.own_command import typed
from answer_keys.written_files import write_private
from generator.commands.console import (
    gradebook_option,
    json_option,
    passphrase_option,
    print_json,
    progress,
    set_argument,
    tell,
    workers_option,
)
from generator.grading.class_grading import GradedClass
from generator.sets.class_set import ClassSet, read_class_set
from generator.week.marking import Marking, changed_marks
from generator.week.marking import grade as grade_set
from generator.week.opened import OpenedSet, opened_set
from generator.week.students import ForgottenStudent, everything_of, forget


@click.command()
@set_argument
@gradebook_option
@workers_option
@click.option(
    "--overrides",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="CSV of marks that you set by hand, with the columns student, exercise, step, "
    "mark and reason; a row without a mark takes an earlier one back.",
)
@click.option(
    "--take",
    "taken",
    nargs=2,
    multiple=True,
    metavar="ID CODE",
    help="The hand-in that counts for a student, by the code that grading gives; twice "
    "for a student takes both as one work, and the code none goes by the rule again.",
)
@click.option(
    "--export-student",
    nargs=2,
    metavar="ID FILE",
    help="Only write all that the gradebook holds of one student, as JSON.",
)
@click.option(
    "--forget-student",
    metavar="ID",
    help="Only delete all that gradebook and results hold of one student.",
)
@passphrase_option
@json_option
def grade(folder: Path, as_json: bool, **asked: Any) -> None:  # noqa: ANN401 - click's
    """Grade what was handed in; write gradebook, report, sheets and CSV.

    A file that cannot be graded is named with its reason and stops nothing. Which of
    several hand-ins counts, the deadline, and what a late one loses stand in
    for-instructor/rubric.toml. No mark is ever overwritten: the gradebook keeps all.

    Example: clampbook grade week-3 --overrides changed-marks.csv
    """
    if asked["export_student"] and asked["forget_student"]:
        raise click.UsageError(
            "--export-student and --forget-student do not go together. Give one."
        )
    has_unread = False
    if asked["export_student"]:
        class_set = read_class_set(folder)
        summary = _exported(class_set, asked["gradebook"], asked["export_student"])
    elif asked["forget_student"]:
        class_set = read_class_set(folder)
        forgotten = forget(class_set, asked["forget_student"], asked["gradebook"])
        summary = asdict(forgotten)
        _tell_forgotten(forgotten)
    else:
        opened = opened_set(folder, asked["passphrase"], asked["gradebook"])
        graded = _graded(opened, asked)
        _tell_graded(opened.class_set, graded)
        summary = {**graded.figures, "files": graded.files} if as_json else {}
        has_unread = any(one.status == "unread" for one in graded.result.receipts)
    if as_json:
        print_json(summary)
    if has_unread:
        click.get_current_context().exit(1)


def _graded(opened: OpenedSet, asked: dict[str, Any]) -> GradedClass:
    by_hand = asked["overrides"]
    marking = Marking(
        workers=asked["workers"],
        overrides=() if by_hand is None else changed_marks(opened, by_hand),
        taken=asked["taken"],
    )
    with progress() as tell_progress:
        return grade_set(opened, marking, tell_progress)


def _tell_graded(class_set: ClassSet, graded: GradedClass) -> None:
    own = typed(f"grade {shlex.quote(str(class_set.folder))}")
    files = graded.result.receipts
    for file in files:
        if file.status != "graded" or file.reason:
            tell(f"{file.name}: {file.status}: {file.reason.replace(GRADE, own)}")
    for one in graded.marked_again:
        tell(
            f"{one.student} ({one.name}): something else than grading had changed the "
            "marks in the gradebook; they were made anew from the journal"
        )
    if not files:
        tell(
            f"{class_set.handed_in}: holds no file; put there what students hand in, "
            "as single files or zips"
        )
    elif graded.missing:
        names = ", ".join(f"{one.id} {one.name}" for one in graded.missing)
        tell(
            f"No hand-in of {len(graded.missing)} of {len(graded.result.students)} "
            f"students yet: {names}."
        )
    count = sum(file.status == "graded" for file in files)
    report = class_set.results / "class-report.html"
    tell(f"Graded {count} of {len(files)} files. Open {report}")


def _exported(
    class_set: ClassSet, address: str | None, asked: tuple[str, str]
) -> dict[str, Any]:
    """Write everything about one student into a file."""
    student, file = asked[0], Path(asked[1])
    everything = everything_of(class_set, student, address)
    counts = {table: len(rows) for table, rows in everything["gradebook"].items()}
    text = json.dumps(everything, ensure_ascii=False, indent=1)
    write_private(file, f"{text}\n".encode())
    tell(f"Wrote {sum(counts.values())} rows about {student} to {file}.")
    return {"student": student, "written": str(file), "rows": counts}


def _tell_forgotten(forgotten: ForgottenStudent) -> None:
    student = forgotten.student
    tell(
        f"Deleted {sum(forgotten.rows.values())} rows about {student} and "
        f"{len(forgotten.deleted)} files of results/, which come back without "
        f"{student} with the next grading."
    )
    for one in forgotten.blanked:
        place = ", ".join(f"{what} {told}" for what, told in one.items())
        tell(f"Blanked a text that named {student} ({place}).")
    tell(
        "Yours to keep or delete are hand-ins, which grading takes up again, and all "
        "else that is left here:"
    )
    for each in forgotten.left:
        tell(f"  {each}")
    for each in forgotten.kept:
        tell(each)
