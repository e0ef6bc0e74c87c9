"""Graded students get causes of their own, and a workbook as hard as everyone's."""

from collections import Counter
from dataclasses import replace

import pytest

from generator.drawing import own_causes
from generator.drawing.class_radicals import goals_of_class, radicals_of_class
from generator.drawing.course import Course
from generator.drawing.difficulty import class_difficulty, difficulty_of
from generator.drawing.exercise_draw import new_exercise
from generator.errors import ClassDrawError, DrawError
from tests.drawing.classes import exercises_of_class
from tests.drawn import BOOK, SECRET

COURSE = Course(lessons=(BOOK,))
STUDENTS = tuple(f"s{number:02}" for number in range(1, 6))


def drawn(students=STUDENTS, mode="graded", count=2):
    """What each student gets."""
    made = exercises_of_class(COURSE, mode, SECRET.value, students, count, causes="own")
    return dict(made)


@pytest.fixture(scope="module")
def of_class():
    """A class drawn once."""
    return drawn()


@pytest.mark.nightly
def test_class_has_it_equally_hard(of_class):
    """Though few have a cause at the same place."""
    hard = [(who, difficulty_of(one)) for who, own in of_class.items() for one in own]
    assert class_difficulty(hard).is_fair
    firsts = Counter(own[0].fault.id for own in of_class.values())
    assert firsts.most_common(1)[0][1] <= 2


@pytest.mark.nightly
def test_load_does_not_tell_the_cause(of_class):
    """Among vehicles with one load there are several causes."""
    causes = dict[str, set[str]]()
    for own in of_class.values():
        for one in own:
            causes.setdefault(one.radical.family, set()).add(one.fault.id)
    assert max(map(len, causes.values())) >= 2
    assert all(
        one.radical.fault == one.fault.id for own in of_class.values() for one in own
    )


def test_student_keeps_their_draw_when_others_join(of_class):
    """Nobody else has a part in it."""
    assert drawn(STUDENTS[2:3])[STUDENTS[2]] == of_class[STUDENTS[2]]


def test_examination_asks_for_diagnoses_only():
    """A screen to read off, or a sheet of questions, would hold what it asks."""
    lesson = BOOK.lesson.model_copy(update={"kinds": ("reasons",)})
    course = Course(lessons=(replace(BOOK, lesson=lesson),))
    use = course, "examination", SECRET.value
    assert [goal.kind for goal in goals_of_class(*use[:2], SECRET.value, 2)] == [
        "diagnosis",
        "diagnosis",
    ]
    [drawn] = radicals_of_class(*use, ["s01"], 2).values()
    assert [radical.kind for radical in drawn] == ["diagnosis", "diagnosis"]


@pytest.mark.nightly
def test_cause_is_drawn_as_often_as_it_is_found():
    """Given all that a page shows, its causes come by their probability."""
    asked = replace(drawn(("s01",), count=1)["s01"][0].radical, fault="")
    share = Counter[bool]()
    expected = 0.0
    for number in range(40):
        made = new_exercise(BOOK, asked, SECRET.value, ("share", number))
        chances = made.plan.posterior(made.plan.start)
        likeliest = max(range(len(chances)), key=chances.__getitem__)
        expected += chances[likeliest]
        share[made.candidates[likeliest] == made.fault] += 1
    # Three standard deviations of what chance alone would give.
    assert abs(share[True] - expected) < 3 * (40 * 0.25) ** 0.5


def test_lesson_of_which_nothing_can_be_drawn_is_given_up(monkeypatch):
    """In the sentence that says what to change."""

    def fails(wanted, _):
        return [DrawError("a family", "any fault", 1, "it never shows") for _ in wanted]

    monkeypatch.setattr(own_causes, "new_exercises", fails)
    with pytest.raises(ClassDrawError, match="it never shows"):
        drawn(count=1)


def test_workbook_that_stays_too_hard_is_given_up(monkeypatch):
    """After many draws, and not for ever."""
    monkeypatch.setattr(own_causes, "_PATIENCE", 2)
    monkeypatch.setattr(own_causes, "_LEVEL_DRAWS", 2)
    monkeypatch.setattr(own_causes, "is_near", lambda *_: False)
    with pytest.raises(ClassDrawError, match="harder or easier"):
        drawn(("s01",), count=1)
