"""``clampbook validate``: prove that a class set is sound."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from generator.checking.validation import junit_text
from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    set_argument,
    tell,
    workers_option,
)
from generator.week.checking import check, keep_check
from generator.week.opened import opened_set

_LABELS = {
    "workbooks": "workbooks",
    "paper": "files for paper",
    "exercises": "exercises",
}


@click.command()
@set_argument
@click.option(
    "--junit",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write a JUnit XML report, too: a case an exercise and a case a workbook.",
)
@click.option(
    "--run-all",
    is_flag=True,
    help="Run every workbook in a kernel, and not three of them alone.",
)
@workers_option
@passphrase_option
@json_option
def validate(
    folder: Path,
    junit: Path | None,
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - click's
) -> None:
    """Check every workbook of a set, and prove every exercise again from its key.

    Workbooks: valid, without leaks, the same bytes when written again; some are run.
    Exercises: solvable, one repair, bands and readings right, none near a band's edge,
    plan the best. Handouts and reading slips, where they were written: without
    answers, also in their PDFs. One line is printed for each that fails.

    Example: clampbook validate week-3 --junit report.xml
    """
    opened = opened_set(folder, asked["passphrase"])
    with progress() as show:
        found = check(
            opened, show, workers=asked["workers"], is_all_run=asked["run_all"]
        )
    kept = keep_check(opened.class_set, found)
    if junit is not None:
        junit.write_text(junit_text(found.groups), encoding="utf-8")
    if as_json:
        print_json({**found.groups, "sound": found.is_sound})
    for line in kept.faults:
        tell(line)
    for name, label in _LABELS.items():
        if name in kept.counts:
            sound, count = kept.counts[name]
            tell(f"{sound} of {count} {label} are sound.")
    if not found.is_sound:
        sys.exit(1)
