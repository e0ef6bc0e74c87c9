"""The class report and the students' sheets: offline HTML without active content.

Nothing of a student is ever rendered as HTML: every value is escaped by the template
engine, and the page forbids scripts and anything from outside.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from answer_keys.class_view import (
    class_view,
    misconceptions_of,
    percent,
    step_percents,
)
from answer_keys.figures import step_figure, total_figure
from answer_keys.reading_path import causes_left, minutes_of, planned_tests
from answer_keys.rubric import MARKED_STEPS
from answer_keys.visible_text import name_text
from answer_keys.wording import minutes_text
from workbook.cautions import CAUTIONS

if TYPE_CHECKING:
    from answer_keys.results import ClassResult, GradedExercise, StudentResult

__all__ = ["class_report", "student_sheet"]

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
    return _written(
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


def student_sheet(result: ClassResult, student: StudentResult) -> str:
    """Write the sheet of one student whose hand-in was graded.

    Parameters
    ----------
    result : ClassResult
    student : StudentResult

    Returns
    -------
    str
        One HTML file.
    """
    return _written(
        "sheet.html.j2",
        result=result,
        student=student,
        percent=percent(student.total, student.out_of),
        steps=MARKED_STEPS,
        shares=step_percents(student),
        misconceptions=misconceptions_of(student),
        exercises=[_sheet_exercise(one) for one in student.exercises],
    )


def _sheet_exercise(one: GradedExercise) -> dict[str, Any]:
    record, progress = one.record, one.progress
    if record.questions:
        return _sheet_questions(one)
    planned = planned_tests(record)
    said = progress.cause and record.cause(progress.cause).label
    done = progress.correction and record.correction(progress.correction).label
    return {
        "record": record,
        "marks": one.marks,
        "is_diagnosis": True,
        "path": one.path,
        "path_minutes": minutes_of(visit.test for visit in one.path),
        "planned": list(zip(planned, causes_left(record, planned), strict=True)),
        "planned_minutes": minutes_of(planned),
        "cause_mark": next(m for m in one.marks.steps if m.step == "cause"),
        "said_cause": said,
        "said_correction": done,
        "cause": record.label_of_fault(record.fault.id),
        "correction": record.label_of_repair(record.fault.repair),
        "is_started": bool(progress.predictions or progress.tests),
    }


def _sheet_questions(one: GradedExercise) -> dict[str, Any]:
    """Everything of an exercise that asked questions, with lines as written."""
    replies = one.progress.replies
    written = [
        (question, list(zip(question.lines, replies[question.id].lines, strict=False)))
        for question in one.record.questions
        if question.kind == "lines" and question.id in replies
    ]
    return {
        "record": one.record,
        "marks": one.marks,
        "is_diagnosis": False,
        "title": one.record.kind.replace("-", " "),
        "written": written,
        "is_started": bool(replies),
    }


def _written(template: str, **values: Any) -> str:  # noqa: ANN401 # template values
    page = _environment().get_template(template)
    return page.render(cautions=CAUTIONS, **values)


@cache
def _environment() -> Environment:
    """Build the template engine once: it keeps the compiled templates."""
    environment = Environment(
        loader=PackageLoader("answer_keys"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {
        "minutes": minutes_text,
        "person": name_text,
        "number": lambda mark: f"{mark:.1f}".removesuffix(".0"),
        "whole": lambda share: f"{share:.0f}",
    }
    return environment
