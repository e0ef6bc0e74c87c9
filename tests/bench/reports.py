"""How long a class report takes to write, and how large it is."""

from __future__ import annotations

import time

from answer_keys.gradebook.results import ClassResult, StudentResult, graded_exercise
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.reports.report import class_report, new_report
from answer_keys.reports.sheet import student_sheet
from generator.drawing.course import read_course
from generator.drawing.request import Request
from generator.drawing.stream import Stream
from generator.invented.cohort import work
from generator.invented.kinds import KINDS, invented_students
from generator.invented.simulation import with_misconceptions
from generator.sets.roster import invented_roster
from generator.workbooks.class_workbooks import new_workbooks
from tests.drawn import SECRET
from tests.keys import answer_key_of, whole_of, workbook_content
from workbook.record.progress import replay

__all__ = ["report_times"]

EXERCISES = 6
WORKED = 12
CLASSES = (10, 100, 1000)


def report_times(most):
    """Print time and size of the report by the number of students, up to the most.

    Students beyond the first few are copies: marks differ no less for that.
    """
    worked = _worked(min(WORKED, 1 + most // 80))
    print(f"class report, {EXERCISES} exercises a student (limits: 10 s, 5 MB):")
    print("  students  figures s  page s  one sheet s  page MB")
    for count in [count for count in CLASSES if count <= most]:
        result = _class_of([graded for graded, _ in worked], count)
        start = time.process_time()
        report = new_report(result)
        figures = time.process_time() - start
        start = time.process_time()
        page = "".join(class_report(report))
        written = time.process_time() - start
        start = time.process_time()
        student_sheet(result, result.students[0], worked[0][1])
        sheet = time.process_time() - start
        size = len(page.encode()) / 1e6
        print(
            f"  {count:8}  {figures:9.2f}  {written:6.2f}  {sheet:11.3f}  {size:7.2f}",
            flush=True,
        )


def _worked(count):
    """Let some students of all kinds work a workbook each of their own."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=invented_roster(count),
        exercises=EXERCISES,
        mode="practice",
    )
    course, stream = read_course(request.lessons), Stream(SECRET.value, "bench")
    ids = [student.id for student in request.students]
    cohort = invented_students(ids, tuple(KINDS), stream)
    books = new_workbooks(course, request, SECRET)
    return [
        _graded(student, workbook_content(book), stream)
        for student, book in zip(cohort, books, strict=True)
    ]


def _graded(student, records, stream):
    """Work and grade what one student got; give the key records, too."""
    head = {"format": 1, "set_id": "abcd2345", "edition": 1, "mode": "practice"}
    keys = list(answer_key_of({**head, "exercises": records}).exercises)
    rubric = rubric_from_text(rubric_text())
    mistaken = with_misconceptions(student, keys, stream)
    graded = []
    for record, own in zip(records, keys, strict=True):
        progress = replay(work(whole_of(record), mistaken, stream))[own.exercise]
        marks = grade_exercise(own, progress, rubric)
        graded.append(graded_exercise(own, marks))
    return graded, {own.exercise: own for own in keys}


def _class_of(worked, count):
    students = [
        StudentResult(
            id=f"s{number:04}",
            name=f"Student {number}",
            sheet=f"sheet-s{number:04}.html",
            file="hand-in.jsonl",
            exercises=tuple(worked[number % len(worked)]),
        )
        for number in range(count)
    ]
    return ClassResult(
        set_id="abcd2345",
        mode="practice",
        students=tuple(students),
        receipts=(),
        history={},
    )
