"""The command: what an instructor or a program types.

Everything for people goes to standard error, so that ``--json`` leaves JSON alone on
standard output. Exit codes: 0 done, 1 content at fault, 2 usage.
"""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from rich.console import Console
from rich.table import Table

from answer_keys.errors import AnswerKeysError, PassphraseNeededError
from answer_keys.key_record import KeyRecord, answer_key_from_content
from answer_keys.reading_path import planned_tests
from answer_keys.rubric import read_rubric
from answer_keys.wording import minutes_text
from generator.commands.console import (
    PLAIN,
    json_option,
    passphrase_option,
    print_json,
    progress,
    say,
    set_argument,
)
from generator.commands.handouts import handouts
from generator.commands.lessons import lessons
from generator.commands.site import serve, site
from generator.doctor import checks
from generator.serving.jupyter import open_jupyter
from generator.writing.class_set import (
    ClassSet,
    ClassSetError,
    open_key,
    read_class_set,
    write_class_set,
)
from generator.writing.cohort import KINDS
from generator.writing.difficulty import ClassDifficulty, class_difficulty
from generator.writing.exercise import DrawError
from generator.writing.roster import RosterError, Student, invented_roster, read_roster
from generator.writing.simulation import simulate_class
from generator.writing.site.errors import SiteError
from generator.writing.workbooks import Request
from lessons.loader import LessonError, lesson_ids

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["main"]

_CONTENT_ERRORS = (
    AnswerKeysError,
    ClassSetError,
    DrawError,
    LessonError,
    RosterError,
    SiteError,
)
_MAX_STUDENTS, _MAX_EXERCISES = 2000, 50
_DEMO_LESSON = "mixed-diagnosis"


def _known_kinds(
    _: click.Context, parameter: click.Parameter, text: str
) -> tuple[str, ...]:
    kinds = tuple(name.strip() for name in text.split(","))
    if not set(kinds) <= set(KINDS):
        allowed = f"allowed are {', '.join(KINDS)}, with commas between"
        raise click.BadParameter(f"{text!r}; {allowed}", param=parameter)
    return kinds


class _Commands(click.Group):
    """Commands whose content errors become one text and exit code 1."""

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except PassphraseNeededError as error:
            text = f"{error}: set CLAMPBOOK_PASSPHRASE, or give --passphrase"
            raise click.ClickException(text) from error
        except _CONTENT_ERRORS as error:
            raise click.ClickException(str(error)) from error
        except OSError as error:
            if error.filename is None:
                raise
            text = f"{error.filename}: cannot be read or written ({error.strerror})"
            raise click.ClickException(text) from error


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="clampbook", prog_name="clampbook")
def main() -> None:
    """Teach the diagnosis of relay-controlled circuits: generate, validate, grade.

    Begin with 'clampbook demo'.
    """


for _command in (handouts, lessons, site, serve):
    main.add_command(_command)


def _class(text: str) -> tuple[Student, ...]:
    """A number of students, or the class list in a file."""
    if text.isdecimal() and 1 <= int(text) <= _MAX_STUDENTS:
        return invented_roster(int(text))
    if Path(text).is_file():
        return read_roster(Path(text))
    raise click.BadParameter(
        f"{text!r}; allowed are 1 to {_MAX_STUDENTS}, or a CSV file with the columns "
        "id and name",
        param_hint="--students",
    )


@main.command()
@click.option(
    "--lessons",
    help="Lessons or folders of your own, with commas between; default all of ours.",
)
@click.option(
    "--students",
    default="12",
    show_default=True,
    metavar="N|roster.csv",
    help="A number of students to invent, or a CSV file with columns id and name.",
)
@click.option(
    "--exercises",
    type=click.IntRange(1, _MAX_EXERCISES),
    default=4,
    show_default=True,
    help="Exercises for each student.",
)
@click.option(
    "--mode",
    type=click.Choice(["practice", "graded"]),
    default="practice",
    show_default=True,
    help="With feedback at every step, or with readings only.",
)
@click.option(
    "--out",
    required=True,
    metavar="SET",
    type=click.Path(path_type=Path),
    help="Folder to write; it must not exist yet.",
)
@passphrase_option
@json_option
def generate(out: Path, as_json: bool, **asked: Any) -> None:  # noqa: ANN401 - click's
    """Write a new class set: workbooks, sealed key, rubric.

    Example: clampbook generate --students roster.csv --mode graded --out week-3
    """
    lessons = asked["lessons"].split(",") if asked["lessons"] else lesson_ids()
    request = Request(
        lessons=tuple(name.strip() for name in lessons),
        students=_class(asked["students"]),
        exercises=asked["exercises"],
        mode=asked["mode"],
    )
    made = _generate(out, request, asked["passphrase"])
    hard = _difficulty(made, asked["passphrase"])
    if as_json:
        print_json({**_set_summary(made), "difficulty": asdict(hard)})
    say.print(f"{hard.text[0].upper()}{hard.text[1:]}.")
    say.print(
        f"Wrote {out} (set {made.set_id}). Give out {out / 'for-students'}; never "
        f"give out {out / 'for-instructor'}."
    )


def _generate(out: Path, request: Request, passphrase: str | None) -> ClassSet:
    with progress() as tell:
        return write_class_set(out, request, passphrase, tell)


def _difficulty(made: ClassSet, passphrase: str | None) -> ClassDifficulty:
    _, key = open_key(made, passphrase)
    return class_difficulty(
        (record["student"], record["difficulty"]["percent"])
        for record in key["exercises"]
    )


def _set_summary(made: ClassSet) -> dict[str, Any]:
    request = made.request
    return {
        "set_id": made.set_id,
        "folder": str(made.folder),
        "mode": request.mode,
        "lessons": list(request.lessons),
        "exercises": request.exercises,
        "students": [
            {
                "id": student.id,
                "workbook": str(
                    made.workbook_file(student.id).relative_to(made.folder)
                ),
            }
            for student in request.students
        ],
    }


@main.command()
@set_argument
@click.option(
    "--kinds",
    default=",".join(KINDS),
    show_default=True,
    callback=_known_kinds,
    help="Kinds of students, dealt out in turn; name one twice to have more of it.",
)
@passphrase_option
@json_option
def simulate(
    folder: Path, kinds: tuple[str, ...], passphrase: str | None, as_json: bool
) -> None:
    """Let invented students work a set and hand in, to see how it is marked.

    A guesser does anything at random, a relay-replacer always puts in a new relay
    first, a novice is careful, an expert follows the plan. Who is of which kind stands
    in for-instructor/invented-students.json.

    Example: clampbook simulate week-3 --kinds novice,novice,expert
    """
    written = _simulate(read_class_set(folder), kinds, passphrase)
    if as_json:
        print_json({"handed_in": written})
    say.print(f"{len(written)} invented students handed in to {folder / 'handed-in'}.")


def _simulate(
    class_set: ClassSet, kinds: Sequence[str], passphrase: str | None
) -> list[str]:
    opened = open_key(class_set, passphrase)
    with progress() as tell:
        return simulate_class(class_set, kinds, opened, tell)


@main.command()
@set_argument
@click.option(
    "--junit",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write a JUnit XML report, too: a case an exercise and a case a workbook.",
)
@passphrase_option
@json_option
def validate(
    folder: Path, junit: Path | None, passphrase: str | None, as_json: bool
) -> None:
    """Check every workbook of a set, and prove every exercise again from its key.

    Workbooks: valid, without leaks, the same bytes when written again, and they run.
    Exercises: solvable, one repair, bands and readings right, none near a band's edge,
    plan the best. One line is printed for each that fails.

    Example: clampbook validate week-3 --junit report.xml
    """
    # The kernel client is needed for nothing else.
    from generator.writing.junit import junit_text
    from generator.writing.validation import validate_set

    class_set = read_class_set(folder)
    secret, key = open_key(class_set, passphrase)
    with progress() as tell:
        found = validate_set(class_set, secret, key, tell)
    if junit is not None:
        junit.write_text(junit_text(found.groups), encoding="utf-8")
    if as_json:
        print_json({**found.groups, "sound": found.is_sound})
    for line in found.lines():
        say.print(line)
    for name in ("workbooks", "exercises"):
        problems = found.groups[name].values()
        say.print(
            f"{sum(not p for p in problems)} of {len(problems)} {name} are sound."
        )
    if not found.is_sound:
        sys.exit(1)


@main.command()
@set_argument
@passphrase_option
@json_option
def grade(folder: Path, passphrase: str | None, as_json: bool) -> None:
    """Grade what was handed in; write gradebook, report, sheets and CSV.

    A file that cannot be graded is named with its reason and stops nothing.
    Example: clampbook grade week-3
    """
    class_set = read_class_set(folder)
    summary = _grade(class_set, passphrase)
    if as_json:
        print_json(summary)
    for file in summary["files"]:
        if file["status"] != "graded":
            say.print(f"{file['name']}: {file['status']}: {file['reason']}")
    graded = sum(file["status"] == "graded" for file in summary["files"])
    report = class_set.results / "class-report.html"
    say.print(f"Graded {graded} of {len(summary['files'])} files. Open {report}")


def _grade(class_set: ClassSet, passphrase: str | None) -> dict[str, Any]:
    # The database is a third of what the command would take to start.
    from answer_keys.marking import ClassFolders, grade_class

    _, key = open_key(class_set, passphrase)
    rubric = read_rubric(class_set.rubric_file)
    roster = [(student.id, student.name) for student in class_set.request.students]
    class_set.handed_in.mkdir(exist_ok=True)
    folders = ClassFolders(handed_in=class_set.handed_in, results=class_set.results)
    with progress() as tell:
        return grade_class(key, roster, rubric, folders, tell)


@main.command()
@set_argument
@passphrase_option
@json_option
def show(folder: Path, passphrase: str | None, as_json: bool) -> None:
    """Show every exercise with its answer and its plan, for the instructor only.

    With --json, one object a line. Example: clampbook show week-3 --json
    """
    _, key = open_key(read_class_set(folder), passphrase)
    answers = answer_key_from_content(key).exercises
    if as_json:
        for record, answer in zip(key["exercises"], answers, strict=True):
            print_json({**record, "plan": _plan_summary(answer)})
        return
    head = ("student", "exercise", "title", "cause", "correction", "planned tests")
    table = Table(*head, show_lines=True)
    for record, answer in zip(key["exercises"], answers, strict=True):
        table.add_row(*_shown(record["title"], answer))
    Console(**PLAIN).print(table)


def _plan_summary(answer: KeyRecord) -> dict[str, Any]:
    return {
        "expected_minutes": answer.plan.expected_cost,
        "first_tests": list(answer.reasoning.first_tests),
    }


def _shown(title: str, answer: KeyRecord) -> tuple[str, ...]:
    planned = [
        f"{number}. {test.title}: {minutes_text(test.minutes)}"
        for number, test in enumerate(planned_tests(answer), 1)
    ]
    expected = f"Over all causes {minutes_text(answer.plan.expected_cost)} on average"
    return (
        answer.student,
        str(answer.exercise),
        title,
        answer.label_of_fault(answer.fault.id),
        answer.label_of_repair(answer.fault.repair),
        "\n".join([*planned, expected]),
    )


@main.command()
@set_argument
@click.option("--student", required=True, help="Id of the student.")
@click.option(
    "--exercise",
    required=True,
    type=click.IntRange(min=1),
    help="Number of the exercise.",
)
@click.option("--test", "test_id", required=True, help="Id of a test or transient.")
@passphrase_option
def netlist(
    folder: Path, student: str, exercise: int, test_id: str, passphrase: str | None
) -> None:
    """Write one test as a netlist that ngspice runs as it is.

    Besides the tests of the exercise, coil_turn_off and motor_start are transients of
    its sound circuit.

    Example: clampbook netlist week-3 --student s01 --exercise 2 --test load_current
    """
    from generator.writing.spice import SpiceError, netlist_text

    class_set = read_class_set(folder)
    _, key = open_key(class_set, passphrase)
    own = [r for r in key["exercises"] if r["student"] == student]
    record = next((r for r in own if r["exercise"] == exercise), None)
    if record is None:
        allowed = sorted({(r["student"], r["exercise"]) for r in key["exercises"]})
        shown = ", ".join(f"{who} {number}" for who, number in allowed[:12])
        raise ClassSetError(
            folder,
            f"has no exercise {exercise} of student {student!r}; allowed are {shown}"
            f"{' ...' if len(allowed) > 12 else ''}",
        )
    try:
        click.echo(netlist_text(record, test_id), nl=False)
    except SpiceError as error:
        raise click.ClickException(str(error)) from error


@main.command()
@json_option
def doctor(as_json: bool) -> None:
    """Look whether this machine has what is needed.

    Example: clampbook doctor
    """
    found = checks()
    sound = all(check.is_sound for check in found if check.is_needed)
    if as_json:
        rows = [
            {
                "name": c.name,
                "sound": c.is_sound,
                "found": c.found,
                "needed": c.is_needed,
            }
            for c in found
        ]
        print_json({"checks": rows, "sound": sound})
    for check in found:
        word = "good" if check.is_sound else "BAD " if check.is_needed else "none"
        say.print(f"{word}  {check.name:<15} {check.found}")
    say.print("This machine is ready." if sound else "This machine is not ready.")
    if not sound:
        sys.exit(1)


@main.command()
@click.option(
    "--out",
    metavar="SET",
    type=click.Path(path_type=Path),
    help="Folder to write; default clampbook-demo, or the next free name.",
)
@click.option("--open", "open_it", is_flag=True, help="Open a workbook in Jupyter.")
@json_option
def demo(out: Path | None, open_it: bool, as_json: bool) -> None:
    """Make a class of 12, let it work and hand in, grade it, and say what to open.

    Example: clampbook demo --open
    """
    folder = out or _free_name("clampbook-demo")
    students = invented_roster(12)
    request = Request(
        lessons=(_DEMO_LESSON,), students=students, exercises=4, mode="practice"
    )
    made = _generate(folder, request, None)
    _simulate(made, tuple(KINDS), None)
    summary = _grade(made, None)
    workbook = made.workbook_file(students[0].id)
    if as_json:
        print_json({**_set_summary(made), "graded": summary["students"]})
    say.print(
        "\nThe snow groomers of the Hollenkar ski area: 12 invented students worked 4 "
        "broken circuits each,\nhanded in, and were graded.\n\n"
        f"  class report     {made.results / 'class-report.html'}\n"
        f"  student sheets   {made.results / 'sheets'}\n"
        f"  a workbook       {workbook}\n"
        f"  all answers      clampbook show {folder}\n\n"
        "'clampbook demo --open' opens a workbook in Jupyter in your browser."
    )
    if open_it:
        say.print("Starting Jupyter; press Ctrl+C twice here to stop it.")
        open_jupyter(workbook.parent, workbook.name)


def _free_name(stem: str) -> Path:
    path, number = Path(stem), 2
    while path.exists():
        path, number = Path(f"{stem}-{number}"), number + 1
    return path
