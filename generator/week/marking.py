"""Marks for what came back, and marks that the instructor changes by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from answer_keys.gradebook.overrides import override_from, read_overrides
from answer_keys.gradebook.standings import Override
from answer_keys.headway import Progress
from answer_keys.marking.rubric import read_rubric
from generator.grading.class_grading import GradedClass, GradingJob, Mark, grade_class
from generator.grading.processes import mark_in_processes
from generator.week.examination import hand_in_examination
from generator.week.opened import OpenedSet
from generator.week.overview import heading_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Marking:
    """How a class is graded.

    Attributes
    ----------
    workers : int or None
        Processes that read and mark at a time, and write sheets then; None is as many
        as are worth their start here.
    mark : callable or None
        Marks the files in their place.
    overrides : sequence of Override
        Marks that are set by hand now.
    taken : sequence of (student, code)
        Hand-ins that count from now on, by the code that grading gives; ``none`` in
        place of a code goes by the rule again.
    """

    workers: int | None = None
    mark: Mark | None = None
    overrides: Sequence[Override] = ()
    taken: Sequence[tuple[str, str]] = ()


def grade(
    opened: OpenedSet, marking: Marking = Marking(), tell: Progress = lambda *_: None
) -> GradedClass:
    """Grade what was handed in; write gradebook, report, sheets and table.

    A file that cannot be graded is accounted for and stops nothing; no mark is ever
    overwritten.

    Raises
    ------
    GradebookError, RubricError, ChoiceError
        Where nothing can be graded.
    RoomError
        Where the record of an examination was changed after it was sealed.
    """
    class_set = opened.class_set
    rubric = read_rubric(class_set.rubric_file)
    class_set.handed_in.mkdir(exist_ok=True)
    hand_in_examination(opened)
    job = GradingJob(
        handed_in=class_set.handed_in,
        results=class_set.results,
        gradebook=opened.gradebook or class_set.gradebook_file,
        mark=marking.mark or partial(mark_in_processes, workers=marking.workers),
        overrides=marking.overrides,
        taken=marking.taken,
        heading=heading_of(class_set),
    )
    graded = grade_class(opened.key, class_set.roster, rubric, job, tell)
    if opened.gradebook is None:
        written = (class_set.gradebook_file.name, *graded.written)
        graded = replace(graded, written=written)
    return graded


def changed_mark(
    opened: OpenedSet, place: tuple[str, int, str], mark: float | None, reason: str
) -> Override:
    """Check a mark that is set by hand, for `Marking.overrides`.

    Parameters
    ----------
    place : (str, int, str)
        Student, number of the exercise, and step of the rubric.
    mark : float or None
        None takes an earlier one back.
    reason : str
        Stands on the student's sheet.

    Raises
    ------
    OverridesError
        With all that is wrong.
    """
    student, exercise, step = place
    written = "" if mark is None else f"{mark:g}"
    cells = student, str(exercise), step, written, reason
    rubric = read_rubric(opened.class_set.rubric_file)
    return override_from(cells, opened.key, rubric)


def changed_marks(opened: OpenedSet, path: Path) -> tuple[Override, ...]:
    """Read a table of marks set by hand; raises as `changed_mark` does."""
    rubric = read_rubric(opened.class_set.rubric_file)
    return read_overrides(path, opened.key, rubric)
