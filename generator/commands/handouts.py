"""``clampbook handouts``: a class set on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import click

from answer_keys.key_record import answer_key_from_content
from generator.commands.console import (
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
)
from generator.writing.class_set import (
    ClassSet,
    open_key,
    read_class_set,
    rebuilt_workbooks,
)
from generator.writing.handouts import handout_text
from generator.writing.printing import pdf_bytes
from generator.writing.reading_codes import reading_codes
from generator.writing.reading_slips import empty_table, slips_text
from generator.writing.teachers_guide import guide_text

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["handouts"]

Progress = Callable[[str, int, int], None]


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
    written, without_pdf = list[str](), False
    with progress() as tell:
        for path, text in _pages(class_set, passphrase, tell):
            _write(path, text.encode())
            written.append(path.relative_to(folder).as_posix())
            if path.suffix != ".html":
                continue
            pdf = pdf_bytes(text)
            without_pdf = without_pdf or pdf is None
            if pdf is not None:
                _write(path.with_suffix(".pdf"), pdf)
                written.append(path.with_suffix(".pdf").relative_to(folder).as_posix())
    if as_json:
        print_json({"written": written, "pdf": not without_pdf})
    say.print(f"Wrote {len(written)} files into {folder}.")
    if without_pdf:
        say.print(
            "No PDF was written: WeasyPrint with Pango is not there. Install it with "
            "pip install 'clampbook[print]', or print the HTML pages from a browser."
        )


def _write(path: Path, data: bytes) -> None:
    """Write a file that appears whole or not at all."""
    draft = path.with_name(path.name + ".part")
    draft.write_bytes(data)
    draft.replace(path)


def _pages(
    class_set: ClassSet, passphrase: str | None, tell: Progress
) -> Iterator[tuple[Path, str]]:
    """Write every page of a set, one after the other."""
    secret, content = open_key(class_set, passphrase)
    # Readings are ordered in a diagnosis only, not where questions are asked.
    records = [one for one in content["exercises"] if not one.get("questions")]
    codes = reading_codes(secret.value, records)
    students = class_set.request.students
    for number, workbook in enumerate(rebuilt_workbooks(class_set, secret), start=1):
        place = class_set.workbook_file(workbook.student).parent
        yield place / "handout.html", handout_text(workbook, codes)
        tell("writing handouts", number, len(students))
    own = class_set.folder / "for-instructor"
    yield own / "reading-slips.html", slips_text(class_set.set_id, records, codes)
    yield own / "typed-answers.csv", empty_table(class_set.set_id, records)
    titles = {(r["student"], r["exercise"]): r["title"] for r in content["exercises"]}
    names = {student.id: student.name for student in students}
    key = answer_key_from_content(content)
    yield own / "teachers-guide.html", guide_text(key, titles, names)
