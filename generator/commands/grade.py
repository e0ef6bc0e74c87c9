"""``clampbook grade``: marks for what came back, and what is kept of a student."""

from __future__ import annotations

import html
import json
import shlex
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any

import click

from answer_keys.gradebook.gradebook_persons import mentions
from answer_keys.gradebook.overrides import read_overrides
from answer_keys.gradebook.remarks import GRADE
from answer_keys.gradebook.standings import Override
from answer_keys.marking.rubric import read_rubric
from answer_keys.own_command import typed
from answer_keys.reports.report import PAGES, drafts_below, sheet_names
from answer_keys.written_files import write_private
from generator.commands.console import (
    gradebook_option,
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
)
from generator.errors import ClassSetError
from generator.grading.class_grading import GradingJob, grade_class
from generator.grading.processes import mark_in_processes
from generator.sets.class_set import ClassSet, open_key, read_class_set
from generator.sets.graded_set import open_gradebook

_MAX_WORKERS = 64


@click.command()
@set_argument
@gradebook_option
@click.option(
    "--workers",
    type=click.IntRange(1, _MAX_WORKERS),
    default=1,
    show_default=True,
    help="Processes that read and mark at a time.",
)
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
    class_set = read_class_set(folder)
    if asked["export_student"] and asked["forget_student"]:
        raise click.UsageError(
            "--export-student and --forget-student do not go together. Give one."
        )
    if asked["export_student"]:
        summary = _export(class_set, asked["gradebook"], asked["export_student"])
    elif asked["forget_student"]:
        summary = _forget(class_set, asked["gradebook"], asked["forget_student"])
    else:
        summary = _graded(
            class_set,
            asked["passphrase"],
            gradebook=asked["gradebook"],
            workers=asked["workers"],
            overrides=asked["overrides"],
            taken=asked["taken"],
        )
        _tell(class_set, summary)
    if as_json:
        print_json(summary)
    if any(file["status"] == "unread" for file in summary.get("files", ())):
        click.get_current_context().exit(1)


def _graded(
    class_set: ClassSet,
    passphrase: str | None,
    *,
    gradebook: str | None = None,
    workers: int = 1,
    overrides: Path | None = None,
    taken: Sequence[tuple[str, str]] = (),
) -> dict[str, Any]:
    """Grade a set, showing how far it has come; give back the summary."""
    key = open_key(class_set, passphrase)[1]
    rubric = read_rubric(class_set.rubric_file)
    by_hand: Sequence[Override] = ()
    if overrides is not None:
        by_hand = read_overrides(overrides, key, rubric)
    class_set.handed_in.mkdir(exist_ok=True)
    job = GradingJob(
        handed_in=class_set.handed_in,
        results=class_set.results,
        gradebook=gradebook or class_set.gradebook_file,
        mark=partial(mark_in_processes, workers=workers),
        overrides=by_hand,
        taken=taken,
    )
    with progress() as tell:
        summary = grade_class(key, class_set.roster, rubric, job, tell)
    if gradebook is None:
        summary["written"].insert(0, class_set.gradebook_file.name)
    return summary


def _tell(class_set: ClassSet, summary: dict[str, Any]) -> None:
    own = typed(f"grade {shlex.quote(str(class_set.folder))}")
    for file in summary["files"]:
        if file["status"] != "graded" or file["reason"]:
            reason = file["reason"].replace(GRADE, own)
            say.print(f"{file['name']}: {file['status']}: {reason}")
    for one in summary["marked_again"]:
        say.print(
            f"{one['student']} ({one['name']}): something else than grading had "
            "changed the marks in the gradebook; they were made anew from the journal"
        )
    graded = sum(file["status"] == "graded" for file in summary["files"])
    report = class_set.results / "class-report.html"
    if not summary["files"]:
        say.print(
            f"{class_set.handed_in}: holds no file; put there what students hand in, "
            "as single files or zips"
        )
    say.print(f"Graded {graded} of {len(summary['files'])} files. Open {report}")


def _export(
    class_set: ClassSet, address: str | None, asked: tuple[str, str]
) -> dict[str, Any]:
    """Write everything about one student into a file."""
    student, file = asked[0], Path(asked[1])
    name = _name_of(class_set, student)
    with open_gradebook(class_set, address) as book:
        tables = book.everything_of(class_set.set_id, student, name)
    counts = {table: len(rows) for table, rows in tables.items()}
    _check_known(class_set, student, counts)
    everything = {
        "set_id": class_set.set_id,
        "student": student,
        "name": name,
        "gradebook": tables,
    }
    text = json.dumps(everything, ensure_ascii=False, indent=1)
    write_private(file, f"{text}\n".encode())
    say.print(f"Wrote {sum(counts.values())} rows about {student} to {file}.")
    return {"student": student, "written": str(file), "rows": counts}


def _forget(class_set: ClassSet, address: str | None, student: str) -> dict[str, Any]:
    """Delete everything about one student, and tell what is left elsewhere."""
    name = _name_of(class_set, student)
    with open_gradebook(class_set, address) as book:
        held = book.everything_of(class_set.set_id, student, name)
        _check_known(class_set, student, {table: len(held[table]) for table in held})
        deleted = _pages_about(class_set, student, name)
        for page in deleted:
            page.unlink()
        forgotten = book.forget(class_set.set_id, student, name)
        is_file = book.is_file
    summary = {
        "student": student,
        "rows": forgotten.rows,
        "blanked": forgotten.blanked,
        "deleted": [page.relative_to(class_set.folder).as_posix() for page in deleted],
        "left": _left(class_set, student, name, held),
        "kept": _kept(is_file=is_file),
    }
    _tell_forgotten(summary)
    return summary


def _tell_forgotten(summary: dict[str, Any]) -> None:
    student = summary["student"]
    say.print(
        f"Deleted {sum(summary['rows'].values())} rows about {student} and "
        f"{len(summary['deleted'])} files of results/, which come back without "
        f"{student} with the next grading."
    )
    for one in summary["blanked"]:
        place = ", ".join(f"{what} {told}" for what, told in one.items())
        say.print(f"Blanked a text that named {student} ({place}).")
    say.print(
        "Yours to keep or delete are hand-ins, which grading takes up again, and all "
        "else that is left here:"
    )
    for each in summary["left"]:
        say.print(f"  {each}")
    for each in summary["kept"]:
        say.print(each)


def _kept(*, is_file: bool) -> list[str]:
    """Say where more of a student may be than can be looked for from here."""
    server = (
        "PostgreSQL keeps the bytes of deleted rows in its tables until 'VACUUM FULL' "
        "has run, and in its write-ahead log until that is written over; run VACUUM "
        "FULL as the owner of the database."
    )
    return [
        *([] if is_file else [server]),
        "Only texts with the id or the whole name were blanked. Not looked through: "
        "what other students have written in their hand-ins, tables of marks set by "
        "hand, what 'report --write' and '--export-student' wrote elsewhere, sets "
        "drawn after this one, other folders that students' journals were copied to, "
        "and backups of any of it.",
    ]


def _pages_about(class_set: ClassSet, student: str, name: str) -> list[Path]:
    """What is written about one student, alone or among others, and can be again.

    A reason on another student's sheet may name this one.
    """
    results = class_set.results
    pages = [results / name for name in PAGES] + drafts_below(results)
    sheet = sheet_names(one.id for one in class_set.request.students).get(student)
    own = () if sheet is None else (results / "sheets" / sheet,)
    others = [
        path
        for path in sorted((results / "sheets").glob("sheet-*.html"))
        if path not in own
        and mentions(html.unescape(path.read_text("utf-8", "replace")), student, name)
    ]
    for path in (*own, *others):
        pages += [path, path.with_suffix(".pdf")]
    return [page for page in pages if page.is_file()]


def _left(
    class_set: ClassSet,
    student: str,
    name: str,
    held: dict[str, list[dict[str, Any]]],
) -> list[str]:
    """Name what still holds something of a student, or may do so."""
    folder = class_set.folder
    names = {row["file_name"] for row in held["hand_in"]}
    names |= {row["name"] for row in held["returned_file"]}
    names |= {
        path.relative_to(class_set.handed_in).as_posix()
        for path in class_set.handed_in.rglob("*")
        if mentions(path.name, student, name)
    }
    left = [f"handed-in/{name}" for name in sorted(names)]
    # A 'generate' or 'site' that was killed leaves what it had begun, names and all.
    drafts = [*folder.parent.glob(f".{folder.name}.part*"), *folder.glob(".*.part*")]
    left += [str(path) for path in sorted(drafts)]
    places = [folder / "for-students" / student, folder / "site"]
    places += sorted((folder / "for-instructor").glob("[!.]*"))
    # Keys and rubric name nobody; what else lies in results/ is the instructor's own.
    nobodys = {class_set.secret_file, class_set.rubric_file}
    places += [
        path
        for path in sorted(class_set.results.iterdir())
        if path.is_file() and not path.name.startswith(class_set.gradebook_file.name)
    ]
    left += [
        path.relative_to(folder).as_posix()
        for path in places
        if path.exists() and path not in nobodys
    ]
    return left


def _name_of(class_set: ClassSet, student: str) -> str:
    names = {one.id: one.name for one in class_set.request.students}
    return names.get(student, "")


def _check_known(class_set: ClassSet, student: str, counts: dict[str, int]) -> None:
    known = [one.id for one in class_set.request.students]
    if student not in known and not any(counts.values()):
        shown = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
        raise ClassSetError(
            class_set.folder, f"has no student {student!r}. Name one of {shown}."
        )
