"""What a class set costs: an exercise, a class of any size, and two processes for one.

``python -m tests.bench.sets [STUDENTS] ...``: classes of these sizes, 10, 100 and 1,000
where none are given. An exercise is drawn, proved and written as `clampbook generate`
does; beside it stand the time in the solver alone, and that in which nbformat checks
and writes the same notebook. Of classes it tells what each student adds, in time and in
memory, over the smallest.
"""

import sys
import time
from collections import deque

import nbformat

from answer_keys.keys.class_secret import ClassSecret
from generator.drawing.course import read_course
from generator.drawing.request import Request
from generator.model import steps
from generator.sets.roster import invented_roster
from generator.sets.set_writing import parts_of_class
from tests.bench.worked_class import alone, peak_mb

SIZES = (10, 100, 1000)
LESSONS = ("mixed-diagnosis",)
EXERCISES = 4
SECRET = ClassSecret(value=bytes(range(32)))


def parts(students, workers=1):
    """Draw a class that practises, part by part."""
    asked = Request(
        lessons=LESSONS,
        students=invented_roster(students),
        exercises=EXERCISES,
        mode="practice",
    )
    return parts_of_class(read_course(LESSONS), asked, SECRET, workers)


def after_the_first(students):
    """So many students behind the first, for whom all that is shared is found."""
    drawn = parts(1 + students)
    next(drawn)
    return drawn


def an_exercise(students):
    """Seconds an exercise: all of it, the solver's, and nbformat's."""
    left, spent = after_the_first(students), 0.0
    settle = steps.settle_all

    def timed(asked):
        nonlocal spent
        start = time.process_time()
        settled = settle(asked)
        spent += time.process_time() - start
        return settled

    steps.settle_all = timed
    start = time.process_time()
    drawn = list(left)
    whole = time.process_time() - start
    steps.settle_all = settle
    start = time.process_time()
    for part in drawn:
        for text in part.notebooks.values():
            notebook = nbformat.reads(text, as_version=4)
            nbformat.validate(notebook)
            nbformat.writes(notebook)
    written = time.process_time() - start
    return tuple(each / students / EXERCISES for each in (whole, spent, written))


def a_class(students):
    """Seconds of work for so many students, and MB at most."""
    left = after_the_first(students)
    start = time.process_time()
    deque(left, maxlen=0)
    return time.process_time() - start, peak_mb()


def by_the_clock(students, workers):
    """Seconds that several processes take."""
    start = time.perf_counter()
    deque(parts(students, workers), maxlen=0)
    return time.perf_counter() - start


def main(*sizes):
    sizes = sizes or SIZES
    whole, solved, written = an_exercise(sizes[0])
    print(
        f"an exercise: {1e3 * whole:.0f} ms of processor, / the solver's own "
        f"{whole / solved:.1f}, / nbformat with the same notebook "
        f"{whole / written:.1f}",
        flush=True,
    )
    first = None
    for size in sizes:
        spent, most = alone(a_class, size)
        first = first or (spent / size, most)
        print(
            f"{size:6} students: time a student / that of {sizes[0]}: "
            f"{spent / size / first[0]:.2f}, memory / theirs: {most / first[1]:.2f}",
            flush=True,
        )
    one, two = (by_the_clock(sizes[-1], workers) for workers in (1, 2))
    print(f"one process / two, {sizes[-1]} students: {one / two:.2f}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
