"""A set after another one practises what was weak, and repeats what went before."""

from __future__ import annotations

import itertools

import pytest

from answer_keys.needs import Need, Needs
from generator.drawing.class_radicals import radicals_of_class
from generator.drawing.course import REVIEW_EVERY, Course, new_goals, read_course
from generator.drawing.stream import Stream
from generator.errors import ClassSetError
from generator.sets.class_set import read_needs, write_asked
from lessons.loader import read_lesson
from tests.drawn import SECRET

WEAK = ("coil_open", "driver_stuck_off", "contacts_welded", "enable_missing")
KNOWN = ("control_fuse_open", "load_fuse_open")
NEED = Need(faults=WEAK, kinds=("display", "reasons"), known=KNOWN)
# Without lessons before the first, so that what went well is what comes again.
ALONE = Course(lessons=(read_lesson("control-side"), read_lesson("meter-and-clamp")))


def stream():
    """A stream that is always the same."""
    return Stream(SECRET.value, "goals")


def test_weak_faults_come_first_with_questions_between():
    """Two diagnoses of the weakest faults, a question, and so on."""
    goals = new_goals(ALONE, NEED, 8, stream())
    asked = [goal.fault or goal.kind for goal in goals]
    assert asked[:2] + asked[2:5] == [
        "coil_open", "control_fuse_open", "driver_stuck_off", "display",
        "contacts_welded",
    ]  # fmt: skip
    assert asked[5:] == ["load_fuse_open", "enable_missing", "reasons"]


@pytest.mark.parametrize("count", [4, 8, 12, 20])
def test_every_fourth_is_a_repeat(count):
    """Between a fifth and three tenths come from earlier lessons, evenly spread."""
    course = read_course(("control-side",))
    goals = new_goals(course, NEED, count, stream())
    ids = {book.lesson.id for book in course.earlier}
    places = [n for n, goal in enumerate(goals) if goal.book.lesson.id in ids]
    assert 0.2 <= len(places) / count <= 0.3
    assert all(later - one == REVIEW_EVERY for one, later in itertools.pairwise(places))


def test_without_needs_lessons_come_in_turn():
    """Who has no need gets what every set gets."""
    goals = new_goals(ALONE, Need(), 6, stream())
    assert [goal.book for goal in goals] == list(ALONE.turns(6, stream()))
    assert not any(goal.fault or goal.kind for goal in goals)


def test_what_no_lesson_of_the_set_has_is_left_out():
    """A fault or a kind of questions from elsewhere is no goal here."""
    elsewhere = Need(faults=("air_gap_excessive",), kinds=("scope",))
    goals = new_goals(ALONE, elsewhere, 4, stream())
    assert not any(goal.fault or goal.kind for goal in goals)


def drawn(mode, needs):
    """Faults and kinds that each of two students gets."""
    found = radicals_of_class(ALONE, mode, SECRET.value, ("s01", "s02"), 6, needs)
    return {who: [(r.fault, r.kind) for r in some] for who, some in found.items()}


def test_practice_set_follows_each_students_own_needs():
    """A wanted fault is drawn, whatever the vehicle; others get the class's needs."""
    needs = Needs(after="abcd2345", students={"s01": NEED})
    found = drawn("practice", needs)
    diagnosed = [fault for fault, kind in found["s01"] if kind == "diagnosis"]
    assert {"coil_open", "driver_stuck_off", "control_fuse_open"} <= set(diagnosed)
    assert "display" in {kind for _, kind in found["s01"]}
    assert found["s02"] == drawn("practice", None)["s02"]


def test_graded_set_follows_the_needs_of_the_class():
    """All students get the same, in orders of their own."""
    found = drawn("graded", Needs(after="abcd2345", whole=NEED))
    first, second = (sorted(some, key=str) for some in found.values())
    assert first == second
    assert ("coil_open", "diagnosis") in first


def test_needs_come_back_from_their_file(tmp_path):
    """A set is drawn again from the same needs; a changed file is told."""
    path = tmp_path / "practises.json"
    assert read_needs(path) is None
    history = {"s01": {"cause": (True, False)}}
    needs = Needs(after="abcd2345", students={"s01": NEED}, history=history)
    write_asked(path, needs)
    assert read_needs(path) == needs
    path.write_text(path.read_text().replace('"abcd2345"', "7"))
    with pytest.raises(ClassSetError, match="“after” is not what belongs there"):
        read_needs(path)
