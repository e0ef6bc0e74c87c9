"""Writes a class set to disk, whole or not at all, and draws one again."""

from __future__ import annotations

import math
import shutil
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path

from answer_keys.headway import Progress
from answer_keys.interchange.school_class import OneRosterClass
from answer_keys.keys.answer_key import AnswerKey, pack, pack_readings
from answer_keys.keys.class_secret import (
    ClassSecret,
    new_class_secret,
    write_class_secret,
)
from answer_keys.keys.sealing import write_sealed_key
from answer_keys.marking.rubric import read_rubric, rubric_text
from answer_keys.method import DEFAULT_METHOD, Step, step_text
from answer_keys.written_files import new_private_folder, write_private, write_text
from generator.drawing.course import Course, read_course
from generator.drawing.request import Request, Student
from generator.errors import ClassSetError
from generator.sets.class_set import FORMAT, ClassSet, write_asked
from generator.sets.drafts import (
    OPEN_FOLDERS,
    PRIVATE_FOLDERS,
    SET_FILE,
    draft_of,
    drop_abandoned,
)
from generator.workbooks.class_workbooks import (
    ClassWorkbooks,
    class_workbooks,
    readings_of,
    records_of,
    set_id_of,
)
from generator.workbooks.notebook import notebook_text
from generator.workbooks.workbook import Workbook
from generator.workers import each_of, processes_for
from lessons.loader import lesson_ids
from workbook.texts import _, speaking

# A process takes about a second to begin: as long as it takes to draw so many.
_EXERCISES_EACH = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What is written of one student.

    It hangs on lessons, request and class secret alone, so that it may be drawn in
    another process or on another machine.

    Attributes
    ----------
    notebooks : mapping of str to str
        The text of the workbook by language.
    packed : bytes
        The records of the answer key.
    readings : bytes
        Those of an examination, for the answer key; empty in any other set.
    """

    student: str
    notebooks: Mapping[str, str]
    packed: bytes
    readings: bytes = b""


Parts = Generator[Part, None, None]
DrawParts = Callable[[Course, Request, ClassSecret], Parts]
"""Draws what each student gets: in this process, or in others. Closed, it ends them."""


def parts_of_class(
    course: Course, request: Request, secret: ClassSecret, workers: int | None = None
) -> Parts:
    """Draw what each student of a class gets, in the order of the class.

    Parameters
    ----------
    workers : int or None
        Processes that draw; None is as many as are worth their start here.

    Raises
    ------
    ClassDrawError
        Where nothing can be drawn of a lesson.
    WorkerError
        Where a process that drew was ended from outside.
    """
    drawn = class_workbooks(course, request, secret)
    unwritten = ClassSet(folder=Path(), set_id=set_id_of(secret), request=request)
    students = [student.id for student in request.students]
    processes = student_processes(request, workers)
    yield from each_of(partial(_part, drawn, unwritten), students, processes)


def _part(drawn: ClassWorkbooks, its: ClassSet, student: str) -> Part:
    workbook, notebooks = drawn.of(student), dict[str, str]()
    names = its.workbook_names(student)
    for spoken in names:
        with speaking(spoken):
            notebooks[spoken] = notebook_text(workbook, names)
    is_examined = its.request.mode == "examination"
    with speaking(its.request.language):
        return Part(
            student=student,
            notebooks=notebooks,
            packed=pack(records_of(workbook)),
            readings=pack_readings(readings_of(workbook)) if is_examined else b"",
        )


def student_processes(request: Request, workers: int | None) -> int:
    """Tell how many processes are worth their start where students are drawn.

    Parameters
    ----------
    workers : int or None
        As many as are asked for; None leaves it to how much there is to draw.
    """
    at_least = math.ceil(_EXERCISES_EACH / request.exercises)
    return processes_for(workers, len(request.students), at_least)


def write_class_set(
    folder: Path,
    request: Request,
    passphrase: str | None = None,
    progress: Progress = lambda *_: None,
    rubric: Path | None = None,
    secret: ClassSecret | None = None,
    draw: DrawParts = parts_of_class,
) -> ClassSet:
    """Draw and write a new class set into a folder that does not exist yet.

    It appears whole under its name or not at all. A rubric of one's own becomes its
    rubric, and the method in it that of its pages. All that is drawn hangs on the
    ``secret``; a new one is made where none is given. It is the same whoever draws.

    Raises
    ------
    ClassSetError
        Where the folder exists or cannot be written.
    LessonError
        Where a lesson is at fault.
    ClassDrawError
        Where nothing can be drawn of a lesson.
    RubricError
        Where the rubric is at fault.
    """
    _check_new(folder)
    # Its readings are in the key in one language, in which the room gives them.
    if request.also_in and request.mode == "examination":
        raise ClassSetError(
            folder, _("an examination is in one language. Name one --language.")
        )
    course = read_course(request.lessons)
    ids = [book.lesson.id for book in course.lessons]
    if len(set(ids)) < len(ids):
        raise ClassSetError(
            folder,
            _("lessons {ids}: one comes twice. Name each lesson once.").format(
                ids=", ".join(ids)
            ),
        )
    told = rubric_text(course.lessons[0].lesson.rubric)
    if rubric is not None:
        request = replace(request, method=read_rubric(rubric).method)
        told = rubric.read_text("utf-8-sig")
    secret = secret or new_class_secret()
    with closing(draw(course, request, secret)) as parts:
        return write_drawn_set(
            folder, request, parts, told, (secret, passphrase), progress
        )


def write_drawn_set(
    folder: Path,
    request: Request,
    parts: Iterable[Part],
    rubric: str,
    sealing: tuple[ClassSecret, str | None],
    progress: Progress = lambda *_: None,
) -> ClassSet:
    """Write a class set of parts that are drawn, whole or not at all.

    Parameters
    ----------
    rubric : str
        Text of its rubric file, by whose method the parts were drawn.
    sealing : (ClassSecret, str or None)
        What the parts were drawn from, and the passphrase that protects it.

    Raises
    ------
    ClassSetError
        Where the folder exists or cannot be written; else whatever drawing raises.
    """
    _check_new(folder)
    secret, passphrase = sealing
    drop_abandoned(folder.parent)
    draft = draft_of(folder)
    try:
        draft.mkdir(parents=True)
    except OSError as error:
        raise ClassSetError(
            folder,
            _("cannot be written here ({strerror})").format(strerror=error.strerror),
        ) from error
    made = ClassSet(folder=draft, set_id=set_id_of(secret), request=request)
    try:
        _write_frame(made, rubric, secret, passphrase)
        _write_workbooks(made, parts, secret, progress)
        # One step of the file system: the set is there whole or not at all.
        draft.rename(folder)
    # Also where the instructor stops it: what is half written holds the secret.
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise
    return replace(made, folder=folder)


def _check_new(folder: Path) -> None:
    if folder.exists():
        raise ClassSetError(
            folder,
            _("exists already and is never overwritten. Choose a new name."),
        )


def _write_workbooks(
    made: ClassSet,
    parts: Iterable[Part],
    secret: ClassSecret,
    progress: Progress,
) -> None:
    request = made.request
    packed, readings = dict[str, bytes](), dict[str, bytes]()
    for number, part in enumerate(parts, start=1):
        path = made.workbook_file(part.student)
        path.parent.mkdir(parents=True)
        names = made.workbook_names(part.student)
        for spoken, text in part.notebooks.items():
            write_text(path.with_name(names[spoken]), text)
        packed[part.student] = part.packed
        if part.readings:
            readings[part.student] = part.readings
        progress("drawing", number, len(request.students))
    key = AnswerKey(
        set_id=made.set_id,
        edition=request.edition,
        mode=request.mode,
        packed=packed,
        history=request.needs.history if request.needs else {},
        readings=readings,
        has_own_causes=request.has_own_causes,
        language=request.language,
    )
    write_sealed_key(made.key_file, secret, key)


def _write_frame(
    made: ClassSet,
    rubric: str,
    secret: ClassSecret,
    passphrase: str | None,
) -> None:
    """Write all of a set but its workbooks and its key."""
    for name in OPEN_FOLDERS:
        (made.folder / name).mkdir()
    for name in PRIVATE_FOLDERS:
        new_private_folder(made.folder / name)
    write_private(made.folder / SET_FILE, _set_toml(made).encode())
    write_class_secret(made.secret_file, secret, passphrase)
    write_text(made.rubric_file, rubric)
    if made.request.needs is not None:
        write_asked(made.needs_file, made.request.needs)
    if made.request.observed.after:
        write_asked(made.observed_file, made.request.observed)
    roster = made.folder / "for-instructor" / "roster.csv"
    write_private(roster, _roster_csv(made.request.students).encode())
    # Whatever becomes of this folder, the secret and the key stay out of a repository.
    write_text(made.folder / "for-instructor" / ".gitignore", "*\n")


def _roster_csv(students: Sequence[Student]) -> str:
    if not any(student.login for student in students):
        return "id,name\n" + "".join(f"{s.id},{_quoted(s.name)}\n" for s in students)
    rows = (f"{s.id},{_quoted(s.name)},{_quoted(s.login)}\n" for s in students)
    return "id,name,login\n" + "".join(rows)


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def _toml_text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _set_toml(made: ClassSet) -> str:
    request = made.request
    lessons = ", ".join(_toml_text(_lasting(name)) for name in request.lessons)
    also = f"also_in = [{', '.join(map(_toml_text, request.also_in))}]\n"
    return (
        "# What was asked for. Give out only the folder for-students.\n\n"
        "[set]\n"
        f"format = {FORMAT}\n"
        f'set_id = "{made.set_id}"\n'
        f"edition = {request.edition}\n"
        f'mode = "{request.mode}"\n'
        f'language = "{request.language}"\n'
        f"{also if request.also_in else ''}lessons = [{lessons}]\n"
        f"students = {len(request.students)}\n"
        f"exercises = {request.exercises}\n"
        f'causes = "{request.causes}"\n'
        f"{_method_toml(request.method)}{_class_toml(request.school_class)}"
    )


def _method_toml(method: tuple[Step, ...]) -> str:
    if method == DEFAULT_METHOD:
        return ""
    steps = ", ".join(_toml_text(step_text(step)) for step in method)
    told = "# What practice pages were written with; marks follow the rubric."
    return f"{told}\nmethod = [{steps}]\n"


def _class_toml(its: OneRosterClass | None) -> str:
    if its is None:
        return ""
    ids = "".join(f"{key} = {_toml_text(id_)}\n" for key, id_ in asdict(its).items())
    return f"\n# Ids of the class in the school's information system.\n[class]\n{ids}"


def _lasting(name: str) -> str:
    """Name of a lesson of ours, or where one of the instructor's own lies for good."""
    return name if name in lesson_ids() else str(Path(name).resolve())


def redrawn(class_set: ClassSet, secret: ClassSecret) -> ClassWorkbooks:
    """Find what the workbooks of a set share, to draw each again from its secret."""
    request = class_set.request
    return class_workbooks(read_course(request.lessons), request, secret)


def rebuilt_workbooks(class_set: ClassSet, secret: ClassSecret) -> Iterator[Workbook]:
    """Draw the workbooks of a set again from its secret."""
    again = redrawn(class_set, secret)
    return (again.of(student.id) for student in class_set.request.students)
