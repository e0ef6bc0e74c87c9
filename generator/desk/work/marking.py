"""What comes back: collected, marked, marks changed, and what they go by."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, replace
from datetime import UTC
from typing import Any

from answer_keys.gradebook.results import ClassResult, StudentResult
from answer_keys.hand_ins.limits import MAX_FILES
from answer_keys.marking.policy import Counts, Rubric
from answer_keys.marking.rubric import rubric_file_text, rubric_from_text
from generator.desk.line import Line
from generator.desk.work.asked import Asked, AskedError, time_from
from generator.drawing.request import MAX_EXERCISES
from generator.sets.class_set import read_class_set
from generator.week.collecting import (
    PaperAnswer,
    collect,
    keep_paper,
    paper_form,
    put_in,
)
from generator.week.marking import Marking, changed_mark, grade
from generator.week.opened import OpenedSet
from generator.week.reporting import result_of
from generator.week.rubric import effect_of, keep_rubric, rubric_of
from workbook.texts import _, grouped


def _put_in(asked: Asked, line: Line) -> dict[str, Any]:
    """Put dropped files into handed-in/; nothing of them is read yet."""
    class_set = read_class_set(asked.folder)
    files, names = asked.rows("files"), []
    if len(files) > MAX_FILES:
        raise AskedError(
            _("These are more than {most} files. Drop fewer.").format(
                most=grouped(MAX_FILES)
            )
        )
    for number, file in enumerate(files, 1):
        one = Asked({**asked.given, **file})
        dropped = one.upload("upload")
        names.append(put_in(class_set, one.text("name"), dropped.read_bytes()))
        dropped.unlink()
        line.progress("grading", number, len(files))
    return {"names": names}


def _collected(asked: Asked, line: Line) -> dict[str, Any]:
    """Read all that came back, and tell who is missing."""
    return asdict(collect(asked.opened(), tell=line.progress))


def _paper_form(asked: Asked, _: Line) -> list[dict[str, Any]]:
    form = paper_form(asked.opened(), asked.text("student"))
    return [asdict(exercise) for exercise in form]


def _keep_paper(asked: Asked, _: Line) -> dict[str, str]:
    answers = [
        PaperAnswer(
            exercise=one.number("exercise", 1, MAX_EXERCISES),
            step=one.text("step"),
            item=one.text("item"),
            answer=one.text("answer"),
            second_answer=one.text("second_answer"),
        )
        for one in map(Asked, asked.rows("answers"))
    ]
    return {"file": keep_paper(asked.opened(), asked.text("student"), answers).name}


def _graded(asked: Asked, line: Line) -> dict[str, int]:
    return _grade(asked.opened(), Marking(), line)


def _grade(opened: OpenedSet, marking: Marking, line: Line) -> dict[str, int]:
    receipts = grade(opened, marking, line.progress).result.receipts
    marked = sum(one.status in ("graded", "superseded") for one in receipts)
    return {"graded": marked, "files": len(receipts)}


def _changed(asked: Asked, line: Line) -> dict[str, int]:
    """Change one mark; an empty one takes an earlier change back."""
    opened, text = asked.opened(), asked.text("mark")
    place = (
        asked.text("student"),
        asked.number("exercise", 1, MAX_EXERCISES),
        asked.text("step"),
    )
    try:
        mark = float(text) if text else None
    except ValueError:
        raise AskedError(
            _("{text} is no mark. Write a number such as 7.5.").format(text=repr(text))
        ) from None
    change = changed_mark(opened, place, mark, asked.text("reason"))
    return _grade(opened, Marking(overrides=(change,)), line)


def _taken(asked: Asked, line: Line) -> dict[str, int]:
    """Let one of several hand-ins count."""
    taken = asked.text("student"), asked.text("code")
    return _grade(asked.opened(), Marking(taken=(taken,)), line)


# ---- marks -----------------------------------------------------------------


def _marks(asked: Asked, _: Line) -> dict[str, Any]:
    """Give the marks of a class, an exercise a column, and files that need a look."""
    result = result_of(asked.opened())
    numbers = {one.marks.exercise for each in result.students for one in each.exercises}
    return {
        "exercises": sorted(numbers),
        "students": [_student(one) for one in result.students],
        "files": _to_look_at(result),
    }


def _to_look_at(result: ClassResult) -> list[dict[str, Any]]:
    usual = ("graded", "superseded")
    return [asdict(one) for one in result.receipts if one.status not in usual]


_OF_STUDENT = "id", "name", "total", "out_of", "late_days", "deducted_percent"
_OF_EXERCISE = "exercise", "mark", "out_of"
_OF_STEP = "step", "title", "answer", "reason", "mark", "out_of"


def _shown(one: object, names: Iterable[str]) -> dict[str, Any]:
    return {name: getattr(one, name) for name in names}


def _student(one: StudentResult) -> dict[str, Any]:
    exercises = [_shown(each.marks, _OF_EXERCISE) for each in one.exercises]
    return _shown(one, _OF_STUDENT) | {"exercises": exercises}


def _student_marks(asked: Asked, _line: Line) -> dict[str, Any]:
    """Give every step mark of one student; lines beside the model answer."""
    opened, student = asked.opened(), asked.text("student")
    result = result_of(opened)
    one = next((each for each in result.students if each.id == student), None)
    if one is None:
        raise AskedError(
            _("{student} is no student of this set.").format(student=repr(student))
        )
    shown = _student(one)
    records = opened.key.of_student(student)
    for exercise, told in zip(one.exercises, shown["exercises"], strict=True):
        marks = exercise.marks
        told["title"] = exercise.outline.vehicle
        told["steps"] = [_shown(step, _OF_STEP) for step in marks.steps]
        written = {step.item: step.answer for step in marks.steps}
        told["lines"] = [
            {
                "label": line.label,
                "text": written.get(f"{question.id}.{line.id}", ""),
                "model": line.text,
            }
            for question in records[marks.exercise].questions
            for line in question.lines
        ]
    return shown


# ---- what they go by -------------------------------------------------------


def _rules(asked: Asked, _: Line) -> dict[str, Any]:
    rubric = rubric_of(read_class_set(asked.folder))
    policy = rubric.policy
    local = policy.deadline.astimezone() if policy.deadline else None
    return {
        "weights": dict(rubric.weights),
        "counts": policy.counts,
        "deadline": local.strftime("%Y-%m-%dT%H:%M") if local else "",
        "late_percent_per_day": policy.late_percent_per_day,
        "late_percent_at_most": policy.late_percent_at_most,
        "method": [" at ".join(step) for step in rubric.method],
    }


def _asked_rubric(asked: Asked) -> Rubric:
    """Put together the rubric that the page asks for; raises a `RubricError`."""
    rules = Asked(asked.table("rules"))
    weights = Asked(rules.table("weights"))
    earlier = rubric_of(read_class_set(asked.folder))
    deadline = time_from(rules.text("deadline"))
    policy = replace(
        earlier.policy,
        counts=rules.one_of("counts", Counts),
        deadline=deadline and deadline.astimezone(UTC),
        late_percent_per_day=rules.amount("late_percent_per_day"),
        late_percent_at_most=rules.amount("late_percent_at_most"),
    )
    rubric = Rubric(
        weights={step: weights.amount(step) for step in earlier.weights},
        policy=policy,
        method=tuple(_step(text) for text in rules.texts("method")),
    )
    # By way of its text, whose reader checks all that a rubric file may hold.
    return rubric_from_text(rubric_file_text(rubric))


def _step(text: str) -> tuple[str, str]:
    kind, _, place = text.partition(" at ")
    return kind.strip(), place.strip()


def _effect(asked: Asked, line: Line) -> list[dict[str, Any]]:
    """Tell whose marks other rules would change; nothing is kept."""
    rubric = _asked_rubric(asked)
    return [asdict(one) for one in effect_of(asked.opened(), rubric, line.progress)]


def _keep_rules(asked: Asked, _: Line) -> dict[str, Any]:
    keep_rubric(read_class_set(asked.folder), _asked_rubric(asked))
    return {}


WORK: Mapping[str, Callable[[Asked, Line], Any]] = {
    "put-in": _put_in,
    "collect": _collected,
    "paper-form": _paper_form,
    "keep-paper": _keep_paper,
    "grade": _graded,
    "change-mark": _changed,
    "take": _taken,
    "marks": _marks,
    "student-marks": _student_marks,
    "rules": _rules,
    "effect-of-rules": _effect,
    "keep-rules": _keep_rules,
}
