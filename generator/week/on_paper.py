"""A set on paper: handouts, reading slips, guides, and tables to type answers into."""

from __future__ import annotations

from collections.abc import Generator, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from answer_keys.hand_ins.typed_table import empty_table
from answer_keys.headway import Progress
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.written_files import write_private, write_whole
from generator.paper.guide import guide_text
from generator.paper.handouts import ORDERS, handout_text
from generator.paper.pdf_files import print_pages
from generator.paper.printing import can_print
from generator.paper.slips import Place, Slip, reading_codes, slips_of, slips_text
from generator.sets.paper_parts import PaperPart, paper_parts
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

    A large class has slips, guide and table in parts, of so many students each that
    memory stays flat.

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
    """Write every page and table of a set, one after the other."""
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
    """Give every page of a set and its tables, one after the other.

    Of no more students than a part has is anything held.
    """
    class_set, key = opened.class_set, opened.key
    codes = reading_codes(opened.secret.value, key.exercises)
    spoken = class_set.request.language
    again = redrawn(class_set, opened.secret)
    write = _Handouts(again=again, codes=codes, language=spoken)
    ids = [student.id for student in class_set.request.students]
    written = each_of(write, ids, student_processes(class_set.request, workers))
    done = 0
    for part in paper_parts(class_set):
        slips = list[Slip]()
        for student, text, own_slips in islice(written, len(part.students)):
            slips += own_slips
            yield class_set.handout_file(student), text
            done += 1
            tell("handouts", done, len(ids))
        with speaking(spoken):
            text = slips_text(class_set.set_id, slips, codes, part.span)
        yield part.slips_file, text
        yield from _for_instructor(key, part)


def _for_instructor(key: AnswerKey, part: PaperPart) -> Iterator[tuple[Path, str]]:
    """Give the table and the guide of some students."""
    names = {student.id: student.name for student in part.students}
    records = (one for id_ in names for one in key.of_student(id_).values())
    yield part.table_file, empty_table(key.set_id, records, ORDERS)
    with speaking(key.language):
        guide = guide_text(key, names, part.span)
    yield part.guide_file, guide
