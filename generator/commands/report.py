"""``clampbook report``: the class report and the sheets, from the gradebook."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from answer_keys.interchange.formats import FORMATS
from answer_keys.interchange.xapi import is_home_page
from answer_keys.reports.report import report_figures
from answer_keys.reports.training import training_figures
from generator.commands.console import (
    gradebook_option,
    json_option,
    passphrase_option,
    print_json,
    progress,
    sets_argument,
    tell,
    workers_option,
)
from generator.paper.pdf_files import NO_PDF
from generator.paper.printing import can_print
from generator.week.opened import opened_set
from generator.week.reporting import NO_HOME_PAGE, Wanted
from generator.week.reporting import report as write_report
from generator.week.training import sets_below, train


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
@sets_argument
@click.option(
    "--training",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Only write into a folder what all these sets tell together: a page for the "
    "head of training, and difficulty.json, which generate draws by. A folder that "
    "holds sets stands for all of them.",
)
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
    default=NO_HOME_PAGE,
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
@workers_option
@passphrase_option
@json_option
def report(
    folders: tuple[Path, ...],
    wanted: tuple[tuple[str, Path], ...],
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - click's
) -> None:
    """Write class report, sheets and CSV again from the gradebook; nothing is graded.

    With --training, of many sets together: what was hard, in which loads a fault is
    unequally hard, and which misconceptions are spread over the classes.

    Example: clampbook report week-3 --write xlsx=marks.xlsx
    """
    if asked["training"] is not None:
        if wanted or asked["pdf"]:
            text = "--training goes with neither --write nor --pdf. Leave these out."
            raise click.UsageError(text)
        _train(folders, asked, as_json=as_json)
        return
    if len(folders) > 1:
        raise click.UsageError(
            f"{len(folders)} sets are named. Name one, or give --training FOLDER for a "
            "page on all of them."
        )
    (folder,) = folders
    if "column" in dict(wanted) and not asked["column"]:
        text = "column=FILE needs --column NAME, the column to fill"
        raise click.UsageError(text)
    opened = opened_set(folder, asked["passphrase"], asked["gradebook"])
    exports = [_wanted(name, path, asked) for name, path in wanted]
    with progress() as show:
        made = write_report(
            opened,
            exports,
            show,
            is_printed=asked["pdf"],
            workers=asked["workers"],
        )
    for one, export in made.exports:
        tell(f"Wrote {one.file}.")
        for note in export.notes:
            tell(f"{one.file}: {note}")
    if as_json:
        also = [str(path) for _, path in wanted]
        figures = report_figures(made.figures)
        print_json({**figures, "written": made.written, "exports": also})
    if asked["pdf"] and not can_print():
        tell(NO_PDF)
    result, results = made.figures.result, opened.class_set.results
    tell(
        f"Reported on {len(result.graded)} of {len(result.students)} students. "
        f"Open {results / 'class-report.html'}"
    )


def _train(folders: tuple[Path, ...], asked: dict[str, Any], *, as_json: bool) -> None:
    """Write what many sets tell together."""
    sets = [
        opened_set(folder, asked["passphrase"], asked["gradebook"])
        for folder in sets_below(folders)
    ]
    with progress() as show:
        made = train(sets, asked["training"], show)
    if as_json:
        written = [str(path) for path in (made.page, made.difficulty) if path]
        print_json({**training_figures(made.view), "written": written})
    if made.difficulty is None:
        tell("There is too little yet to tell how hard anything is.")
    count = len(made.view.classes)
    tell(f"Reported on {count} of {len(sets)} classes. Open {made.page}")


def _wanted(name: str, path: Path, asked: dict[str, Any]) -> Wanted:
    return Wanted(
        format=name,
        file=path,
        decimal=asked["decimal"],
        column=asked["column"] or "",
        id_column=asked["id_column"],
        home_page=asked["home_page"],
        has_names=asked["names"],
    )
