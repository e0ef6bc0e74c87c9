"""``clampbook report``: the class report and the sheets, from the gradebook."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from answer_keys.gradebook import Gradebook
from answer_keys.key_record import answer_key_from_content
from answer_keys.reporting import class_in, write_reports
from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
)
from generator.writing.class_set import ClassSet, open_key, read_class_set
from generator.writing.errors import ClassSetError

if TYPE_CHECKING:
    from pathlib import Path

    from answer_keys.results import ClassResult

__all__ = ["class_result", "report"]


@click.command()
@set_argument
@passphrase_option
@json_option
def report(folder: Path, passphrase: str | None, as_json: bool) -> None:
    """Write class report, sheets and CSV again from the gradebook; nothing is graded.

    Example: clampbook report week-3
    """
    class_set = read_class_set(folder)
    result = class_result(class_set, passphrase)
    with progress() as tell:
        written = write_reports(result, class_set.results, tell)
    if as_json:
        print_json({"set_id": result.set_id, "written": written})
    say.print(
        f"Reported on {len(result.graded)} of {len(result.students)} students. "
        f"Open {class_set.results / 'class-report.html'}"
    )


def class_result(class_set: ClassSet, passphrase: str | None) -> ClassResult:
    """Read from the gradebook what a class has been given.

    Raises
    ------
    ClassSetError
        Where nothing was graded yet.
    """
    _, content = open_key(class_set, passphrase)
    if not class_set.gradebook_file.is_file():
        raise ClassSetError(
            class_set.folder,
            "has no gradebook yet; allowed is a set that 'clampbook grade' has graded",
        )
    roster = [(student.id, student.name) for student in class_set.request.students]
    with Gradebook(class_set.gradebook_file) as gradebook:
        return class_in(gradebook, answer_key_from_content(content), roster)
