"""PLAN.toml: what every class of a school gets, checked before anything is drawn.

A OneRoster bundle by itself is a plan as well: the usual set for each of its classes.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from answer_keys.checked_toml import Strict, TomlFile, read_toml
from answer_keys.errors import Problem, RubricError
from answer_keys.marking.rubric import read_rubric
from answer_keys.method import DEFAULT_METHOD, Step
from answer_keys.observed import NOTHING, Observed
from generator.drawing.course import read_course
from generator.drawing.request import MAX_EXERCISES, MAX_STUDENTS, Causes, Mode, Request
from generator.errors import ClassSetError, PlanError, RosterError
from generator.sets.class_set import read_observed
from generator.sets.oneroster_roster import is_oneroster, read_all_classes
from generator.sets.roster import id_problem, is_reserved
from generator.week.class_list import ClassList, read_class_list
from lessons.errors import LessonError
from lessons.loader import lesson_ids

OWN_FOLDER = "for-instructor"
"""Beside the sets of a school: no class is called so."""

_Place = tuple[str | int, ...]
_DEFAULTS: _Place = ("defaults",)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedClass:
    """A class, and the set that it gets.

    Attributes
    ----------
    name : str
        Of the folder of its set.
    title : str
        What the school calls it.
    rubric : pathlib.Path or None
        None is that of the lesson.
    left_out : str
        Why it gets no set; empty where it gets one.
    """

    name: str
    title: str
    request: Request
    rubric: Path | None = None
    left_out: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All classes of a school that get a set.

    Attributes
    ----------
    title : str
        What the school, or this round of sets, is called.
    folder : pathlib.Path
        Where a folder for each class is written.
    language : str
        Of the report of the school.
    """

    title: str
    folder: Path
    language: str
    classes: tuple[PlannedClass, ...]


class _Asked(Strict):
    lessons: tuple[str, ...] = ()
    exercises: Annotated[int, Field(ge=1, le=MAX_EXERCISES)] = 4
    mode: Mode = "practice"
    causes: Causes = "own"
    languages: Annotated[tuple[Literal["en", "de"], ...], Field(min_length=1)] = ("en",)
    rubric: str = ""
    difficulty: str = ""


class _Class(_Asked):
    name: str
    title: str = ""
    roster: str
    class_id: Annotated[str, Field(alias="class")] = ""

    @property
    def own(self) -> set[str]:
        """What it says otherwise than the defaults do."""
        return self.model_fields_set & set(_Asked.model_fields)

    def over(self, defaults: _Asked) -> _Asked:
        """What the class says of itself, and the defaults for all that it does not."""
        return defaults.model_copy(update={key: getattr(self, key) for key in self.own})


class _School(Strict):
    title: str = ""
    folder: str = ""
    oneroster: str = ""


class _PlanFile(Strict):
    school: _School = _School()
    defaults: _Asked = _Asked()
    classes: tuple[_Class, ...] = ()


def read_plan(path: Path) -> Plan:
    """Read a plan, or a OneRoster bundle with all its classes.

    What it names is found from the folder that it lies in.

    Raises
    ------
    PlanError
        With every fault of the plan, and of all that it names.
    """
    problems = list[Problem]()
    if is_oneroster(path):
        read = _PlanFile(school=_School(oneroster=path.name))
        reader = _Reader(path=path, file=None, problems=problems)
    else:
        file = read_toml(path, problems)
        checked = file.checked(_PlanFile, problems) if file else None
        if checked is None:
            raise PlanError(problems)
        read, reader = checked, _Reader(path=path, file=file, problems=problems)
    plan = reader.plan(read)
    if problems:
        # What stands in the defaults is at fault once, for however many classes.
        raise PlanError(list(dict.fromkeys(problems)))
    return plan


@dataclass(kw_only=True)
class _Reader:
    """Reads what a plan names, a course once, and notes all that is wrong with it."""

    path: Path
    file: TomlFile | None
    problems: list[Problem]
    ours: tuple[str, ...] = field(default_factory=lesson_ids)
    sound: dict[tuple[str, ...], bool] = field(default_factory=dict)

    def plan(self, read: _PlanFile) -> Plan:
        folder = read.school.folder or f"{self.path.stem}-sets"
        planned = [*self._listed(read), *self._bundled(read)]
        self._check_names(planned)
        if not planned and not self.problems:
            self._note(
                ("classes",),
                "there is no class. Write [[classes]] with name and roster, or "
                "[school] with oneroster.",
            )
        return Plan(
            title=read.school.title or folder,
            folder=self.path.parent / folder,
            language=read.defaults.languages[0],
            classes=tuple(planned),
        )

    def _listed(self, read: _PlanFile) -> Iterator[PlannedClass]:
        for number, own in enumerate(read.classes):
            place = ("classes", number)
            if said := _name_problem(own.name):
                self._note((*place, "name"), said)
            listed = self._class_list((*place, "roster"), own)
            request = self._request(own.over(read.defaults), listed, place, own.own)
            if request is not None:
                yield PlannedClass(
                    name=own.name,
                    title=own.title or own.name,
                    request=request,
                    rubric=self._rubric_file(own.over(read.defaults)),
                )

    def _class_list(self, place: _Place, own: _Class) -> ClassList:
        path = self.path.parent / own.roster
        try:
            return read_class_list(path, own.class_id or None)
        except RosterError as error:
            self.problems += error.problems
        except OSError as error:
            self._note(place, f"{path} cannot be read ({error.strerror}). Mend that.")
        return ClassList(students=())

    def _bundled(self, read: _PlanFile) -> Iterator[PlannedClass]:
        if not read.school.oneroster:
            return
        path = self.path.parent / read.school.oneroster
        try:
            found = read_all_classes(path)
        except RosterError as error:
            self.problems += error.problems
            return
        taken = {own.class_id for own in read.classes if own.class_id}
        titles = Counter(_folder_name(one.title).casefold() for one in found)
        for one in found:
            listed = ClassList(students=one.students, school_class=one.its)
            request = self._request(read.defaults, listed)
            name = _folder_name(one.title)
            if not name or titles[name.casefold()] > 1:
                name = _with_id(name, one.its.id)
            if request is not None and one.its.id not in taken:
                yield PlannedClass(
                    name=name,
                    title=one.title,
                    request=request,
                    rubric=self._rubric_file(read.defaults),
                    left_out=" ".join(problem.message for problem in one.problems),
                )

    def _request(
        self,
        asked: _Asked,
        listed: ClassList,
        place: _Place = _DEFAULTS,
        own: Collection[str] = (),
    ) -> Request | None:
        """Put together what a class gets; None where something of it is at fault.

        What stands at its ``place`` are the keys ``own``; the others are defaults.
        """

        def at(*keys: str) -> _Place:
            return (*(place if set(keys) & set(own) else _DEFAULTS), keys[0])

        lessons = self._lessons(at("lessons"), asked.lessons)
        method = self._method(asked)
        observed = self._observed(at("difficulty"), asked.difficulty)
        if len(listed.students) > MAX_STUDENTS:
            self._note(
                place,
                f"has {len(listed.students)} students. A set is for {MAX_STUDENTS} at "
                "most: make two classes of it.",
            )
        if asked.mode == "examination" and len(asked.languages) > 1:
            told = "an examination is in one language. Name one."
            self._note(at("languages", "mode"), told)
        if lessons is None or method is None:
            return None
        return Request(
            lessons=lessons,
            students=listed.students,
            exercises=asked.exercises,
            mode=asked.mode,
            causes=asked.causes,
            school_class=listed.school_class,
            language=asked.languages[0],
            also_in=tuple(dict.fromkeys(asked.languages))[1:],
            method=method,
            observed=observed,
        )

    def _lessons(self, place: _Place, names: tuple[str, ...]) -> tuple[str, ...] | None:
        wanted = tuple(
            name if name in self.ours else str((self.path.parent / name).resolve())
            for name in names or self.ours
        )
        if wanted not in self.sound:
            self.sound[wanted] = self._are_sound(place, wanted)
        return wanted if self.sound[wanted] else None

    def _are_sound(self, place: _Place, names: tuple[str, ...]) -> bool:
        try:
            ids = [book.lesson.id for book in read_course(names).lessons]
        except LessonError as error:
            self.problems += error.problems
            return False
        if len(set(ids)) < len(ids):
            told = f"{', '.join(ids)}: one comes twice. Name each lesson once."
            self._note(place, told)
        return True

    def _rubric_file(self, asked: _Asked) -> Path | None:
        return self.path.parent / asked.rubric if asked.rubric else None

    def _method(self, asked: _Asked) -> tuple[Step, ...] | None:
        path = self._rubric_file(asked)
        if path is None:
            return DEFAULT_METHOD
        try:
            return read_rubric(path).method
        except RubricError as error:
            self.problems += error.problems
            return None

    def _observed(self, place: _Place, name: str) -> Observed:
        """How hard exercises have proved to be, by the file that is named."""
        if not name:
            return NOTHING
        try:
            return read_observed(self.path.parent / name)
        except ClassSetError as error:
            self._note(place, str(error))
            return NOTHING

    def _check_names(self, planned: list[PlannedClass]) -> None:
        counts = Counter(one.name.casefold() for one in planned)
        doubled = {one.name for one in planned if counts[one.name.casefold()] > 1}
        for name in sorted(doubled):
            self._note(
                ("classes",),
                f"name {name!r} stands for two classes. Give each a name of its own; "
                "small and capital letters are the same.",
            )

    def _note(self, place: _Place, message: str) -> None:
        where = ".".join(map(str, place))
        if self.file is not None:
            problem = self.file.problem(place, f"{where}: {message}")
        else:
            problem = Problem(path=self.path, line=None, message=message)
        self.problems.append(problem)


def _name_problem(name: str) -> str:
    """Say why a folder cannot be called so; empty where it can."""
    # A folder may be called as a student may.
    if not id_problem(name, seen=(OWN_FOLDER,)):
        return ""
    return (
        f"{name!r} cannot name a folder. Write 1 to 40 of the letters a to z, digits "
        "and ._@+-, with a letter or digit first and no stop last, and what no system "
        "keeps for itself."
    )


def _folder_name(title: str) -> str:
    """Make a name of a folder of what a school calls a class.

    Examples
    --------
    >>> _folder_name("Kfz-Mechatronik 10 ä")
    'Kfz-Mechatronik-10-a'
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode()
    name = re.sub(r"[^A-Za-z0-9._+-]+", "-", plain).strip("-._+")[:40].rstrip("-.")
    return f"{name}-class" if is_reserved(name) else name


def _with_id(name: str, class_id: str) -> str:
    """Put the id of a class behind the name of its folder, which is cut to make room.

    Examples
    --------
    >>> _with_id("Mechatronics-and-automotive-electronics", "class-b")
    'Mechatronics-and-automotive-elec-class-b'
    """
    own = _folder_name(class_id)
    room = max(0, 40 - len(f"-{own}"))
    return f"{name[:room].rstrip('-.')}-{own}".strip("-")
