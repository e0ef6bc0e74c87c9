"""What a new class set would hold, before and after it is written."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from answer_keys.headway import Progress
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.marking.rubric import read_rubric
from answer_keys.method import DEFAULT_METHOD
from answer_keys.needs import Needs
from answer_keys.observed import NOTHING
from generator.drawing.class_radicals import radicals_of_class
from generator.drawing.course import read_course
from generator.drawing.difficulty import ClassDifficulty, class_difficulty
from generator.drawing.request import Causes, Mode, Request
from generator.questions.asked import KIND_TITLES
from generator.sets.class_set import ClassSet, open_key, read_observed
from generator.sets.set_writing import parts_of_class, write_class_set
from generator.week.class_list import ClassList, invented_list
from generator.week.opened import opened_set
from generator.workbooks.class_workbooks import new_workbooks
from generator.workbooks.notebook import notebook_text
from lessons.loader import lesson_ids
from workbook.texts import ENGLISH, _, ngettext, speaking

STUDENTS = 12
"""How many students are invented where nobody is named."""

# What a student needs for an exercise [min]: our assumption, not measured.
_MINUTES: Mapping[str, int] = {"diagnosis": 15, **dict.fromkeys(KIND_TITLES, 10)}


def minutes_of(kinds: Iterable[str]) -> int:
    """Give what an exercise of one of some kinds takes a student, about [min]."""
    return round(statistics.fmean(_MINUTES[kind] for kind in kinds))


@dataclass(frozen=True, slots=True, kw_only=True)
class NewSet:
    """A class set as its instructor asks for it.

    Attributes
    ----------
    out : pathlib.Path
        The folder to write, which does not exist yet.
    lessons : tuple of str
        Names of ours, or folders; none are those of ``after``, or all of ours.
    class_list : ClassList or None
        None is that of ``after``, or an invented class.
    exercises : int
        For each student.
    causes : Causes
        Of a set that is graded: each student's own, or the same for all.
    after : pathlib.Path or None
        A graded set: what it showed to be weak comes first.
    gradebook : str or None
        Address of that set's gradebook; None is its own file.
    rubric : pathlib.Path or None
        A rubric of one's own, whose method practice pages follow.
    difficulty : pathlib.Path or None
        How hard exercises have proved to be in graded classes.
    """

    out: Path
    lessons: tuple[str, ...] = ()
    class_list: ClassList | None = None
    exercises: int = 4
    mode: Mode = "practice"
    causes: Causes = "own"
    language: str = ENGLISH
    also_in: tuple[str, ...] = ()
    after: Path | None = None
    gradebook: str | None = None
    rubric: Path | None = None
    difficulty: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What students get in a set.

    Attributes
    ----------
    kinds : tuple of (str, int, int)
        Each kind of exercise, with the fewest and the most of it that a student gets.
    minutes : int
        What a student needs for all of it, about [min].
    is_same_for_all : bool
        Whether all students get the same causes, each in an order of their own.
    """

    kinds: tuple[tuple[str, int, int], ...]
    minutes: int
    is_same_for_all: bool

    @property
    def text(self) -> str:
        """All of it in words, in the language spoken."""
        kinds = ", ".join(_kind_text(*kind) for kind in self.kinds)
        same = (
            _(
                "the same causes for all, each student in an order of their own, so "
                "that one can tell another the cause of a load"
            )
            if self.is_same_for_all
            else _("causes of their own for each student")
        )
        about = _("about {minutes} minutes").format(minutes=self.minutes)
        return f"{kinds}; {about}; {same}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A set that was written.

    Attributes
    ----------
    needs : Needs or None
        What it practises after an earlier one.
    difficulty : ClassDifficulty
        As predicted for careful novices.
    """

    class_set: ClassSet
    drawn: Drawn
    needs: Needs | None
    difficulty: ClassDifficulty


def preview(new: NewSet, secret: ClassSecret, passphrase: str | None = None) -> Drawn:
    """Tell what `generate` will draw under the same secret; nothing is written.

    Parameters
    ----------
    passphrase : str or None
        Of the set that this one comes after.

    Raises
    ------
    LessonError
        Where a lesson is at fault.
    ClassSetError
        Where there is no such earlier set, or nothing of it is graded.
    """
    return _drawn(_request(new, passphrase), secret)


def preview_workbook(
    new: NewSet, secret: ClassSecret, passphrase: str | None = None
) -> str:
    """Give the first student's workbook as a notebook; nothing is written.

    Raises
    ------
    ClassDrawError
        Where nothing can be drawn of a lesson; else as `preview` does.
    """
    request = _request(new, passphrase)
    # What a student gets hangs on what the class shares and on the own id, so that one
    # alone is drawn as among all others.
    first = replace(request, students=request.students[:1])
    workbook = next(new_workbooks(read_course(first.lessons), first, secret))
    with speaking(new.language):
        return notebook_text(workbook)


def generate(
    new: NewSet,
    passphrase: str | None = None,
    tell: Progress = lambda *_: None,
    secret: ClassSecret | None = None,
    workers: int | None = None,
) -> Made:
    """Draw and write a new class set, whole or not at all.

    Parameters
    ----------
    passphrase : str or None
        Of the new class secret, and of the set that this one comes after.
    secret : ClassSecret or None
        The one of a preview; None makes a new one.
    workers : int or None
        Processes that draw; None is as many as are worth their start here.

    Raises
    ------
    ClassSetError
        Where the folder exists or cannot be written; else as `preview_workbook` does.
    """
    request = _request(new, passphrase)
    draw = partial(parts_of_class, workers=workers)
    made = write_class_set(new.out, request, passphrase, tell, new.rubric, secret, draw)
    opened_secret, key = open_key(made, passphrase)
    hard = class_difficulty(
        (record.student, record.difficulty["percent"]) for record in key.whole
    )
    return Made(
        class_set=made,
        drawn=_drawn(request, opened_secret),
        needs=request.needs,
        difficulty=hard,
    )


def _request(new: NewSet, passphrase: str | None) -> Request:
    """Put together what is asked for, and what the set before it leaves to do."""
    earlier = None
    if new.after is not None:
        earlier = opened_set(new.after, passphrase, new.gradebook)
    before = earlier.class_set.request if earlier else None
    listed = new.class_list
    if listed is None:
        listed = (
            ClassList(students=before.students, school_class=before.school_class)
            if before
            else invented_list(STUDENTS)
        )
    needs = None
    if earlier:
        # Loaded where a gradebook is read: the database takes long to load.
        from answer_keys.reports.draw_needs import needs_after
        from generator.sets.graded_set import class_result

        result = class_result(earlier.class_set, earlier.key, earlier.gradebook)
        needs = needs_after(result)
    return Request(
        lessons=new.lessons or (before.lessons if before else lesson_ids()),
        students=listed.students,
        exercises=new.exercises,
        mode=new.mode,
        causes=new.causes,
        school_class=listed.school_class,
        language=new.language,
        also_in=new.also_in,
        needs=needs,
        method=read_rubric(new.rubric).method if new.rubric else DEFAULT_METHOD,
        observed=read_observed(new.difficulty) if new.difficulty else NOTHING,
    )


def _drawn(request: Request, secret: ClassSecret) -> Drawn:
    """Count what a class gets of each kind.

    Where no draw of a cause passes, another of the same kind takes its place.
    """
    counts = [
        Counter[str](radical.kind for radical in own)
        for own in radicals_of_class(
            read_course(request.lessons),
            request.mode,
            secret.value,
            [student.id for student in request.students],
            request.exercises,
            request.needs,
        ).values()
    ]
    bounds = {
        kind: (min(own[kind] for own in counts), max(own[kind] for own in counts))
        for kind in _MINUTES
    }
    minutes = [sum(_MINUTES[kind] for kind in own.elements()) for own in counts]
    return Drawn(
        kinds=tuple((kind, *bound) for kind, bound in bounds.items() if bound[1]),
        minutes=round(statistics.fmean(minutes)),
        is_same_for_all=not request.has_own_causes,
    )


def _kind_text(kind: str, fewest: int, most: int) -> str:
    count = str(most)
    if fewest == 0:
        count = _("up to {most}").format(most=most)
    elif fewest < most:
        count = _("{fewest} to {most}").format(fewest=fewest, most=most)
    if kind == "diagnosis":
        called = ngettext("diagnosis", "diagnoses", most)
    else:
        called = f"“{_(KIND_TITLES[kind])}”"
    return f"{count} {called}"
