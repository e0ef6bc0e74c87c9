"""A set on paper: handouts, reading slips, guide, and a table to type answers into."""

from __future__ import annotations

from collections.abc import Generator, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from answer_keys.hand_ins.typed_table import empty_table
from answer_keys.headway import Progress
from answer_keys.written_files import write_private, write_whole
from generator.paper.guide import guide_text
from generator.paper.handouts import ORDERS, handout_text
from generator.paper.pdf_files import print_pages
from generator.paper.printing import can_print
from generator.paper.slips import Place, Slip, reading_codes, slips_of, slips_text
from generator.sets.set_writing import redrawn, student_processes
from generator.week.opened import OpenedSet
from generator.workbooks.class_workbooks import ClassWorkbooks
from generator.workers import each_of
from workbook.texts import speaking


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A set on paper: the files, and whether they were printed to PDF too."""

    written: tuple[Path, ...]
    is_printed: bool


def paper(
    opened: OpenedSet,
    tell: Progress = lambda *_: None,
    workers: int | None = None,
) -> Paper:
    """Write handouts, reading slips, guide and an empty table for typed answers.

    Parameters
    ----------
    workers : int or None
        Processes that write; None is as many as are worth their start here.
    """
    pages = list(_written_pages(opened, tell, workers))
    is_printed = can_print()
    printed = print_pages(pages, tell, workers) if is_printed else []
    return Paper(written=(*pages, *printed), is_printed=is_printed)


def _written_pages(
    opened: OpenedSet, tell: Progress, workers: int | None
) -> Iterator[Path]:
    """Write every page and the table of a set, one after the other."""
    with closing(_pages(opened, tell, workers)) as pages:
        for path, text in pages:
            # What lies beside the secret is for the instructor's eyes alone.
            is_own = path.parent == opened.class_set.secret_file.parent
            (write_private if is_own else write_whole)(path, text.encode())
            yield path


@dataclass(frozen=True, slots=True, kw_only=True)
class _Handouts:
    """Writes each student's handout by itself; goes to other processes whole."""

    again: ClassWorkbooks
    codes: Mapping[Place, str]
    language: str

    def __call__(self, student: str) -> tuple[str, str, list[Slip]]:
        workbook = self.again.of(student)
        with speaking(self.language):
            return student, handout_text(workbook, self.codes), slips_of(workbook)


def _pages(
    opened: OpenedSet, tell: Progress, workers: int | None
) -> Generator[tuple[Path, str], None, None]:
    """Give every page of a set and the table, one after the other."""
    class_set, key = opened.class_set, opened.key
    codes = reading_codes(opened.secret.value, key.exercises)
    students, slips = class_set.request.students, list[Slip]()
    spoken = class_set.request.language
    again = redrawn(class_set, opened.secret)
    write = _Handouts(again=again, codes=codes, language=spoken)
    processes = student_processes(class_set.request, workers)
    written = each_of(write, [student.id for student in students], processes)
    for number, (student, text, own_slips) in enumerate(written, start=1):
        slips += own_slips
        yield class_set.handout_file(student), text
        tell("handouts", number, len(students))
    with speaking(spoken):
        text = slips_text(class_set.set_id, slips, codes)
    yield class_set.slips_file, text
    own = class_set.secret_file.parent
    yield own / "typed-answers.csv", empty_table(key.set_id, key.exercises, ORDERS)
    names = {student.id: student.name for student in students}
    with speaking(key.language):
        guide = guide_text(key, names)
    yield own / "teachers-guide.html", guide
