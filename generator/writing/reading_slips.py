"""The instructor's slips: each reading under its code, and the empty answer table."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from answer_keys.typed_answers import COLUMNS
from generator.writing.handouts import ORDERS
from generator.writing.printing import page_text

if TYPE_CHECKING:
    from generator.writing.reading_codes import Place

__all__ = ["empty_table", "slips_text"]

Record = Mapping[str, Any]


def slips_text(
    set_id: str, records: Sequence[Record], codes: Mapping[Place, str]
) -> str:
    """Write all readings of a class, sorted by code: to look up, or to cut.

    Parameters
    ----------
    set_id : str
    records : sequence of mapping
        Key records.
    codes : mapping
        As `reading_codes` gives them.
    """
    slips = sorted(
        (codes[record["student"], record["exercise"], test["id"]], test["display"])
        for record in records
        for test in record["tests"]
    )
    return page_text("slips.html.j2", set_id=set_id, slips=slips)


def empty_table(set_id: str, records: Sequence[Record]) -> str:
    """Write the table for typed answers with nothing answered yet.

    Each exercise has a row a prediction, the rows of the order form, conclusion and
    verification; a row that stays without an answer is left out.
    """
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(COLUMNS)
    for record in records:
        steps = [
            *(("prediction", n) for n in range(1, len(record["predictions"]) + 1)),
            *(("test", ""), ("finding", "")) * ORDERS,
            ("conclusion", ""),
            ("verification", ""),
        ]
        place = (set_id, record["student"], record["exercise"])
        writer.writerows((*place, step, item, "", "") for step, item in steps)
    return file.getvalue()
