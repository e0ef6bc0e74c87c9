"""``clampbook forget``: what is older than a day is kept no longer."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from generator.commands.console import (
    gradebook_option,
    json_option,
    print_json,
    tell,
)
from generator.sets.class_set import read_class_set
from generator.week.students import ForgottenWork, forget_before
from generator.week.training import sets_below


@click.command()
@click.argument(
    "folders", metavar="[SET]...", nargs=-1, type=click.Path(path_type=Path)
)
@click.option(
    "--before",
    required=True,
    type=click.DateTime(["%Y-%m-%d"]),
    help="A day, as 2025-08-01. Who has handed in something that was first graded then "
    "or later is kept.",
)
@gradebook_option
@json_option
def forget(
    folders: tuple[Path, ...],
    before: datetime,
    gradebook: str | None,
    *,
    as_json: bool,
) -> None:
    """Delete the work of students who have handed in nothing since a day.

    All that the gradebook holds of them goes, and pages of results/ that show it. A
    folder that holds sets stands for all of them. With --gradebook and no SET it is all
    sets of that database, also those whose folder is gone.

    Example: clampbook forget autumn --before 2025-08-01
    """
    if not folders and gradebook is None:
        raise click.UsageError(
            "nothing is named. Name sets, or give --gradebook ADDRESS for all of its."
        )
    sets = [read_class_set(folder) for folder in sets_below(folders)]
    forgotten = forget_before(before.date(), sets, gradebook)
    if as_json:
        print_json(
            {
                "students": {key: list(ids) for key, ids in forgotten.students.items()},
                "rows": dict(forgotten.rows),
                "deleted": [str(path) for path in forgotten.deleted],
            }
        )
    _tell(forgotten, before)


def _tell(forgotten: ForgottenWork, before: datetime) -> None:
    count = sum(map(len, forgotten.students.values()))
    if not count:
        tell(f"Nobody's work is older than {before:%Y-%m-%d}; nothing was deleted.")
        return
    tell(
        f"Deleted {sum(forgotten.rows.values())} rows about {count} students "
        f"(sets: {', '.join(forgotten.students)}), and {len(forgotten.deleted)} files "
        "of results/, which come back without them with the next grading."
    )
    tell(
        "Yours to keep or delete are the folders of the sets: hand-ins, which grading "
        "takes up again, workbooks and class lists."
    )
    for each in forgotten.kept:
        tell(each)
