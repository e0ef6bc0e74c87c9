"""What a school's report says of a class: figures, and nobody's name."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from answer_keys.gradebook.results import ClassResult
from answer_keys.reports.class_view import class_view
from answer_keys.reports.help_view import student_views
from workbook.texts import speaking


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """A class as it was graded last.

    Attributes
    ----------
    graded, students : int
        With marks, and of the class list.
    files : int
        That came back.
    refused, unread : int
        Of these, what is no hand-in, and what was not even looked at.
    undecided : int
        Students whose hand-in the instructor has to choose.
    median, lowest, highest : float or None
        Of the totals [%]; None where nothing is graded.
    needs_help : int
        Students with whom the instructor should talk.
    weakest_step : str
        Of the rubric; empty where nothing is graded.
    weakest_percent : float
        Its mean [%].
    """

    students: int
    graded: int
    files: int
    refused: int
    unread: int
    undecided: int
    median: float | None
    lowest: float | None
    highest: float | None
    needs_help: int
    weakest_step: str
    weakest_percent: float


def figures_of(result: ClassResult) -> Figures:
    """Compute the figures of a class."""
    with speaking(result.language):
        view, students = class_view(result), student_views(result)
    status = Counter(one.status for one in result.receipts)
    choosing = {one.student for one in result.receipts if one.status == "undecided"}
    weakest = view.weakest_step or ""
    return Figures(
        students=len(result.students),
        graded=len(result.graded),
        files=len(result.receipts),
        refused=status["refused"],
        unread=status["unread"],
        undecided=len(choosing),
        median=view.median,
        lowest=min(view.totals, default=None),
        highest=max(view.totals, default=None),
        needs_help=sum(one.needs_help for one in students),
        weakest_step=weakest,
        weakest_percent=view.step_means.get(weakest, 0.0),
    )
