"""``clampbook report``: the class report and the sheets, from the gradebook."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import click

from answer_keys.gradebook.results import ClassResult
from answer_keys.interchange.formats import FORMATS, Export, Wishes
from answer_keys.interchange.xapi import Accounts, is_home_page
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.marking.rubric import read_rubric
from answer_keys.reports.report import (
    Report,
    class_results,
    new_report,
    report_figures,
    write_reports,
)
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
from generator.commands.pdf import NO_PDF, print_pages
from generator.drawing.stream import Stream
from generator.paper.printing import can_print
from generator.sets.class_set import ClassSet, open_key, read_class_set
from generator.sets.graded_set import open_gradebook


class _FormatAndFile(click.ParamType[tuple[str, Path]]):
    """A format and the file to write in it."""

    name = "FORMAT=FILE"

    def convert(
        self, value: str, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, Path]:
        name, sign, file = value.partition("=")
        if name not in FORMATS or not sign or not file:
            known = ", ".join(f"{each}=FILE" for each in FORMATS)
            self.fail(f"{value!r} is no format and file. Write {known}.", param, ctx)
        return name, Path(file)


def _home_page(_: click.Context, parameter: click.Parameter, text: str) -> str:
    if not is_home_page(text):
        raise click.BadParameter(
            f"{text!r} is no address. Write one such as https://school.example.",
            param=parameter,
        )
    return text


@click.command()
@set_argument
@click.option(
    "--write",
    "wanted",
    multiple=True,
    type=_FormatAndFile(),
    help="Write the marks for another program too: csv or xlsx for a spreadsheet; "
    "column, which fills one column of a CSV of your own and leaves all else in it as "
    "it is; oneroster for a school's information system; xapi for a learning record "
    "store.",
)
@click.option(
    "--decimal",
    type=click.Choice(["point", "comma"]),
    default="point",
    show_default=True,
    help="Point or comma before decimals, in csv and column.",
)
@click.option("--column", metavar="NAME", help="The column to fill.")
@click.option(
    "--id-column",
    metavar="NAME",
    default="id",
    show_default=True,
    help="The column that tells the students there.",
)
@click.option(
    "--home-page",
    default="https://example.invalid",
    show_default=True,
    callback=_home_page,
    help="Address of the system whose accounts the students have, for xapi.",
)
@click.option(
    "--names",
    is_flag=True,
    help="Put names and ids into xapi; without it students are codes there.",
)
@click.option(
    "--pdf",
    is_flag=True,
    help="Print the students' sheets to PDF too; needs the extra print.",
)
@gradebook_option
@passphrase_option
@json_option
def report(
    folder: Path,
    wanted: tuple[tuple[str, Path], ...],
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - click's
) -> None:
    """Write class report, sheets and CSV again from the gradebook; nothing is graded.

    Example: clampbook report week-3 --write xlsx=marks.xlsx
    """
    if "column" in dict(wanted) and not asked["column"]:
        text = "column=FILE needs --column NAME, the column to fill"
        raise click.UsageError(text)
    class_set = read_class_set(folder)
    secret, key = open_key(class_set, asked["passphrase"])
    asked["accounts"] = _accounts(class_set, secret, asked)
    with open_gradebook(class_set, asked["gradebook"]) as book:
        for result in class_results(book, key, class_set.roster):
            exports = _exports(class_set, result, wanted, asked)
            figures = new_report(result)
            written = _written(class_set, key, figures, is_printed=asked["pdf"])
            for path, export in exports.items():
                write_private(path, export.data)
    for path, export in exports.items():
        say.print(f"Wrote {path}.")
        for note in export.notes:
            say.print(f"{path}: {note}")
    if as_json:
        also = [str(path) for path in exports]
        print_json({**report_figures(figures), "written": written, "exports": also})
    if asked["pdf"] and not can_print():
        say.print(NO_PDF)
    say.print(
        f"Reported on {len(result.graded)} of {len(result.students)} students. "
        f"Open {class_set.results / 'class-report.html'}"
    )


def _written(
    class_set: ClassSet, key: AnswerKey, figures: Report, *, is_printed: bool
) -> list[str]:
    """Write the pages, to PDF too where that is asked for and can be."""
    with progress() as tell:
        written = write_reports(figures, key, class_set.results, tell)
        if is_printed and can_print():
            sheets = [name for name in written if name.startswith("sheets/")]
            pages = [class_set.results / name for name in sheets]
            printed = print_pages(pages, tell)
            written += [p.relative_to(class_set.results).as_posix() for p in printed]
    return written


def _exports(
    class_set: ClassSet,
    result: ClassResult,
    wanted: tuple[tuple[str, Path], ...],
    asked: dict[str, Any],
) -> dict[Path, Export]:
    """Make all files before any is written, so that a fault leaves none."""
    wishes = Wishes(
        decimal=asked["decimal"],
        column=asked["column"] or "",
        id_column=asked["id_column"],
        school_class=class_set.request.school_class,
        assigned=_made_on(class_set),
        due=_due_on(class_set),
        accounts=asked["accounts"],
    )
    return {path: FORMATS[name](result, wishes, path) for name, path in wanted}


def _made_on(class_set: ClassSet) -> date:
    """The day of the key: it is written with the set and never after."""
    return datetime.fromtimestamp(class_set.key_file.stat().st_mtime, UTC).date()


def _due_on(class_set: ClassSet) -> date | None:
    """The day of the deadline, as it is called on this machine."""
    deadline = read_rubric(class_set.rubric_file).policy.deadline
    return None if deadline is None else deadline.astimezone().date()


def _accounts(
    class_set: ClassSet, secret: ClassSecret, asked: dict[str, Any]
) -> Accounts:
    """Codes that only the class secret can make again, or ids beside names."""
    ids = [student.id for student in class_set.request.students]
    streams = {id_: Stream(secret.value, "account", id_) for id_ in ids}
    codes = {id_: f"{one.integer(1 << 128):032x}" for id_, one in streams.items()}
    if asked["names"]:
        codes = {id_: id_ for id_ in ids}
    return Accounts(home_page=asked["home_page"], codes=codes, has_names=asked["names"])
