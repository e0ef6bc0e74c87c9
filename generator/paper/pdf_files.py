"""Pages that are written, printed to PDF on all processors."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from pathlib import Path

from answer_keys.headway import Progress
from answer_keys.own_command import extra_hint
from answer_keys.written_files import PRIVATE, write_private, write_whole
from generator.paper.printing import pdf_bytes

NO_PDF = (
    "No PDF was written: WeasyPrint, or Pango, which it needs, is not there. Print the "
    f"HTML pages from a browser, or {extra_hint('print')}"
)
"""What is said where the printing library is missing."""


def print_pages(written: Sequence[Path], tell: Progress) -> list[Path]:
    """Print the pages among some files to PDF; gives the files that are new."""
    pages = [path for path in written if path.suffix == ".html"]
    printed = [path.with_suffix(".pdf") for path in pages]
    # The longest pages come last: started first, nothing waits for them in the end.
    jobs = list(zip(pages, printed, strict=True))[::-1]
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        waiting = [pool.submit(_print, *job) for job in jobs]
        for number, job in enumerate(as_completed(waiting), start=1):
            job.result()
            tell("printing", number, len(jobs))
    return printed


def _print(page: Path, printed: Path) -> None:
    """Print a page; who may not read it may not read what is printed either."""
    is_private = page.stat().st_mode & 0o777 == PRIVATE
    write = write_private if is_private else write_whole
    write(printed, pdf_bytes(page.read_text(encoding="utf-8")))
