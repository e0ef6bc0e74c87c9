"""One page for the whole school, and the same as JSON: classes, and nobody's name."""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from answer_keys.reports.pages import written_page
from answer_keys.written_files import write_private
from generator.classes.plan import Plan
from generator.classes.rows import Row
from workbook.texts import _, ngettext, speaking

_NAME = "school-report.html"


def write_school_report(plan: Plan, rows: Sequence[Row]) -> Path:
    """Write the page into the folder of the school, for its owner's eyes alone."""
    path = plan.folder / _NAME
    with speaking(plan.language):
        write_private(path, _page(plan, rows).encode())
    return path


def _page(plan: Plan, rows: Sequence[Row]) -> str:
    figures = [row.figures for row in rows if row.figures]
    medians = [one.median for one in figures if one.median is not None]
    weakest = Counter(one.weakest_step for one in figures if one.weakest_step)
    return written_page(
        "school.html.j2",
        title=plan.title,
        rows=sorted(rows, key=_lowest_first),
        failed=[row for row in rows if row.has_failed],
        sets=sum(row.drawn in {"written", "there"} for row in rows),
        students=sum(len(row.planned.request.students) for row in rows),
        graded=sum(one.graded for one in figures),
        needs_help=sum(one.needs_help for one in figures),
        medians=medians,
        median=statistics.median(medians) if medians else None,
        weakest=next(iter(weakest.most_common(1)), None),
        todo=_to_do,
        modes={
            "practice": _("Practice"),
            "graded": _("Graded"),
            "examination": _("Examination"),
        },
    )


def _lowest_first(row: Row) -> float:
    has_median = row.figures is not None and row.figures.median is not None
    return row.figures.median if has_median else math.inf  # type: ignore[union-attr, return-value]


def _to_do(row: Row) -> list[str]:
    """Say what an instructor still has to do for a class, in the language spoken."""
    todo = list[str]()
    if row.has_failed:
        todo.append(_("see above"))
    if row.drawn == "left out":
        todo.append(_("no set: {reason}").format(reason=row.fault))
    if row.graded == "no hand-ins":
        todo.append(_("nothing handed in yet"))
    if row.figures is not None:
        counts = (
            (
                row.figures.undecided,
                ngettext(
                    "choose the hand-in of {count} student",
                    "choose the hand-in of {count} students",
                    row.figures.undecided,
                ),
            ),
            (
                row.figures.refused,
                ngettext(
                    "{count} file was refused",
                    "{count} files were refused",
                    row.figures.refused,
                ),
            ),
            (
                row.figures.unread,
                ngettext(
                    "{count} file was not read",
                    "{count} files were not read",
                    row.figures.unread,
                ),
            ),
        )
        todo += [text.format(count=count) for count, text in counts if count]
    return todo


def summary(plan: Plan, rows: Sequence[Row]) -> dict[str, Any]:
    """Return all of it as JSON can hold it."""
    return {
        "title": plan.title,
        "folder": str(plan.folder),
        "report": str(plan.folder / _NAME),
        "classes": [_class_summary(row) for row in rows],
        "sets": Counter(row.drawn for row in rows),
        "grading": Counter(row.graded for row in rows if row.graded),
    }


def _class_summary(row: Row) -> dict[str, Any]:
    planned = row.planned
    return {
        "name": planned.name,
        "title": planned.title,
        "mode": planned.request.mode,
        "exercises": planned.request.exercises,
        "students": len(planned.request.students),
        "set": row.drawn,
        "grading": row.graded,
        "fault": row.fault,
        "figures": None if row.figures is None else asdict(row.figures),
    }
