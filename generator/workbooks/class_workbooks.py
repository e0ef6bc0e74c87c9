"""The workbooks of a class, drawn from its secret."""

from __future__ import annotations

from collections.abc import Iterator

from answer_keys.keys.answer_key import Readings
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.keys.whole_record import WholeRecord
from generator.drawing.class_draw import exercises_of_class
from generator.drawing.course import Course
from generator.drawing.request import Request
from generator.drawing.stream import Stream
from generator.workbooks.key_records import key_record
from generator.workbooks.page_records import readings_kept
from generator.workbooks.workbook import Workbook


def set_id_of(secret: ClassSecret) -> str:
    """Public name of a set: drawn from its secret, of which it tells nothing."""
    stream = Stream(secret.value, "set id")
    return "".join(stream.choice("abcdefghjkmnpqrstuvwxyz23456789") for _ in range(8))


def new_workbooks(
    course: Course, request: Request, secret: ClassSecret
) -> Iterator[Workbook]:
    """Draw the workbooks of a class, one student after the other."""
    students = [student.id for student in request.students]
    drawn = exercises_of_class(
        course,
        request.mode,
        secret.value,
        students,
        request.exercises,
        request.needs,
        request.causes,
    )
    for student, exercises in drawn:
        yield Workbook(
            set_id=set_id_of(secret),
            student=student,
            edition=request.edition,
            mode=request.mode,
            lessons=course.lessons,
            exercises=exercises,
            method=request.method,
        )


def records_of(workbook: Workbook) -> list[WholeRecord]:
    """What the key holds of a workbook, one record an exercise."""
    return [
        key_record(
            exercise,
            number,
            {
                "set_id": workbook.set_id,
                "student": workbook.student,
                "lesson": exercise.radical.lesson,
            },
        )
        for number, exercise in enumerate(workbook.exercises, start=1)
    ]


def readings_of(workbook: Workbook) -> Readings:
    """Return the readings of an examination's workbook, in the language spoken."""
    return {
        number: readings_kept(exercise)
        for number, exercise in enumerate(workbook.exercises, start=1)
    }
