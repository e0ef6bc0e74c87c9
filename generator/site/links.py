"""The links of a class: one a student, for the instructor to give out."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from answer_keys.interchange.marks_files import guarded
from answer_keys.visible_text import name_text
from answer_keys.written_files import write_private


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Where one student opens the workbook: the whole address."""

    student: str
    name: str
    address: str


def write_links(path: Path, links: Sequence[Link]) -> None:
    """Write links as CSV with the columns id, name and link, for their owner to read.

    Whoever has a student's link opens the workbook.
    """
    text = io.StringIO(newline="")
    table = csv.writer(text)
    table.writerow(["id", "name", "link"])
    table.writerows(
        [guarded(link.student), guarded(name_text(link.name)), link.address]
        for link in links
    )
    # The mark at the beginning tells spreadsheets that it is UTF-8.
    write_private(path, text.getvalue().encode("utf-8-sig"))
