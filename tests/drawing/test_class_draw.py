"""A graded class has its exercises equally hard, whoever is in it."""

from collections import Counter
from itertools import count

import pytest

from generator.drawing import class_draw
from generator.drawing import exercise_draw as exercise_module
from generator.drawing.class_radicals import radicals_of_class
from generator.drawing.course import read_course
from generator.drawing.difficulty import (
    LARGEST_SPREAD_FRAC,
    class_difficulty,
    difficulty_of,
)
from generator.drawing.proof import Unproved
from generator.errors import ClassDrawError
from lessons.loader import lesson_ids
from tests.drawing.classes import exercises_of_class

# A lesson and a secret with a fault that is easier in some circuits than in others.
COURSE, SECRET = read_course(("whole-circuit",)), bytes([16] * 32)
STUDENTS = tuple(f"s{number}" for number in range(6))


drawn_once = exercise_module._drawn


def drawn(students=STUDENTS, mode="graded"):
    """What each student of a class with one exercise gets."""
    return dict(exercises_of_class(COURSE, mode, SECRET, students, 1))


def spread_of(exercises):
    """Standard deviation of the predicted difficulty, as a fraction of the mean."""
    hard = [(who, difficulty_of(one)) for who, own in exercises.items() for one in own]
    return class_difficulty(hard).spread_frac


@pytest.mark.nightly
def test_graded_exercises_are_equally_hard(monkeypatch):
    """What strays is drawn again; left alone, this class would be unfair."""
    assert spread_of(drawn()) <= LARGEST_SPREAD_FRAC
    monkeypatch.setattr(class_draw, "is_near", lambda *_: True)
    assert spread_of(drawn()) > LARGEST_SPREAD_FRAC


@pytest.mark.parametrize("mode", ["graded", "practice"])
def test_student_keeps_their_exercises_when_others_join(mode):
    """How hard they are does not hang on who else is in the class either."""
    few, more = drawn(STUDENTS[1:2], mode), drawn(STUDENTS[1::-1], mode)
    assert few["s1"] == more["s1"]


@pytest.fixture
def undrawable(monkeypatch):
    """Faults that no circuit shows, to be named by a test, and the radicals tried."""
    faults, tried = set(), Counter()

    def draw(book, radical, stream):
        tried[radical] += 1
        if radical.fault in faults:
            raise Unproved("it never shows")
        return (yield from drawn_once(book, radical, stream))

    monkeypatch.setattr(exercise_module, "_drawn", draw)
    return faults, tried


def faults_of(exercises):
    """Faults of one student's exercises."""
    return [exercise.fault.id for exercise in exercises]


@pytest.mark.parametrize("mode", ["graded", "practice"])
def test_cause_that_no_circuit_shows_gives_way_to_another(mode, undrawable):
    """It is of the same lesson and kind, and for a graded class the same for all."""
    faults, _ = undrawable
    planned = radicals_of_class(COURSE, mode, SECRET, STUDENTS[:2], 2)
    faults.add(planned["s0"][0].fault)
    made = dict(exercises_of_class(COURSE, mode, SECRET, STUDENTS[:2], 2))
    for student, own in made.items():
        for exercise, wanted in zip(own, planned[student], strict=True):
            is_kept = wanted.fault not in faults
            assert (exercise.radical == wanted) == is_kept
            assert exercise.radical.lesson == wanted.lesson
            assert exercise.radical.kind == wanted.kind
    if mode == "graded":
        assert sorted(faults_of(made["s0"])) == sorted(faults_of(made["s1"]))
    assert len(set(faults_of(made["s0"]))) == 2
    alone = dict(exercises_of_class(COURSE, mode, SECRET, STUDENTS[1:2], 2))
    assert alone["s1"] == made["s1"]


def test_replaced_cause_is_equally_hard_for_all(undrawable):
    """The class has one level for what takes its place."""
    faults, _ = undrawable
    faults.add(radicals_of_class(COURSE, "graded", SECRET, ["s0"], 1)["s0"][0].fault)
    assert spread_of(drawn()) <= LARGEST_SPREAD_FRAC


@pytest.mark.parametrize("mode", ["graded", "practice"])
def test_lesson_of_which_nothing_can_be_drawn_is_given_up(mode, undrawable):
    """In one sentence, with what to change, after some of its causes were tried."""
    faults, tried = undrawable
    faults |= set(COURSE.lessons[0].lesson.faults)
    with pytest.raises(ClassDrawError, match="it never shows") as caught:
        drawn(mode=mode)
    assert str(caught.value).startswith("lesson whole-circuit: no circuit ")
    assert str(caught.value).endswith("component families, or leave the lesson out")
    assert len(tried) > 1
    assert caught.value.lesson == "whole-circuit"


@pytest.mark.nightly
def test_exercise_is_drawn_on_until_it_is_as_hard_as_the_class(monkeypatch):
    """Bad luck of one student stops no class: 20 draws stray where 10 are usual."""
    monkeypatch.setattr("generator.drawing.exercise_draw._ATTEMPTS", 10)
    # The level itself is compared with each of its draws.
    told = count(-(class_draw._LEVEL_DRAWS**2))
    monkeypatch.setattr(class_draw, "is_near", lambda *_: next(told) >= 20)
    assert len(drawn(STUDENTS[:1])["s0"]) == 1
    assert next(told) == 21


# Of sixty secrets two of those that together name the most faults.
@pytest.mark.nightly
@pytest.mark.parametrize("number", [56, 26])
def test_graded_course_is_drawn_under_any_secret(number):
    """Nine lessons in twelve exercises, for a class of one."""
    course = read_course(lesson_ids()[:9])
    secret = number.to_bytes(32)
    [(_, made)] = exercises_of_class(course, "graded", secret, ["s01"], 12)
    assert len(made) == 12
