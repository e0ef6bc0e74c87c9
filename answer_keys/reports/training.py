"""The page for the head of training, over all classes of a school."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict
from itertools import groupby
from typing import Any

from answer_keys.misconceptions import MISCONCEPTIONS, Misconception
from answer_keys.reports.evidence import Evidence
from answer_keys.reports.pages import written_page
from answer_keys.reports.statistics import ENOUGH
from answer_keys.reports.training_figures import (
    ClassStanding,
    Hard,
    TrainingView,
    Widespread,
)

# More than three of anything are no plan for a term.
_MOST = 3


def training_report(view: TrainingView) -> str:
    """Write the page in the language spoken; the same view gives the same text."""
    classes = [one.evidence for one in view.classes]
    return written_page(
        "training.html.j2",
        view=view,
        students=sum(one.students for one in classes),
        graded=sum(one.graded for one in classes),
        needs_help=sum(one.needs_help for one in classes),
        diagnoses=sum(len(one.diagnoses) for one in classes),
        spread=_spread(classes)[:_MOST],
        lessons=_by_lesson(view.misconceptions),
        unequal=[one for one in view.unequal if one.is_unequal or one.is_slight],
        enough=ENOUGH,
    )


def _spread(classes: Sequence[Evidence]) -> list[tuple[Misconception, int, int]]:
    """Misconceptions that are held, with how many hold each in how many classes."""
    held, where = Counter[str](), Counter[str]()
    for each in classes:
        held.update(each.held)
        where.update(each.held.keys())
    order = sorted(held, key=lambda id_: (-where[id_], -held[id_], id_))
    return [(MISCONCEPTIONS[id_], held[id_], where[id_]) for id_ in order]


def _by_lesson(some: Sequence[Widespread]) -> list[tuple[str, list[Widespread]]]:
    return [
        (lesson.replace("-", " "), list(rows)[:_MOST])
        for lesson, rows in groupby(some, key=lambda one: one.lesson)
    ]


def training_figures(view: TrainingView) -> dict[str, Any]:
    """Return the figures as JSON can hold them.

    Returns
    -------
    dict
        ``classes``, ``faults``, ``families``, ``tests``, ``unequal``,
        ``misconceptions``.
    """
    return {
        "classes": [_class_figures(one) for one in view.classes],
        "faults": [_hard_figures(one) for one in view.faults],
        "families": [_hard_figures(one) for one in view.families],
        "tests": [_hard_figures(one) for one in view.tests],
        "unequal": [
            {**asdict(one), "is_unequal": one.is_unequal, "is_slight": one.is_slight}
            for one in view.unequal
        ],
        "misconceptions": [
            {**asdict(one), "misconception": one.misconception.id}
            for one in view.misconceptions
        ],
    }


def _hard_figures(one: Hard) -> dict[str, Any]:
    return {**asdict(one), "is_sure": one.is_sure}


def _class_figures(one: ClassStanding) -> dict[str, Any]:
    names = "set_id", "name", "students", "graded", "mean_percent", "needs_help"
    own = {name: getattr(one.evidence, name) for name in names}
    return own | {"beyond": asdict(one.beyond) if one.beyond else None}
