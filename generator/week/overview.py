"""The class sets of a folder: where in its week each stands, and what comes next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from answer_keys.errors import AnswerKeysError
from answer_keys.hand_ins.returned_files import returned_paths
from generator.errors import WritingError
from generator.sets.class_set import ClassSet, read_class_set
from generator.sets.graded_set import open_gradebook
from generator.site.build import default_folder
from generator.week.checked import last_check
from workbook.texts import _, later

WeekStep = Literal["check", "give out", "collect", "mark", "see"]

_NEXT: Mapping[WeekStep, str] = {
    "check": later("Check it before you give it out."),
    "give out": later("Give it out: as a site with links, or on paper."),
    "collect": later("Collect what students hand in."),
    "mark": later("Mark what has come back."),
    "see": later("See what to teach again, and draw the next set."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SetState:
    """One class set, and where it stands.

    Attributes
    ----------
    problem : str
        Why the folder cannot be read as a set; all else is empty then.
    made_at : datetime.datetime
        When its key was written, in UTC.
    files : int
        That came back.
    graded : int
        Students with marks.
    after : str
        Id of the set that this one comes after.
    """

    folder: Path
    problem: str = ""
    set_id: str = ""
    mode: str = ""
    language: str = ""
    lessons: tuple[str, ...] = ()
    students: int = 0
    exercises: int = 0
    made_at: datetime = field(default=datetime.min.replace(tzinfo=UTC))
    step: WeekStep = "check"
    files: int = 0
    graded: int = 0
    after: str = ""


def next_text(step: WeekStep) -> str:
    """Say what comes next, in the language spoken."""
    return _(_NEXT[step])


def sets_in(folder: Path, gradebook: str | None = None) -> tuple[SetState, ...]:
    """List the class sets of a folder, the newest first.

    Parameters
    ----------
    gradebook : str or None
        Address of the gradebook of all of them; None is each one's own file.
    """
    found = list(_states(folder, gradebook))
    return tuple(sorted(found, key=lambda one: one.made_at, reverse=True))


def _states(folder: Path, gradebook: str | None) -> Iterator[SetState]:
    for path in sorted(folder.iterdir()):
        if path.name.startswith(".") or not (path / "set.toml").is_file():
            continue
        try:
            yield state_of(read_class_set(path), gradebook)
        except (AnswerKeysError, WritingError, OSError) as error:
            yield SetState(folder=path, problem=str(error))


def state_of(class_set: ClassSet, gradebook: str | None = None) -> SetState:
    """Tell where one class set stands.

    Raises
    ------
    GradebookError
        Where its gradebook cannot be read.
    """
    request = class_set.request
    came = _came(class_set)
    graded, graded_at = _graded(class_set, gradebook)
    return SetState(
        folder=class_set.folder,
        set_id=class_set.set_id,
        mode=request.mode,
        language=request.language,
        lessons=request.lessons,
        students=len(request.students),
        exercises=request.exercises,
        made_at=datetime.fromtimestamp(class_set.key_file.stat().st_mtime, UTC),
        step=_step(class_set, came, graded_at),
        files=len(came),
        graded=graded,
        after=request.needs.after if request.needs else "",
    )


def _came(class_set: ClassSet) -> list[float]:
    """When each file was put among those that came back [s]."""
    if not class_set.handed_in.is_dir():
        return []
    files, _unread = returned_paths(class_set.handed_in)
    # A file that is moved keeps its time, and gets another of its entry.
    return [max(s.st_mtime, s.st_ctime) for s in (path.lstat() for path in files)]


def _graded(class_set: ClassSet, gradebook: str | None) -> tuple[int, float]:
    """How many students have marks, and when the report was written [s]."""
    report = class_set.results / "class-report.html"
    if not report.is_file():
        return 0, 0.0
    with open_gradebook(class_set, gradebook) as book:
        return len(book.standings(class_set.set_id)), report.stat().st_mtime


def _step(class_set: ClassSet, came: list[float], graded_at: float) -> WeekStep:
    if came:
        return "mark" if max(came) > graded_at else "see"
    checked = last_check(class_set)
    if checked is None or not checked.is_sound:
        return "check"
    is_printed = any(class_set.folder.glob("for-students/*/handout.html"))
    is_given = is_printed or default_folder(class_set).is_dir()
    return "collect" if is_given else "give out"
