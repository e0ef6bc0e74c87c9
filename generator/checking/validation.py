"""Checks a class set: every workbook sound, every exercise proved again.

References
----------
``junit-10.xsd`` of the Jenkins xUnit plugin, 2014 (read in the copy that pytest keeps,
``testing/example_scripts/junit-10.xsd``): the elements and attributes of its report.
"""

from __future__ import annotations

import json
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from nbformat.validator import iter_validate

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
from generator.workbooks.class_workbooks import readings_of
from generator.workbooks.notebook import notebook_text
from generator.workbooks.workbook import Workbook
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


class Paper(Protocol):
    """Checks the paper of a set along with its workbooks."""

    @property
    def problems(self) -> Mapping[Path, list[str]]:
        """What is wrong, by file."""

    def take(self, workbook: Workbook, forbidden: Forbidden) -> None:
        """Check one student's handout."""

    def finish(self) -> None:
        """Check what is of the whole class."""


def validate_set(
    class_set: ClassSet,
    opened: tuple[ClassSecret, AnswerKey],
    again: Iterable[Workbook],
    paper: Paper,
    progress: Progress = lambda *_: None,
) -> Validation:
    """Find everything that is wrong with a class set.

    Parameters
    ----------
    opened : pair of ClassSecret and AnswerKey
        The secret and the answer key.
    again : iterable of Workbook
        Drawn again.
    paper : Paper
        Is told of each workbook.
    progress : callable
    """
    secret, key = opened
    left = {(each.student, each.exercise) for each in key.exercises}
    made, count = Validation(), len(class_set.request.students)
    hard: list[tuple[str, float]] = []
    with Runner() as runner:
        for number, workbook in enumerate(again, 1):
            path = class_set.workbook_file(workbook.student)
            own = key.whole_of(workbook.student)
            forbidden = forbidden_strings(secret.value, own)
            names = class_set.workbook_names(workbook.student)
            for spoken in class_set.request.also_in:
                other = class_set.workbook_file(workbook.student, spoken)
                with speaking(spoken):
                    made.workbooks[_name(class_set, other)] = _problems_of_file(
                        other, workbook, forbidden, names
                    )
            with speaking(class_set.request.language):
                problems = _problems_of_file(path, workbook, forbidden, names)
                problems += _other_readings(workbook, key)
                titles = tuple(map(title_of, workbook.exercises))
            # What has been changed is not run.
            made.workbooks[_name(class_set, path)] = problems or runner.problems_of(
                path, titles
            )
            paper.take(workbook, forbidden)
            with speaking(key.language):
                made.exercises.update(_proved_again(workbook, own))
            left -= {(workbook.student, n + 1) for n in range(len(workbook.exercises))}
            hard += [(workbook.student, difficulty_of(e)) for e in workbook.exercises]
            progress("validating", number, count)
    paper.finish()
    made.paper.update((_name(class_set, p), why) for p, why in paper.problems.items())
    made.workbooks.update(_strays(class_set, {*made.workbooks, *made.paper}))
    made.exercises.update({_place(*at): [_UNKNOWN] for at in sorted(left)})
    if class_set.request.mode != "practice":
        made.whole["difficulty"] = _unfair(class_difficulty(hard))
    return made


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
