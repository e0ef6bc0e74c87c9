"""Exercises and class sets, drawn once a run: each takes a tenth of a second."""

from functools import cache

import pytest

from answer_keys.class_secret import ClassSecret
from generator.model.faults import FAULTS
from generator.writing.class_set import Request, new_workbooks
from generator.writing.exercise import Radical, new_exercise
from generator.writing.records import key_record, page_record
from generator.writing.roster import invented_roster
from lessons.loader import read_lesson

SECRET = ClassSecret(value=bytes(range(32)))
OTHER_SECRET = ClassSecret(value=bytes(range(1, 33)))
BOOK = read_lesson("mixed-diagnosis")
IDENTITY = {"set_id": "abcd2345", "student": "s01", "lesson": "mixed-diagnosis"}
RADICALS = tuple(
    Radical(lesson="mixed-diagnosis", family=family.id, fault=fault.id)
    for family in BOOK.families
    for fault in FAULTS.values()
    if family.kind in fault.kinds
)
"""Every fault of every family."""


def for_each_radical(test):
    """Let a test hold for every radical, one run a family.

    A run for each of the eighty would take longer to report than to check.
    """

    @pytest.mark.parametrize("family", [family.id for family in BOOK.families])
    def run(family):
        for radical in RADICALS:
            if radical.family == family:
                test(radical)

    run.__name__, run.__doc__ = test.__name__, test.__doc__
    return run


@cache
def exercise(radical):
    """One exercise of a radical, always the same."""
    return new_exercise(BOOK, radical, SECRET.value, ("s01", RADICALS.index(radical)))


@cache
def every_exercise():
    """One exercise of each radical."""
    return tuple(exercise(radical) for radical in RADICALS)


@cache
def key(radical):
    """The answer key record of an exercise."""
    return key_record(exercise(radical), 3, IDENTITY)


@cache
def page(radical, mode):
    """What the student's page gets of an exercise."""
    return page_record(exercise(radical), 3, mode)


def request(mode, count=3, exercises=3):
    """A small class set."""
    return Request(
        lessons=("mixed-diagnosis",),
        students=invented_roster(count),
        exercises=exercises,
        mode=mode,
    )


@cache
def workbooks(mode, secret=SECRET, count=3):
    """The workbooks of a small class."""
    return tuple(new_workbooks((BOOK,), request(mode, count), secret))
