"""The class sets of a folder: where in its week each stands, and what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import PurePosixPath
from typing import Literal

from answer_keys.errors import ContentError
from answer_keys.hand_ins.returned_files import returned_names
from answer_keys.reports.report import Heading
from answer_keys.visible_text import visible
from generator.sets.class_set import ClassSet
from generator.sets.graded_set import open_gradebook
from generator.site.build import default_folder
from generator.week.checked import last_check
from lessons.loader import read_lesson
from workbook.texts import catalogue_of

WeekStep = Literal["check", "give", "collect", "mark", "see"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetState:
    """Where one class set stands.

    Attributes
    ----------
    made_at : datetime.datetime
        When its key was written, in UTC.
    files : int
        That came back.
    graded : int
        Students with marks.
    """

    made_at: datetime
    step: WeekStep
    files: int
    graded: int


def state_of(class_set: ClassSet, gradebook: str | None = None) -> SetState:
    """Tell where one class set stands.

    Raises
    ------
    GradebookError
        Where its gradebook cannot be read.
    """
    came = _came(class_set)
    graded, accounted = _graded(class_set, gradebook)
    return SetState(
        made_at=datetime.fromtimestamp(class_set.key_file.stat().st_mtime, UTC),
        step=_step(class_set, came <= accounted if came else None),
        files=len(came),
        graded=graded,
    )


def lesson_titles(class_set: ClassSet) -> tuple[str, ...]:
    """Name the lessons of a set as its students do; by its id one that is gone."""
    return tuple(
        _title(lesson, class_set.request.language)
        for lesson in class_set.request.lessons
    )


def _title(lesson: str, language: str) -> str:
    # By the catalogue: what is spoken is one for the process, and threads ask this.
    try:
        return catalogue_of(language).gettext(read_lesson(lesson).lesson.title)
    except (ContentError, OSError):
        return lesson


def heading_of(class_set: ClassSet) -> Heading:
    """Return what a set's report is headed by."""
    name = class_set.folder.resolve().name
    return Heading(name=name, lessons=lesson_titles(class_set))


def _came(class_set: ClassSet) -> set[str]:
    """Name what came back, as a grading names it."""
    if not class_set.handed_in.is_dir():
        return set()
    names, _unread = returned_names(class_set.handed_in)
    return {visible(name) for name in names}


def _graded(class_set: ClassSet, gradebook: str | None) -> tuple[int, set[str]]:
    """How many students have marks, and which files the last grading accounts for."""
    if gradebook is None and not class_set.gradebook_file.is_file():
        return 0, set()
    with open_gradebook(class_set, gradebook) as book:
        names = {receipt.name for receipt in book.receipts(class_set.set_id)}
        # An archive is accounted for by what is in it, a table by its students.
        holders = {str(up) for name in names for up in PurePosixPath(name).parents}
        return len(book.standings(class_set.set_id)), names | holders


def _step(class_set: ClassSet, is_all_marked: bool | None) -> WeekStep:
    """Tell the step; whether all is marked is None where nothing came back."""
    if is_all_marked is not None:
        return "see" if is_all_marked else "mark"
    checked = last_check(class_set)
    if checked is None or not checked.is_sound:
        return "check"
    is_printed = any(class_set.folder.glob("for-students/*/handout.html"))
    is_given = is_printed or default_folder(class_set).is_dir()
    return "collect" if is_given else "give"
