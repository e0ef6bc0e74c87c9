"""``clampbook handouts``: a class set on paper."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from answer_keys.hand_ins.typed_table import empty_table
from answer_keys.headway import Progress
from answer_keys.written_files import write_private, write_whole
from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
)
from generator.commands.pdf import NO_PDF, print_pages
from generator.paper.guide import guide_text
from generator.paper.handouts import ORDERS, handout_text
from generator.paper.printing import can_print
from generator.paper.slips import Slip, reading_codes, slips_of, slips_text
from generator.sets.class_set import ClassSet, open_key, read_class_set
from generator.sets.set_writing import rebuilt_workbooks
from workbook.texts import speaking


@click.command()
@set_argument
@passphrase_option
@json_option
def handouts(folder: Path, passphrase: str | None, as_json: bool) -> None:
    """Write a set for a shop without computers: handouts, reading slips, guide.

    Each student gets a handout to print. The instructor gets the reading slips by
    code, the teacher's guide, and an empty table to type answers into: put it into
    handed-in/ and grade.

    Example: clampbook handouts week-3
    """
    class_set = read_class_set(folder)
    is_printed = can_print()
    with progress() as tell:
        pages = list(_written_pages(class_set, passphrase, tell))
        printed = print_pages(pages, tell) if is_printed else []
    names = [path.relative_to(folder).as_posix() for path in (*pages, *printed)]
    if as_json:
        print_json({"written": names, "pdf": is_printed})
    say.print(f"Wrote {len(names)} files into {folder}.")
    if not is_printed:
        say.print(NO_PDF)


def _written_pages(
    class_set: ClassSet, passphrase: str | None, tell: Progress
) -> Iterator[Path]:
    """Write every page and the table of a set, one after the other."""
    for path, text in _pages(class_set, passphrase, tell):
        is_own = path.parent == class_set.secret_file.parent
        (write_private if is_own else write_whole)(path, text.encode())
        yield path


def _pages(
    class_set: ClassSet, passphrase: str | None, tell: Progress
) -> Iterator[tuple[Path, str]]:
    """Give every page of a set and the table, one after the other."""
    secret, key = open_key(class_set, passphrase)
    codes = reading_codes(secret.value, key.exercises)
    students, slips = class_set.request.students, list[Slip]()
    spoken = class_set.request.language
    workbooks = rebuilt_workbooks(class_set, secret)
    for number, workbook in enumerate(workbooks, start=1):
        with speaking(spoken):
            slips += slips_of(workbook)
            text = handout_text(workbook, codes)
        yield class_set.handout_file(workbook.student), text
        tell("writing handouts", number, len(students))
    with speaking(spoken):
        text = slips_text(class_set.set_id, slips, codes)
    yield class_set.slips_file, text
    own = class_set.folder / "for-instructor"
    yield own / "typed-answers.csv", empty_table(key, ORDERS)
    names = {student.id: student.name for student in students}
    yield own / "teachers-guide.html", guide_text(key, names)
