"""The class report: its figures, and the page that shows them."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from answer_keys.class_view import ClassView, class_view, percent, step_percents
from answer_keys.exam_view import ExamView, exam_view
from answer_keys.figures import path_figure, step_figure, total_figure
from answer_keys.help_view import (
    Held,
    StudentView,
    Teach,
    held_in,
    skill_means,
    student_views,
    teach_next,
)
from answer_keys.item_statistics import ENOUGH
from answer_keys.mastery import RULE
from answer_keys.pages import written_page
from answer_keys.path_view import PathView, path_view
from answer_keys.skills import SKILLS

if TYPE_CHECKING:
    from answer_keys.results import ClassResult

__all__ = ["Report", "class_report", "new_report", "report_figures"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """All figures of a class report."""

    result: ClassResult
    view: ClassView
    students: tuple[StudentView, ...]
    held: tuple[Held, ...]
    teach: tuple[Teach, ...]
    path: PathView
    exam: ExamView


def new_report(result: ClassResult) -> Report:
    """Compute the figures of a class report."""
    view, students = class_view(result), student_views(result)
    held = held_in(students)
    return Report(
        result=result,
        view=view,
        students=students,
        held=held,
        teach=teach_next(students, held, view.faults),
        path=path_view(one for each in result.graded for one in each.exercises),
        exam=exam_view(result),
    )


def class_report(report: Report) -> str:
    """Write the class report.

    Parameters
    ----------
    report : Report

    Returns
    -------
    str
        One HTML file; the same result gives the same text.
    """
    result, view, path = report.result, report.view, report.path
    views = {one.student.id: one for one in report.students}
    means = skill_means(report.students)
    return written_page(
        "class.html.j2",
        report=report,
        result=result,
        view=view,
        students=[(one, views.get(one.id)) for one in result.students],
        percent=percent,
        step_percents=step_percents,
        skills={id_: SKILLS[id_] for id_ in means},
        all_skills=SKILLS,
        means=means,
        rule=RULE,
        enough=ENOUGH,
        spread=total_figure(view.totals),
        spread_text=_listed(view.totals),
        steps=tuple(view.steps),
        by_step=step_figure(view.steps),
        by_step_text=", ".join(f"{s} {m:.0f} %" for s, m in view.step_means.items()),
        paths=path_figure(path.planned, path.taken),
        files=Counter(one.status for one in result.receipts),
        choosing=sorted(
            {one.student for one in result.receipts if one.status == "undecided"}
        ),
    )


def _listed(totals: tuple[float, ...]) -> str:
    return ", ".join(f"{total:.0f} %" for total in sorted(totals))


def report_figures(report: Report) -> dict[str, Any]:
    """Give the figures of a report as JSON can hold them.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict
        ``students``, ``misconceptions``, ``tests``, ``path``, ``items``,
        ``reliability``, ``families``, ``faults``, ``teach_next``.
    """
    path = report.path
    return {
        "set_id": report.result.set_id,
        "students": [_student_figures(one) for one in report.students],
        "misconceptions": [
            {
                "id": one.misconception.id,
                "title": one.misconception.title,
                "shown": one.shown,
                "chances": one.chances,
                "students": one.students,
                "held_by": [student.id for student in one.holders],
                "example": {
                    "item": one.example.example.title,
                    "answer": one.example.example.answer,
                    "reason": one.example.example.reason,
                },
            }
            for one in report.held
        ],
        "tests": [asdict(use) for use in path.uses],
        "path": {
            "diagnoses": len(path.planned),
            "proved": path.proved,
            "planned_minutes": list(path.planned),
            "minutes_to_proof": list(path.taken),
            "wasted_minutes": path.wasted,
        },
        "items": [
            {**asdict(item), "verdict": item.verdict} for item in report.exam.items
        ],
        "reliability": asdict(report.exam.reliability),
        "families": [
            {**asdict(one), "is_enough": one.is_enough, "is_unequal": one.is_unequal}
            for one in report.exam.families
        ],
        "faults": [asdict(group) for group in report.view.faults],
        "teach_next": [asdict(one) for one in report.teach],
    }


def _student_figures(one: StudentView) -> dict[str, Any]:
    return {
        "id": one.student.id,
        "percent": one.percent,
        "needs_help": one.needs_help,
        "weak_skills": list(one.weak),
        "skills": {
            id_: {
                "percent": mastery.percent,
                "last": list(mastery.last),
                "is_mastered": mastery.is_mastered,
            }
            for id_, mastery in one.skills.items()
        },
        "misconceptions": [
            {
                "id": each.misconception.id,
                "shown": each.shown,
                "chances": each.chances,
                "is_held": each.is_held,
            }
            for each in one.shown
        ],
    }
