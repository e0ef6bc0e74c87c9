"""Checks a class set: every workbook sound, every exercise proved again.

References
----------
``junit-10.xsd`` of the Jenkins xUnit plugin, 2014 (read in the copy that pytest keeps,
``testing/example_scripts/junit-10.xsd``): the elements and attributes of its report.
"""

from __future__ import annotations

import json
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from answer_keys.headway import Progress
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.keys.whole_record import WholeRecord
from answer_keys.visible_text import visible
from generator.checking.agreement import first_difference
from generator.checking.exercise_check import problems_of_exercise
from generator.checking.leaks import Forbidden, forbidden_strings, leaks_in
from generator.checking.running import Runner
from generator.drawing.difficulty import (
    LARGEST_SPREAD_FRAC,
    ClassDifficulty,
    class_difficulty,
    difficulty_of,
)
from generator.questions.asked import title_of
from generator.sets.class_set import ClassSet
from generator.sets.paper_parts import PaperPart, paper_parts
from generator.workbooks.class_workbooks import ClassWorkbooks, readings_of
from generator.workbooks.notebook import notebook_text
from generator.workbooks.workbook import Workbook
from generator.workers import each_of
from workbook.errors import SealError
from workbook.record.sealed import unseal
from workbook.texts import speaking


def junit_text(groups: Mapping[str, Mapping[str, Sequence[str]]]) -> str:
    """Write the report: one case an exercise and one a file, failures with their text.

    Times are left out, so that the same set gives the same report.

    Parameters
    ----------
    groups : mapping
        What was checked, by group and by what it is: its problems, none where sound.
    """
    suites = Element("testsuites", name="clampbook validate")
    for name, cases in groups.items():
        if cases:
            suites.append(_suite(name, cases))
    indent(suites)
    return str(tostring(suites, encoding="unicode", xml_declaration=False)) + "\n"


def _suite(name: str, cases: Mapping[str, Sequence[str]]) -> Element:
    failures = sum(1 for problems in cases.values() if problems)
    suite = Element(
        "testsuite",
        name=name,
        tests=str(len(cases)),
        failures=str(failures),
        errors="0",
    )
    for place, problems in cases.items():
        case = SubElement(suite, "testcase", name=visible(place), classname=name)
        if problems:
            # XML can hold no hidden characters at all.
            texts = [visible(problem) for problem in problems]
            failure = SubElement(case, "failure", type="unsound", message=texts[0])
            failure.text = "\n".join(texts)
    return suite


@dataclass(frozen=True, slots=True, kw_only=True)
class Validation:
    """What was checked, and what is wrong with it; an empty list is sound.

    Attributes
    ----------
    workbooks : dict of str to list of str
        By file: all that students get or should get.
    paper : dict of str to list of str
        By file: handouts and reading slips, where they were written.
    exercises : dict of str to list of str
        By student and number.
    whole : dict of str to list of str
        What holds for the class as a whole.
    """

    workbooks: dict[str, list[str]] = field(default_factory=dict)
    paper: dict[str, list[str]] = field(default_factory=dict)
    exercises: dict[str, list[str]] = field(default_factory=dict)
    whole: dict[str, list[str]] = field(default_factory=dict)

    @property
    def groups(self) -> dict[str, dict[str, list[str]]]:
        """Everything that was checked, by what it is."""
        return {
            "workbooks": self.workbooks,
            "paper": self.paper,
            "exercises": self.exercises,
            "class": self.whole,
        }

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not any(self.lines())

    def lines(self) -> Iterator[str]:
        """Return one line for each workbook and exercise that is not sound."""
        for group in self.groups.values():
            for name, problems in group.items():
                if problems:
                    yield f"{name}: {'; '.join(problems)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Checked:
    """What is wrong with all that one student gets.

    Attributes
    ----------
    workbooks, exercises : dict of str to list of str
        As `Validation` has them.
    paper, slips : dict of Path to list of str, tuple
        As `Paper` gives them.
    titles : tuple of str
        What the exercises are called.
    hard : tuple of float
        How hard each is.
    """

    student: str
    workbooks: dict[str, list[str]]
    exercises: dict[str, list[str]]
    paper: dict[Path, list[str]]
    slips: tuple[Any, ...]
    titles: tuple[str, ...]
    hard: tuple[float, ...]


class Paper(Protocol):
    """Checks the paper that was made of a set; goes to other processes whole."""

    def checked(
        self, workbook: Workbook, forbidden: Forbidden
    ) -> tuple[dict[Path, list[str]], tuple[Any, ...]]:
        """Give what is wrong with a student's, and what several have together."""

    def of_part(
        self, part: PaperPart, slips: Sequence[Any], key: AnswerKey
    ) -> dict[Path, list[str]]:
        """Give what is wrong with that of several students."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetCheck:
    """Checks a class set, student by student; goes to other processes whole."""

    class_set: ClassSet
    secret: ClassSecret
    key: AnswerKey
    again: ClassWorkbooks
    paper: Paper

    def __call__(self, student: str) -> _Checked:
        """Find everything that is wrong with what a student gets, but run nothing."""
        class_set, key, workbook = self.class_set, self.key, self.again.of(student)
        own = key.whole_of(student)
        forbidden = forbidden_strings(self.secret.value, own)
        names, files = class_set.workbook_names(student), dict[str, list[str]]()
        # The first language last: ``problems`` is then that of its file, and goes on
        # below.
        for spoken in class_set.request.languages[::-1]:
            path = class_set.workbook_file(student, spoken)
            with speaking(spoken):
                problems = _problems_of_file(path, workbook, forbidden, names)
                files[_name(class_set, path)] = problems
        with speaking(class_set.request.language):
            problems += _other_readings(workbook, key)
            titles = tuple(map(title_of, workbook.exercises))
        paper, slips = self.paper.checked(workbook, forbidden)
        with speaking(key.language):
            proved = dict(_proved_again(workbook, own))
        return _Checked(
            student=student,
            workbooks=files,
            exercises=proved,
            paper=paper,
            slips=slips,
            titles=titles,
            hard=tuple(map(difficulty_of, workbook.exercises)),
        )


# Kernels are the same for all workbooks: what stops one stops these.
_RUN = 3


def validate_set(
    check: SetCheck,
    progress: Progress = lambda *_: None,
    *,
    processes: int = 1,
    is_all_run: bool = False,
) -> Validation:
    """Find everything that is wrong with a class set.

    Parameters
    ----------
    processes : int
        That check students.
    is_all_run : bool
        Whether every workbook is run; else the first, the last and one between.
    """
    class_set, key = check.class_set, check.key
    students = [student.id for student in class_set.request.students]
    left = {(each.student, each.exercise) for each in key.exercises}
    made, slips = Validation(), list[Any]()
    hard, count = list[tuple[str, float]](), len(students)
    # By the last student of each: then all of it is there.
    parts = {part.students[-1].id: part for part in paper_parts(class_set)}
    # The first, the middle and the last.
    run = {round(n * (count - 1) / (_RUN - 1)) for n in range(_RUN)}
    with closing(each_of(check, students, processes)) as checked, Runner() as runner:
        for number, one in enumerate(checked):
            path = class_set.workbook_file(one.student)
            problems = one.workbooks[_name(class_set, path)]
            # What has been changed is not run.
            if not problems and (is_all_run or number in run):
                problems += runner.problems_of(path, one.titles)
            made.workbooks.update(one.workbooks)
            made.exercises.update(one.exercises)
            made.paper.update(_by_name(class_set, one.paper))
            slips += one.slips
            if part := parts.get(one.student):
                found = check.paper.of_part(part, slips, key)
                made.paper.update(_by_name(class_set, found))
                slips.clear()
            # What is in the key and is drawn for nobody stays over.
            left -= {(one.student, n + 1) for n in range(len(one.titles))}
            hard += [(one.student, percent) for percent in one.hard]
            progress("validating", number + 1, count)
    made.workbooks.update(_strays(class_set, {*made.workbooks, *made.paper}))
    made.exercises.update({_place(*at): [_UNKNOWN] for at in sorted(left)})
    if class_set.request.mode != "practice":
        made.whole["difficulty"] = _unfair(class_difficulty(hard))
    return made


def _by_name(
    class_set: ClassSet, problems: Mapping[Path, list[str]]
) -> dict[str, list[str]]:
    return {_name(class_set, path): why for path, why in problems.items()}


def _unfair(found: ClassDifficulty) -> list[str]:
    """Whether the set is equally hard for all students of a class."""
    most = f"{100 * LARGEST_SPREAD_FRAC:g} %"
    return [] if found.is_fair else [f"{found.text}, more than {most}. Draw it anew."]


_UNKNOWN = "is in the answer key, but in no workbook"


def _proved_again(
    workbook: Workbook, records: Iterable[WholeRecord]
) -> Iterator[tuple[str, list[str]]]:
    """Return the problems of each exercise of a workbook, by its key records."""
    by_number = {record.exercise: record for record in records}
    for number, exercise in enumerate(workbook.exercises, start=1):
        record = by_number.get(number)
        yield (
            _place(workbook.student, number),
            ["is not in the answer key"]
            if record is None
            else problems_of_exercise(record, exercise),
        )


def _place(student: str, number: int) -> str:
    return f"{student} exercise {number}"


def _name(class_set: ClassSet, path: Path) -> str:
    return path.relative_to(class_set.folder).as_posix()


def _strays(class_set: ClassSet, known: Container[str]) -> dict[str, list[str]]:
    """Files that would be given out with the workbooks, and are none of them."""
    below = sorted((class_set.folder / "for-students").rglob("*"))
    # A link, to a folder too, would be given out as what it points to.
    names = [_name(class_set, p) for p in below if p.is_symlink() or not p.is_dir()]
    return {
        name: ["is no file of this set: remove it before you give the folder out"]
        for name in names
        if name not in known
    }


def _problems_of_file(
    path: Path, workbook: Workbook, forbidden: Forbidden, names: Mapping[str, str]
) -> list[str]:
    """What is wrong with a workbook as it lies on the disk, in the language spoken."""
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ["is missing"]
    except (OSError, UnicodeDecodeError) as error:
        return [f"cannot be read ({error})"]
    try:
        notebook = _valid(text)
    except ValueError as error:
        return [f"is no valid notebook: {str(error).splitlines()[0]}"]
    problems = _unfit_cells(notebook)
    if not _agree(text, notebook_text(workbook, names)):
        problems.append(
            "is not what its secret gives: the file, the lesson or the software "
            "has changed since it was written"
        )
    return [*problems, *leaks_in(text, forbidden, workbook.mode)]


def _other_readings(workbook: Workbook, key: AnswerKey) -> list[str]:
    """Whether an examination would give other readings than the secret does."""
    right = readings_of(workbook) if workbook.mode == "examination" else {}
    if key.readings_of(workbook.student) == right:
        return []
    return ["its readings in the answer key are not what its secret gives"]


def _valid(text: str) -> dict[str, Any]:
    """Read a notebook, or raise why it is none."""
    try:
        content = json.loads(text)
    except RecursionError as error:
        raise ValueError("it is nested too deep") from error
    if not isinstance(content, dict):
        raise ValueError("it does not hold a table")
    # Loaded here alone: it brings as much along as all that we are.
    from nbformat.validator import iter_validate

    fault = next(iter_validate(content, version=4, version_minor=5), None)
    if fault is not None:
        raise ValueError(str(fault))
    return content


def _agree(text: str, again: str) -> bool:
    """Whether a workbook is what its secret gives, its sealed numbers but for rounding.

    Also, not every release of the library that seals packs into the same bytes.
    """
    try:
        own, right = (
            json.loads(each)["metadata"]["clampbook"]["sealed"]
            for each in (text, again)
        )
        is_rounded = first_difference(unseal(own), unseal(right)) is None
    except (KeyError, TypeError, SealError):
        return False
    # All but the sealed part has to be the same to the letter.
    return is_rounded and text.replace(own, right) == again


def _unfit_cells(notebook: Mapping[str, Any]) -> list[str]:
    """What a workbook's cells must not have, and do."""
    problems = []
    for cell in notebook["cells"]:
        if cell.get("outputs") or cell.get("execution_count"):
            problems.append(f"cell {cell['id']} has outputs. Clear them.")
        if any(cell["metadata"].get(lock, True) for lock in ("editable", "deletable")):
            problems.append(f"cell {cell['id']} is not locked")
    if "widgets" in notebook["metadata"]:
        problems.append("holds stored widget state. Clear it.")
    return problems
