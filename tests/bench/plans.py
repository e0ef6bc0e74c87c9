"""How long the exact plan takes: processor time of one core."""

import time
from dataclasses import replace
from statistics import median

import numpy as np

from answer_keys.keys.class_secret import ClassSecret
from generator.checking.exercise_check import least_minutes
from generator.drawing.course import Course
from generator.drawing.request import Request
from generator.model import reasoning
from generator.model.plan import Access, Proof, least_cost
from generator.sets.roster import invented_roster
from generator.workbooks.class_workbooks import new_workbooks
from generator.workbooks.page_records import page_record
from lessons.loader import read_lesson
from tests.drawn import RADICALS, exercise

RUNS = 5
MANY_CAUSES = 12
STUDENTS, EXERCISES = 30, 8


def spent_on(work):
    """Processor time of one run [s]."""
    start = time.process_time()
    work()
    return time.process_time() - start


def new_plan(table):
    """Find the plan of a table anew."""
    reasoning._PLANS.clear()
    return replace(table).plan.expected_cost


def random_table(rng, n_faults=24, n_tests=18, n_places=6):
    """Most faults show nothing in most tests, as in a circuit; some share a repair.

    Each test is done at one place or two.
    """
    shown = rng.integers(0, 3, (n_faults, n_tests))
    places = rng.integers(0, n_places, (n_tests, 2)).tolist()
    return {
        "prior": rng.uniform(0.3, 1.5, n_faults).tolist(),
        "outcome": (shown * (rng.random((n_faults, n_tests)) < 0.4)).tolist(),
        "cost": rng.integers(1, 4, n_tests).tolist(),
        "repair": rng.integers(0, 14, n_faults).tolist(),
        "access": Access(
            minutes=rng.integers(1, 12, n_places).tolist(),
            needs=[set(pair) for pair in places],
        ),
        "proof": Proof(sound=[0] * n_tests),
    }


def plan_times(most):
    """Time of plans of real exercises, of large ones, and of random tables.

    All real exercises are planned from a ``most`` of 100 on, and else a part of them.
    """
    chosen = RADICALS[:: max(1, 100 // most)]
    tables = [exercise(radical).reasoning for radical in chosen]
    large = [table for table in tables if len(table.faults) > MANY_CAUSES]
    size = max((len(t.faults), len(t.tests)) for t in tables)
    real = f"{len(tables)} real exercises, up to {size[0]} causes x {size[1]} tests"
    tell(f"exact plan of {real}", [least_time(new_plan, table) for table in tables])
    more = f"{len(large)} of more than {MANY_CAUSES} causes"
    tell(f"exact plan of {more}", [least_time(new_plan, table) for table in large])
    tell(f"{more}, by the search of pages", [spent_on_search(t) for t in large[::3]])
    rng = np.random.default_rng(3)
    problems = [random_table(rng) for _ in range(15)]
    drawn = [spent_on(lambda p=p: least_cost(**p).expected_cost) for p in problems]
    tell("exact plan of 15 random tables, 24 causes x 18 tests", drawn)


def least_time(work, table):
    """Least time of some runs [s]."""
    return min(spent_on(lambda: work(table)) for _ in range(RUNS))


def spent_on_search(table):
    """Time of the search that a practice page makes as it opens [s]."""
    return spent_on(lambda: least_minutes(table))


def tell(what, times):
    """Print the median and the longest of some times."""
    middle, longest = 1e3 * median(times), 1e3 * max(times)
    print(f"{what}: median {middle:.1f} ms, longest {longest:.1f} ms")


def plan_growth():
    """How the exact plan grows with the number of causes, against ten causes."""
    rng = np.random.default_rng(2)
    times = {}
    for count in (10, 20, 30):
        problems = [random_table(rng, count) for _ in range(7)]
        times[count] = median(
            spent_on(lambda p=p: least_cost(**p).expected_cost) for p in problems
        )
    growth = ", ".join(f"{n}: {t / times[10]:.0f}" for n, t in times.items())
    print(f"exact plan by causes, against 10 causes: {growth}")


def plan_share(most):
    """Share of plans in drawing a practice set, with the way on each vehicle.

    The class is as large as so many exercises allow, 30 students at most.
    """
    students = max(1, min(STUDENTS, most // EXERCISES))
    books = [read_lesson("mixed-diagnosis")]
    request = Request(
        lessons=(books[0].lesson.id,),
        students=invented_roster(students),
        exercises=EXERCISES,
        mode="practice",
    )
    secret = ClassSecret(value=bytes(32))
    drawn = []
    total = spent_on(lambda: drawn.extend(draw(books, request, secret)))
    planning = spent_on(lambda: [planned(each) for each in drawn])
    print(
        f"plans / drawing {students} x {EXERCISES} practice exercises: "
        f"{planning / total:.2f}, {len(drawn)} plans searched"
    )


def draw(books, request, secret):
    """Draw the exercises of a class, and write every page as data."""
    for workbook in new_workbooks(Course(lessons=tuple(books)), request, secret):
        for number, drawn in enumerate(workbook.exercises, 1):
            page_record(drawn, number, request.mode)
            yield drawn


def planned(drawn):
    """Find the plan of an exercise anew, and its way."""
    anew = replace(drawn)
    reasoning._PLANS.clear()
    return anew.plan.expected_cost, anew.way
