"""The report of a class with its sheets and table, from the gradebook."""

from __future__ import annotations

import re
import time
from collections import Counter
from collections.abc import (
    Callable,
    Collection,
    Iterable,
    Iterator,
    Mapping,
    Sequence,
)
from dataclasses import asdict, dataclass, replace
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

from answer_keys.errors import GradebookError
from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.results import (
    ClassResult,
    GradedExercise,
    StudentResult,
    graded_exercise,
)
from answer_keys.gradebook.standings import Receipt
from answer_keys.headway import Progress
from answer_keys.interchange.marks_files import marks_csv
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.marked import Counted
from answer_keys.reports.class_view import ClassView, class_view, percent, step_percents
from answer_keys.reports.exam_view import ExamView, exam_view
from answer_keys.reports.figures import path_figure, step_figure, total_figure
from answer_keys.reports.help_view import (
    Held,
    StudentView,
    Teach,
    held_in,
    skill_means,
    student_views,
    teach_next,
)
from answer_keys.reports.pages import page_parts
from answer_keys.reports.path_view import PathView, path_view
from answer_keys.reports.sheet import student_sheet
from answer_keys.reports.skills import RULE, SKILLS
from answer_keys.reports.statistics import ENOUGH
from answer_keys.visible_text import visible
from answer_keys.written_files import write_private, write_private_parts
from workbook.texts import _, speaking

Share = Callable[
    [Callable[[StudentResult], str], Sequence[StudentResult]], Iterable[str]
]
"""Writes the sheets of several students, in their order: `map`, or processes."""


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
    """Compute the figures of a class report, its words in the language of the set."""
    with speaking(result.language):
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What a report is headed by, in words that its instructor knows.

    Attributes
    ----------
    name : str
        What the set is called; empty leaves its code.
    lessons : tuple of str
        Their titles.
    """

    name: str = ""
    lessons: tuple[str, ...] = ()


def class_report(report: Report, heading: Heading = Heading()) -> Iterator[str]:
    """Write the class report.

    Yields
    ------
    str
        The parts of one HTML file; the same result gives the same text.
    """
    result, view, path = report.result, report.view, report.path
    views = {one.student.id: one for one in report.students}
    means = skill_means(report.students)
    days = [one.graded_at for one in result.graded if one.graded_at]
    return page_parts(
        "class.html.j2",
        report=report,
        heading=heading,
        marked_at=max(days, default=None),
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
        by_step_text=", ".join(
            f"{_(step.capitalize())} {mean:.0f} %"
            for step, mean in view.step_means.items()
        ),
        paths=path_figure(path.planned, path.taken),
        files=Counter(one.status for one in result.receipts),
        choosing=sorted(
            {one.student for one in result.receipts if one.status == "undecided"}
        ),
    )


def _listed(totals: tuple[float, ...]) -> str:
    return ", ".join(f"{total:.0f} %" for total in sorted(totals))


def report_figures(report: Report) -> dict[str, Any]:
    """Return the figures of a report as JSON can hold them.

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


PAGES = ("class-report.html", "marks.csv")
"""Files among the results that hold something of every student."""

# As `written_files` calls what it is writing.
_DRAFT = re.compile(
    r"\.(class-report\.html|marks\.csv|sheet-[\w-]+\.(html|pdf))\.\d+\.part"
)
# Writing one takes far less: nobody writes at such a draft any more.
_LEFT_OVER_S = 60.0


def class_results(
    gradebook: Gradebook, key: AnswerKey, roster: Sequence[tuple[str, str]]
) -> Iterator[ClassResult]:
    """Return what `class_in` gives, to be written before the next is asked for.

    Another comes where a grader has decided anew in the meantime: two that write into
    one folder would leave pages of both there.
    """
    state: object = None
    # Compared before each round: what was decided while the pages were written counts.
    while (now := gradebook.state(key.set_id)) != state:
        state = now
        yield class_in(gradebook, key, roster)


def class_in(
    gradebook: Gradebook, key: AnswerKey, roster: Sequence[tuple[str, str]]
) -> ClassResult:
    """Lay the marks of a gradebook that count beside the answer key.

    Parameters
    ----------
    roster : sequence of (id, name)

    Raises
    ------
    GradebookError
        Where the marks are no longer those that were recorded, or of another key.
    """
    counted = gradebook.counted(key.set_id)
    return result_from(counted, key, roster, gradebook.receipts(key.set_id))


def result_from(
    counted: Mapping[str, Counted],
    key: AnswerKey,
    roster: Sequence[tuple[str, str]],
    receipts: Collection[Receipt] = (),
) -> ClassResult:
    """Lay marks that count, by student, beside the answer key; raises as `class_in`."""
    sheets = sheet_names(id_ for id_, _ in roster)
    students = []
    for id_, name in roster:
        student = StudentResult(id=id_, name=name, sheet=sheets[id_])
        if (one := counted.get(id_)) is not None:
            student = replace(
                student,
                file=one.file,
                late_days=one.late_days,
                deducted_percent=one.deducted_percent,
                graded_at=one.graded_at,
                exercises=_exercises(one, key.of_student(id_)),
            )
        students.append(student)
    return ClassResult(
        set_id=key.set_id,
        mode=key.mode,
        has_own_causes=key.has_own_causes,
        language=key.language,
        students=tuple(students),
        receipts=receipts,
        history=key.history,
    )


def _exercises(
    one: Counted, records: Mapping[int, KeyRecord]
) -> tuple[GradedExercise, ...]:
    unknown = sorted({marks.exercise for marks in one.exercises} - records.keys())
    if unknown:
        raise GradebookError(
            f"The gradebook has marks of {visible(one.file)} for exercise "
            f"{unknown[0]}, which the answer key does not have; put back the key that "
            "belongs to it."
        )
    return tuple(
        graded_exercise(records[marks.exercise], marks, one.spans.get(marks.exercise))
        for marks in one.exercises
    )


SHEETS_EACH = 100
"""Sheets that are worth a process: it takes about a second to begin."""


def write_reports(
    report: Report,
    key: AnswerKey,
    folder: Path,
    progress: Progress = lambda *_: None,
    share: Share = map,
    heading: Heading = Heading(),
) -> list[str]:
    """Write report, sheets and table; give their names below the folder.

    Drafts that a killed writer has left there are removed.
    """
    for draft in drafts_below(folder, older_s=_LEFT_OVER_S):
        draft.unlink(missing_ok=True)
    result = report.result
    names = [*PAGES, *(f"sheets/{one.sheet}" for one in result.graded)]
    with speaking(result.language):
        # Every file that came back stands in it.
        parts = (part.encode() for part in class_report(report, heading))
        write_private_parts(folder / names[0], parts)
        progress("writing", 1, len(names))
    sheets = share(partial(_sheet, result, key), result.graded)
    texts = chain([_spoken(result, partial(marks_csv, result))], sheets)
    for number, (name, text) in enumerate(zip(names[1:], texts, strict=True), 2):
        write_private(folder / name, text.encode())
        progress("writing", number, len(names))
    return names


def _sheet(result: ClassResult, key: AnswerKey, student: StudentResult) -> str:
    records = key.of_student(student.id)
    return _spoken(result, partial(student_sheet, result, student, records))


def _spoken(result: ClassResult, page: Callable[[], str]) -> str:
    with speaking(result.language):
        return page()


def drafts_below(folder: Path, older_s: float = 0.0) -> list[Path]:
    """List drafts of our own results, and of nothing else, that are old enough [s]."""
    found = [*folder.glob(".*.part"), *folder.glob("sheets/.*.part")]
    own = [path for path in found if _DRAFT.fullmatch(path.name)]
    return [path for path in own if time.time() - path.stat().st_mtime >= older_s]


def sheet_names(ids: Iterable[str]) -> dict[str, str]:
    """Give each student a file name that is safe and unlike all others.

    Examples
    --------
    >>> sheet_names(["a/b", "A/B"])
    {'a/b': 'sheet-a-b.html', 'A/B': 'sheet-A-B-2.html'}
    """
    names: dict[str, str] = {}
    taken: set[str] = set()
    for id_ in ids:
        plain = re.sub(r"[^A-Za-z0-9_]+", "-", id_)[:60].strip("-") or "student"
        name, number = plain, 1
        # Some disks take names that differ in case only for the same.
        while name.casefold() in taken:
            number += 1
            name = f"{plain}-{number}"
        taken.add(name.casefold())
        names[id_] = f"sheet-{name}.html"
    return names
