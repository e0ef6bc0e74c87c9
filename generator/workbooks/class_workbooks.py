"""The workbooks of a class, drawn from its secret."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from answer_keys.keys.answer_key import Readings
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.keys.whole_record import WholeRecord
from generator.drawing.class_draw import ClassDraw, new_class_draw
from generator.drawing.course import Course
from generator.drawing.request import Request
from generator.drawing.stream import Stream
from generator.workbooks.key_records import key_record
from generator.workbooks.page_records import readings_kept
from generator.workbooks.workbook import Workbook


def set_id_of(secret: ClassSecret) -> str:
    """Public name of a set: drawn from its secret, of which it tells nothing."""
    stream = Stream(secret.value, "set id")
    # Without i, l, o, 0 and 1: a set's name is read out and typed.
    return "".join(stream.choice("abcdefghjkmnpqrstuvwxyz23456789") for _ in range(8))


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassWorkbooks:
    """Draws each workbook of a class by itself; goes to other processes whole."""

    course: Course
    request: Request
    set_id: str
    draw: ClassDraw

    def of(self, student: str) -> Workbook:
        """Draw the workbook of a student.

        Raises
        ------
        ClassDrawError
            Where nothing can be drawn of a lesson.
        """
        return Workbook(
            set_id=self.set_id,
            student=student,
            edition=self.request.edition,
            mode=self.request.mode,
            lessons=self.course.lessons,
            exercises=self.draw.of(student),
            method=self.request.method,
        )


def class_workbooks(
    course: Course, request: Request, secret: ClassSecret
) -> ClassWorkbooks:
    """Find what the workbooks of a class share; raises as drawing one does."""
    course = course.after(request.observed)
    draw = new_class_draw(
        course,
        request.mode,
        secret.value,
        request.exercises,
        request.needs,
        request.causes,
    )
    return ClassWorkbooks(
        course=course, request=request, set_id=set_id_of(secret), draw=draw
    )


def new_workbooks(
    course: Course, request: Request, secret: ClassSecret
) -> Iterator[Workbook]:
    """Draw the workbooks of a class, one student after the other."""
    drawn = class_workbooks(course, request, secret)
    return (drawn.of(student.id) for student in request.students)


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
            has_bench=workbook.mode != "graded"
            and exercise.radical.kind == "diagnosis",
        )
        for number, exercise in enumerate(workbook.exercises, start=1)
    ]


def readings_of(workbook: Workbook) -> Readings:
    """Return the readings of an examination's workbook, in the language spoken."""
    return {
        number: readings_kept(exercise)
        for number, exercise in enumerate(workbook.exercises, start=1)
    }
