"""The sheet of one student: every step with its reason, and what to practise."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from answer_keys.gradebook.results import ClassResult, GradedExercise, StudentResult
from answer_keys.keys.key_record import KeyRecord
from answer_keys.keys.set_ups import with_set_ups
from answer_keys.marking.policy import QUESTIONS
from answer_keys.marking.rubric import MARKED_STEPS
from answer_keys.marking.visits import causes_left, minutes_along, planned_tests
from answer_keys.reports.class_view import percent, step_percents
from answer_keys.reports.pages import written_page
from answer_keys.reports.skills import RULE, SKILLS, mastery_of, showings_of
from workbook.record.progress import ExerciseProgress
from workbook.texts import _, ngettext


def student_sheet(
    result: ClassResult, student: StudentResult, records: Mapping[int, KeyRecord]
) -> str:
    """Write the sheet of one student whose hand-in was graded.

    Parameters
    ----------
    records : mapping of int to KeyRecord
        The student's, by exercise.

    Returns
    -------
    str
        One HTML file.
    """
    mastery = mastery_of(student, result.history.get(student.id, {}))
    return written_page(
        "sheet.html.j2",
        result=result,
        student=student,
        percent=percent(student.total, student.out_of),
        shares=step_percents(student),
        skills=[(SKILLS[id_], one) for id_, one in mastery.items()],
        rule=RULE,
        shown=showings_of(student),
        exercises=[
            _sheet_exercise(one, records[one.marks.exercise])
            for one in student.exercises
        ],
    )


def _sheet_exercise(one: GradedExercise, record: KeyRecord) -> dict[str, Any]:
    if record.questions:
        return _sheet_questions(one, record)
    planned = planned_tests(record)
    given = planned[: record.start.given_tests]
    done = [*(test.id for test in given), *(test.id for test, _ in one.choices)]
    record = with_set_ups(record, done)
    choices = [
        (record.tests[record.test_number(test.id)], mark) for test, mark in one.choices
    ]
    taken = [*given, *(test for test, _ in choices)]
    left, minutes = causes_left(record, taken), minutes_along(record, taken)
    planned_minutes = minutes_along(record, planned)
    return {
        "record": record,
        "marks": one.marks,
        "steps": {step: one.of_step(step) for step in MARKED_STEPS},
        "is_diagnosis": True,
        "given": _given_text(record.start),
        # The given tests are the first of all that were taken.
        "given_path": list(zip(given, minutes, left, strict=False)),
        "path": [
            (test, mark, *step)
            for (test, mark), step in zip(
                choices,
                list(zip(minutes, left, strict=True))[len(given) :],
                strict=True,
            )
        ],
        "path_minutes": math.fsum(minutes),
        "planned": list(
            zip(planned, planned_minutes, causes_left(record, planned), strict=True)
        ),
        "planned_minutes": math.fsum(planned_minutes),
        "cause_mark": one.of_step("cause")[0],
        "said_cause": one.named_cause,
        "said_correction": one.of_step("correction")[0].answer,
        "cause": one.outline.cause,
        "correction": record.label_of_repair(record.fault.repair),
        "is_started": one.is_started,
    }


def _given_text(start: ExerciseProgress) -> str:
    """Say what was done for the student beforehand; nothing where nothing was."""
    tests = len(start.tests)
    first = ngettext("the first test", "the first {count} tests", tests)
    first = first.format(count=tests)
    done = [_("the predictions")] * bool(start.predictions) + [first] * bool(tests)
    return _(" and ").join(done)


def _sheet_questions(one: GradedExercise, record: KeyRecord) -> dict[str, Any]:
    """Everything of an exercise that asked questions, with lines as written."""
    asked = [each for each in record.questions if each.kind == "lines"]
    marks = {mark.item: mark for mark in one.marks.steps}
    written = [
        (question, [marks[f"{question.id}.{line.id}"] for line in question.lines])
        for question in asked
    ]
    lines = [mark for _, some in written for mark in some]
    return {
        "record": record,
        "marks": one.marks,
        "steps": {QUESTIONS: [mark for mark in one.marks.steps if mark not in lines]},
        "is_diagnosis": False,
        "title": record.kind.replace("-", " "),
        "written": written,
        "is_started": one.is_started,
    }
