"""Pages that are written, printed to PDF on all processors."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from answer_keys.headway import Progress
from answer_keys.own_command import extra_hint
from answer_keys.written_files import PRIVATE, write_private, write_whole
from generator.paper.printing import pdf_bytes
from generator.workers import each_of, processes_for

NO_PDF = (
    "No PDF was written: WeasyPrint, or Pango, which it needs, is not there. Print the "
    f"HTML pages from a browser, or {extra_hint('print')}"
)
"""What is said where the printing library is missing."""


# A process takes about a second to begin, and as long to print a page or two.
_PAGES_EACH = 2


def print_pages(
    written: Sequence[Path], tell: Progress, workers: int | None = None
) -> list[Path]:
    """Print the pages among some files to PDF; gives the files that are new."""
    pages = [path for path in written if path.suffix == ".html"]
    # The longest pages come last: started first, nothing waits for them in the end.
    processes = processes_for(workers, len(pages), _PAGES_EACH)
    with closing(each_of(_print, pages[::-1], processes)) as printed:
        for number, _ in enumerate(printed, start=1):
            tell("printing", number, len(pages))
    return [page.with_suffix(".pdf") for page in pages]


def _print(page: Path) -> None:
    """Print a page; who may not read it may not read what is printed either."""
    # Guide and slips are their instructor's alone, handouts are not.
    is_private = page.stat().st_mode & 0o777 == PRIVATE
    write = write_private if is_private else write_whole
    write(page.with_suffix(".pdf"), pdf_bytes(page.read_text(encoding="utf-8")))
