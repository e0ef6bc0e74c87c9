"""How often a program names the cause from a student's file, in each kind of set.

The program knows all that is public: our own model of the circuit, its causes, how
often each is found, what every test shows under each, and how hard the workbooks are.
"""

import json
from dataclasses import replace
from math import sqrt

import pytest

from generator.drawing.course import read_course
from generator.drawing.difficulty import difficulty_of
from generator.workbooks.notebook import notebook_text
from generator.workbooks.workbook import Workbook
from lessons.loader import lesson_ids
from tests.drawing.classes import exercises_of_class
from tests.drawn import SECRET
from workbook.record.sealed import unseal

STUDENTS = tuple(f"s{number:02}" for number in range(1, 21))
EXERCISES = 4


def interval(hits, count):
    """95 % interval of a rate (Wilson, J. Am. Stat. Assoc. 22, 1927, from memory)."""
    z, rate = 1.96, hits / count
    middle = rate + z * z / (2 * count)
    half = z * sqrt(rate * (1 - rate) / count + z * z / (4 * count * count))
    return tuple((middle + s * half) / (1 + z * z / count) for s in (-1, 1))


def pages_of(course, student, exercises, mode):
    """What lies in the student's file, as whoever opens the seal reads it."""
    made = Workbook(
        set_id="guessing",
        student=student,
        edition=1,
        mode=mode,
        lessons=course.lessons,
        exercises=exercises,
    )
    notebook = json.loads(notebook_text(made))
    return unseal(notebook["metadata"]["clampbook"]["sealed"])["exercises"]


def likeliest(exercise, left):
    """The cause of those left that is found most often."""
    plan = exercise.plan
    chances = dict(zip(plan.start.candidates, plan.posterior(plan.start), strict=True))
    return max(left, key=lambda cause: chances[cause])


def by_readings(exercise, page):
    """Keep the causes that fit every reading in the page; all where there is none."""
    shown = [
        number
        for number, test in enumerate(page["tests"])
        if test["display"] and not exercise.tests[number].mistake
    ]
    actual = exercise.actual_outcome  # how our scales sort what is displayed
    return [
        cause
        for cause, row in enumerate(exercise.outcome)
        if all(row[number] == actual[number] for number in shown)
    ]


def by_difficulty(exercise, wanted):
    """Keep the causes with which the exercise is nearest to what is usual."""
    hard = [
        abs(difficulty_of(replace(exercise, fault=fault)) - wanted)
        for fault in exercise.candidates
    ]
    return [n for n, each in enumerate(hard) if each <= min(hard) + 0.25]


@pytest.mark.release
@pytest.mark.nightly
def test_examination_gives_away_only_how_often_causes_are_found(record_property):
    """A graded file does nearly always, a practice file says it itself."""
    course = read_course(lesson_ids())
    drawn = dict(
        exercises_of_class(
            course, "examination", SECRET.value, STUDENTS, EXERCISES, causes="own"
        )
    )
    count = len(STUDENTS) * EXERCISES
    usual = sum(difficulty_of(e) for own in drawn.values() for e in own) / count
    hits, expected = dict.fromkeys(("practice", "graded", "file", "level"), 0), 0.0
    for student, exercises in drawn.items():
        pages = {
            mode: pages_of(course, student, exercises, mode)
            for mode in ("practice", "graded", "examination")
        }
        for number, one in enumerate(exercises):
            right = one.candidates.index(one.fault)
            told = pages["practice"][number]["feedback"]["conclusion"]["causes"]
            same = [f.repair == one.fault.repair for f in one.candidates]
            hits["practice"] += len(told) == sum(same)
            page = pages["graded"][number]
            hits["graded"] += likeliest(one, by_readings(one, page)) == right
            page = pages["examination"][number]
            left = by_readings(one, page)
            assert len(left) == len(one.candidates)
            hits["file"] += likeliest(one, left) == right
            hits["level"] += likeliest(one, by_difficulty(one, usual)) == right
            expected += max(one.plan.posterior(one.plan.start))
    rates = {name: (n / count, *interval(n, count)) for name, n in hits.items()}
    record_property("rates", {**rates, "commonest": expected / count})
    assert rates["practice"][0] == 1
    assert rates["graded"][0] > 0.9
    for attack in ("file", "level"):
        _, low, _high = rates[attack]
        assert low <= expected / count
