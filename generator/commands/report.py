"""``clampbook report``: the class report and the sheets, from the gradebook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from answer_keys.gradebook import Gradebook
from answer_keys.interchange.formats import FORMATS, Export, Wishes
from answer_keys.key_record import answer_key_from_content
from answer_keys.report import new_report, report_figures
from answer_keys.reporting import class_in, write_reports, write_whole
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
    from collections.abc import Iterable

    from answer_keys.results import ClassResult

__all__ = ["class_result", "report"]


class _FormatAndFile(click.ParamType[tuple[str, Path]]):
    """A format and the file to write in it."""

    name = "FORMAT=FILE"

    def convert(
        self, value: str, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, Path]:
        name, sign, file = value.partition("=")
        if name not in FORMATS or not sign or not file:
            allowed = ", ".join(f"{each}=FILE" for each in FORMATS)
            self.fail(f"{value!r}; allowed are {allowed}", param, ctx)
        return name, Path(file)


@click.command()
@set_argument
@click.option(
    "--write",
    "wanted",
    multiple=True,
    type=_FormatAndFile(),
    help="Write the marks for another program too: csv, xlsx, or column, which fills "
    "one column of a CSV of your own and leaves all else in it as it is.",
)
@click.option(
    "--decimal",
    type=click.Choice(["point", "comma"]),
    default="point",
    show_default=True,
    help="The sign before decimals, in csv and column.",
)
@click.option("--column", metavar="NAME", help="The column to fill.")
@click.option(
    "--id-column",
    metavar="NAME",
    default="id",
    show_default=True,
    help="The column that tells the students there.",
)
@passphrase_option
@json_option
def report(
    folder: Path,
    wanted: tuple[tuple[str, Path], ...],
    passphrase: str | None,
    as_json: bool,
    **wishes: Any,  # noqa: ANN401 - click's
) -> None:
    """Write class report, sheets and CSV again from the gradebook; nothing is graded.

    Example: clampbook report week-3 --write xlsx=marks.xlsx
    """
    _check_wishes(wanted, wishes)
    class_set = read_class_set(folder)
    result = class_result(class_set, passphrase)
    exports = _exports(result, wanted, wishes)
    figures = new_report(result)
    with progress() as tell:
        written = write_reports(figures, class_set.results, tell)
    for path, export in exports.items():
        write_whole(path, export.data)
        for note in export.notes:
            say.print(f"{path}: {note}")
    if as_json:
        also = [str(path) for path in exports]
        print_json({**report_figures(figures), "written": written, "exports": also})
    say.print(
        f"Reported on {len(result.graded)} of {len(result.students)} students. "
        f"Open {class_set.results / 'class-report.html'}"
    )


def _check_wishes(
    wanted: Iterable[tuple[str, Path]], wishes: dict[str, str | None]
) -> None:
    if "column" in dict(wanted) and not wishes["column"]:
        text = "column=FILE needs --column NAME, the column to fill"
        raise click.UsageError(text)


def _exports(
    result: ClassResult,
    wanted: Iterable[tuple[str, Path]],
    wishes: dict[str, Any],
) -> dict[Path, Export]:
    """Make all files before any is written, so that a fault leaves none."""
    given = Wishes(**{name: wish for name, wish in wishes.items() if wish})
    return {path: FORMATS[name](result, given, path) for name, path in wanted}


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
