"""The class report with its figures, and results for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from answer_keys.gradebook.results import ClassResult
from answer_keys.headway import Progress
from answer_keys.interchange.formats import FORMATS, Export, Wishes
from answer_keys.interchange.marks_files import Decimal
from answer_keys.interchange.xapi import Accounts
from answer_keys.marking.rubric import read_rubric
from answer_keys.reports.report import (
    SHEETS_EACH,
    Report,
    class_results,
    new_report,
    write_reports,
)
from answer_keys.written_files import write_private
from generator.drawing.stream import Stream
from generator.paper.pdf_files import print_pages
from generator.paper.printing import can_print
from generator.sets.class_set import ClassSet
from generator.sets.graded_set import class_result, open_gradebook
from generator.week.opened import OpenedSet
from generator.week.overview import heading_of
from generator.workers import Sharing

NO_HOME_PAGE = "https://example.invalid"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Results that another program is to read.

    Attributes
    ----------
    format : str
        One of `answer_keys.interchange.formats.FORMATS`.
    file : pathlib.Path
        For ``column`` the instructor's own table, of which one column is filled.
    decimal : {"point", "comma"}
    column, id_column : str
        Of that table: what is filled, and what tells the students.
    home_page : str
        Address of the system whose accounts the students have, for ``xapi``.
    has_names : bool
        Whether names and ids stand in ``xapi``; codes otherwise.
    """

    format: str
    file: Path
    decimal: Decimal = "point"
    column: str = ""
    id_column: str = "id"
    home_page: str = NO_HOME_PAGE
    has_names: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Reported:
    """A report that was written.

    Attributes
    ----------
    figures : Report
        With the class's results in it.
    written : tuple of str
        Files among the set's results.
    exports : tuple of (Wanted, Export)
        What was written for other programs.
    """

    figures: Report
    written: tuple[str, ...]
    exports: tuple[tuple[Wanted, Export], ...] = ()


def result_of(opened: OpenedSet) -> ClassResult:
    """Give what a class has been given; raises where nothing was graded yet."""
    return class_result(opened.class_set, opened.key, opened.gradebook)


def report(
    opened: OpenedSet,
    wanted: Sequence[Wanted] = (),
    tell: Progress = lambda *_: None,
    *,
    is_printed: bool = False,
    workers: int | None = None,
) -> Reported:
    """Write report, sheets and tables from the gradebook; nothing is graded.

    Parameters
    ----------
    wanted : sequence of Wanted
        Written where all of them can be made.
    is_printed : bool
        Print the sheets to PDF too, where that can be.
    workers : int or None
        Processes that write sheets; None is as many as are worth their start here.

    Raises
    ------
    ClassSetError, GradebookError
        Where nothing was graded, or the gradebook cannot be read.
    ExportError
        Where results do not fit a format or a table.
    """
    class_set, key = opened.class_set, opened.key
    with open_gradebook(class_set, opened.gradebook) as book:
        for result in class_results(book, key, class_set.roster):
            exports = tuple((one, export(opened, result, one)) for one in wanted)
            figures = new_report(result)
            share = Sharing(workers, SHEETS_EACH)
            written = write_reports(
                figures, key, class_set.results, tell, share, heading_of(class_set)
            )
            if is_printed and can_print():
                written += _printed(class_set, written, tell, workers)
            for one, made in exports:
                write_private(one.file, made.data)
    return Reported(figures=figures, written=tuple(written), exports=exports)


def _printed(
    class_set: ClassSet, written: Sequence[str], tell: Progress, workers: int | None
) -> list[str]:
    results = class_set.results
    sheets = [results / name for name in written if name.startswith("sheets/")]
    printed = print_pages(sheets, tell, workers)
    return [path.relative_to(results).as_posix() for path in printed]


def export(opened: OpenedSet, result: ClassResult, wanted: Wanted) -> Export:
    """Make results for another program; nothing is written.

    Raises
    ------
    ExportError
        Where they do not fit the format, or the table.
    """
    class_set = opened.class_set
    wishes = Wishes(
        decimal=wanted.decimal,
        column=wanted.column,
        id_column=wanted.id_column,
        school_class=class_set.request.school_class,
        assigned=_made_on(class_set),
        due=_due_on(class_set),
        accounts=_accounts(opened, wanted),
    )
    return FORMATS[wanted.format].write(result, wishes, wanted.file)


def _made_on(class_set: ClassSet) -> date:
    """The day of the key: it is written with the set and never after."""
    return datetime.fromtimestamp(class_set.key_file.stat().st_mtime, UTC).date()


def _due_on(class_set: ClassSet) -> date | None:
    """The day of the deadline, as it is called on this machine."""
    deadline = read_rubric(class_set.rubric_file).policy.deadline
    return None if deadline is None else deadline.astimezone().date()


def _accounts(opened: OpenedSet, wanted: Wanted) -> Accounts:
    """Codes that only the class secret can make again, or ids beside names."""
    ids = [student.id for student in opened.class_set.request.students]
    secret = opened.secret.value
    streams = {id_: Stream(secret, "account", id_) for id_ in ids}
    # 128 bits: no two alike, and nobody finds one by trying.
    codes = {id_: f"{one.integer(1 << 128):032x}" for id_, one in streams.items()}
    if wanted.has_names:
        codes = {id_: id_ for id_ in ids}
    return Accounts(home_page=wanted.home_page, codes=codes, has_names=wanted.has_names)
