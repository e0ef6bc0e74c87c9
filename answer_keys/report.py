"""The class report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from answer_keys.class_view import class_view, percent, step_percents
from answer_keys.figures import step_figure, total_figure
from answer_keys.pages import written_page

if TYPE_CHECKING:
    from answer_keys.results import ClassResult

__all__ = ["class_report"]

_SMALL_CLASS = 30


def class_report(result: ClassResult) -> str:
    """Write the class report.

    Parameters
    ----------
    result : ClassResult

    Returns
    -------
    str
        One HTML file; the same result gives the same text.
    """
    view = class_view(result)
    count = len(result.graded)
    return written_page(
        "class.html.j2",
        result=result,
        view=view,
        students=[
            (one, percent(one.total, one.out_of), step_percents(one))
            for one in result.students
        ],
        spread=total_figure(view.totals),
        spread_text=", ".join(f"{total:.0f} %" for total in sorted(view.totals)),
        steps=tuple(view.steps),
        by_step=step_figure(view.steps),
        by_step_text=", ".join(f"{s} {m:.0f} %" for s, m in view.step_means.items()),
        is_small=count < _SMALL_CLASS,
        files={
            status: sum(one.status == status for one in result.receipts)
            for status in ("graded", "superseded", "refused")
        },
    )
