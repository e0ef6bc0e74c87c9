"""The links of a class: one a student, for the instructor to give out."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

__all__ = ["Link", "write_links"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Where one student opens the workbook: the whole address."""

    student: str
    name: str
    address: str


def write_links(path: Path, links: Sequence[Link]) -> None:
    """Write links as CSV with the columns id, name and link."""
    # The mark at the beginning tells spreadsheets that it is UTF-8.
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        table = csv.writer(file)
        table.writerow(["id", "name", "link"])
        table.writerows([link.student, link.name, link.address] for link in links)
