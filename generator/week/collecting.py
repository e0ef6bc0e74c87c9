"""What comes back: put in, accounted for, or typed in from paper."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import astuple, dataclass, replace
from pathlib import Path, PurePosixPath

from answer_keys.hand_ins.limits import MAX_FOLDER_DEPTH, MAX_ZIP_BYTES, refuse_above
from answer_keys.hand_ins.listing import is_typed
from answer_keys.hand_ins.typed_answers import typed_hand_ins
from answer_keys.hand_ins.typed_table import Row, table_text
from answer_keys.headway import Progress
from answer_keys.keys.key_record import KeyRecord
from answer_keys.keys.wording import letter_of
from answer_keys.marking.marker import Marker
from answer_keys.marking.rubric import read_rubric
from answer_keys.visible_text import name_text
from answer_keys.written_files import write_private
from generator.drawing.request import Student
from generator.grading.processes import mark_in_processes
from generator.sets.class_set import ClassSet
from generator.week.examination import hand_in_examination
from generator.week.opened import OpenedSet, check_student
from workbook.texts import _, speaking

_FROM_STUDENTS = "returned"
_NOT_IN_NAMES = dict.fromkeys(map(ord, '<>:"\\|?*'), "_")
_MAX_NAME = 120


def put_in(class_set: ClassSet, name: str, data: bytes) -> str:
    """Put a file that came back among the others, under a name that is free.

    Parameters
    ----------
    name : str
        As it came, with folders that may tell whose it is. A table lies in a folder
        always: what students send is never read as typed answers.

    Returns
    -------
    str
        Its name below ``handed-in``; that of an earlier file with the same bytes.

    Raises
    ------
    RefusedError
        Where the file is too large.
    """
    refuse_above(MAX_ZIP_BYTES, len(data), _("The file is larger than {most} bytes."))
    wanted = _safe(name)
    if is_typed(wanted.name) and len(wanted.parts) == 1:
        wanted = PurePosixPath(_FROM_STUDENTS) / wanted
    path = _free(class_set.handed_in / wanted, data)
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.exists():
        write_private(path, data)
    return path.relative_to(class_set.handed_in).as_posix()


def _safe(name: str) -> PurePosixPath:
    """Make a path that leads nowhere else, and that every system can hold."""
    parts = PurePosixPath(name.replace("\\", "/")).parts
    # What is dots alone comes to nothing here, so that no part leads upwards.
    kept = [name_text(part).translate(_NOT_IN_NAMES).strip(" .") for part in parts]
    # Of a long name the end is kept, which has the ending that readers go by.
    kept = [part[-_MAX_NAME:] for part in kept if part.strip("/_")]
    return PurePosixPath(*kept[-MAX_FOLDER_DEPTH:] or ["file"])


def _free(wanted: Path, data: bytes) -> Path:
    path, number = wanted, 1
    while path.exists() and not (path.is_file() and path.read_bytes() == data):
        number += 1
        path = wanted.with_name(f"{wanted.stem}-{number}{wanted.suffix}")
    return path


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """One file that came back.

    Attributes
    ----------
    name : str
        Below ``handed-in``; members of archives as ``class.zip/member``.
    student : str
        Whose it says it is; empty where it is refused.
    refusal : str
        Why it cannot be graded, as a sentence for the instructor.
    """

    name: str
    student: str = ""
    refusal: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Collected:
    """Every file that came back, and who has handed in."""

    files: tuple[Returned, ...]
    handed_in: tuple[Student, ...]
    missing: tuple[Student, ...]


def marker_of(opened: OpenedSet) -> Marker:
    """What marks the hand-ins of a set, by its rubric as it stands now."""
    return Marker(
        key=opened.key,
        rubric=read_rubric(opened.class_set.rubric_file),
        students=frozenset(id_ for id_, _ in opened.class_set.roster),
    )


def collect(opened: OpenedSet, tell: Progress = lambda *_: None) -> Collected:
    """Read all that came back as grading does, and record nothing.

    Raises
    ------
    RubricError
        Where the rubric is at fault.
    """
    class_set = opened.class_set
    students = class_set.request.students
    class_set.handed_in.mkdir(exist_ok=True)
    hand_in_examination(opened)
    files = list[Returned]()
    marker = marker_of(opened)
    for marked in mark_in_processes(marker, class_set.handed_in, workers=None):
        student = "" if marked.work is None else marked.work.student
        files.append(
            Returned(name=marked.name, student=student, refusal=marked.refusal)
        )
        tell("grading", len(files), 0)
    there = {one.student for one in files}
    return Collected(
        files=tuple(sorted(files, key=lambda one: one.name)),
        handed_in=tuple(one for one in students if one.id in there),
        missing=tuple(one for one in students if one.id not in there),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A step that a handout asks for, as its answer is typed in.

    Attributes
    ----------
    step : str
        ``prediction``, ``test``, ``finding``, ``conclusion``, ``verification`` or
        ``answer``.
    item : str
        Number of the prediction, test or question on the handout; empty where the step
        has only one.
    unit : str
        Of a number; empty where the answer is one of ``first``, or lines.
    first, second : tuple of (str, str)
        What can be answered, with its words on the handout; ``second`` stands in
        ``second_answer``.
    lines : tuple of str
        Labels of lines to write, with ``|`` between them.
    is_ordered : bool
        Whether each letter of ``first`` is written once, in an order.
    """

    step: str
    item: str
    label: str
    unit: str = ""
    first: tuple[tuple[str, str], ...] = ()
    second: tuple[tuple[str, str], ...] = ()
    lines: tuple[str, ...] = ()
    is_ordered: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperExercise:
    """One exercise of a handout, with all that can be answered there."""

    number: int
    title: str
    asked: tuple[Asked, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperAnswer:
    """What a student wrote for one step; answers stand in the order of doing."""

    exercise: int
    step: str
    item: str = ""
    answer: str = ""
    second_answer: str = ""


def paper_form(opened: OpenedSet, student: str) -> tuple[PaperExercise, ...]:
    """Give what a student's handout asks for.

    A test has its finding after it, each as often as it was done.

    Raises
    ------
    ClassSetError
        Where there is no such student.
    """
    check_student(opened.class_set, student)
    # In the words of the key, which are those of the set's handouts.
    with speaking(opened.key.language):
        return _asked_of(opened.key.of_student(student))


def _asked_of(records: Mapping[int, KeyRecord]) -> tuple[PaperExercise, ...]:
    return tuple(
        PaperExercise(
            number=number,
            title=record.title,
            asked=tuple(_questions(record) if record.questions else _steps(record)),
        )
        for number, record in sorted(records.items())
    )


def _questions(record: KeyRecord) -> Iterator[Asked]:
    for number, one in enumerate(record.questions, start=1):
        yield Asked(
            step="answer",
            item=str(number),
            label=one.label,
            unit=one.unit,
            first=tuple(
                (letter_of(place), option.label)
                for place, option in enumerate(one.options, start=1)
            ),
            lines=tuple(line.label for line in one.lines),
            is_ordered=one.kind == "order",
        )


def _steps(record: KeyRecord) -> Iterator[Asked]:
    given = record.start.given_predictions
    for number, one in enumerate(record.predictions, start=1):
        if one.id not in given:
            yield Asked(
                step="prediction", item=str(number), label=one.label, unit=one.unit
            )
    for number, test in enumerate(record.tests, start=1):
        words = tuple((_(word), _(word)) for word in test.outcomes)
        stated = tuple((one.id, one.text) for one in test.statements)
        ordered = Asked(step="test", item=str(number), label=test.title, first=words)
        yield ordered
        yield replace(ordered, step="finding", second=stated)
    yield Asked(
        step="conclusion",
        item="",
        label="",
        first=tuple((one.id, one.label) for one in record.causes),
        second=tuple((one.id, one.label) for one in record.corrections),
    )
    asked = record.verification
    yield Asked(step="verification", item="", label=asked.label, unit=asked.unit)


def paper_file(student: str) -> str:
    """Name the table that holds what one student wrote on paper."""
    return f"typed-{student}.csv"


def _on_handout(row: Row) -> str:
    """Say where the answer of a row stands: whoever types it in sees no rows."""
    steps = {
        "prediction": _("prediction {n}"),
        "test": _("test {n}"),
        "finding": _("finding of test {n}"),
        "conclusion": _("cause and correction"),
        "verification": _("after the repair"),
        "answer": _("question {n}"),
    }
    step = steps.get(row.step, row.step).format(n=row.item)
    return _("Exercise {n}, {step}").format(n=row.exercise, step=step)


def keep_paper(opened: OpenedSet, student: str, answers: Sequence[PaperAnswer]) -> Path:
    """Keep what a student wrote on paper, in place of what was typed before.

    Returns
    -------
    pathlib.Path
        The table that grading reads.

    Raises
    ------
    RefusedError
        With every fault, one a line; nothing is written then.
    ClassSetError
        Where there is no such student.
    """
    check_student(opened.class_set, student)
    rows = ((opened.class_set.set_id, student, *astuple(one)) for one in answers)
    path = opened.class_set.handed_in / paper_file(student)
    data = table_text(rows).encode()
    # Read as grading will read it, and written only where that finds no fault.
    typed_hand_ins(path.name, data, opened.key, place=_on_handout)
    write_private(path, data)
    return path
