"""``clampbook handouts``: a class set on paper."""

from __future__ import annotations

from pathlib import Path

import click

from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    set_argument,
    tell,
    workers_option,
)
from generator.paper.pdf_files import NO_PDF
from generator.week.on_paper import paper
from generator.week.opened import opened_set


@click.command()
@set_argument
@workers_option
@passphrase_option
@json_option
def handouts(
    folder: Path, workers: int | None, passphrase: str | None, as_json: bool
) -> None:
    """Write a set for a shop without computers: handouts, reading slips, guide.

    Each student gets a handout to print. The instructor gets the reading slips by
    code, the teacher's guide, and an empty table to type answers into: put it into
    handed-in/ and grade. Of more than thirty students, or of long workbooks, these
    three come in parts: each names its students.

    Example: clampbook handouts week-3
    """
    opened = opened_set(folder, passphrase)
    with progress() as show:
        made = paper(opened, show, workers)
    names = [path.relative_to(folder).as_posix() for path in made.written]
    if as_json:
        print_json({"written": names, "pdf": made.is_printed})
    tell(f"Wrote {len(names)} files into {folder}.")
    if not made.is_printed:
        tell(NO_PDF)
