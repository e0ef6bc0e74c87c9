"""Which faults are drawn: mixed for practice, the same for all of a graded set."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.drawing.class_radicals import new_radicals, radicals_of_class
from generator.drawing.course import Course, Goal, read_course
from generator.drawing.stream import Stream
from generator.model.catalogue.faults import FAULTS
from lessons.errors import LessonError
from lessons.loader import lesson_ids
from tests.drawn import BOOK, SECRET

STUDENTS = tuple(f"s{number:02}" for number in range(1, 13))
COURSE = Course(lessons=(BOOK,))
streams = st.integers(0, 10_000).map(lambda seed: Stream(bytes(32), "test", seed))


def lesson_of(*faults, **symptoms):
    """Our lesson with other faults, or other weights of its complaints."""
    changes = {"faults": faults} if faults else {}
    if symptoms:
        weights = BOOK.lesson.symptoms.model_copy(update=symptoms)
        changes["symptoms"] = weights
    return replace(BOOK, lesson=BOOK.lesson.model_copy(update=changes))


@given(streams, st.integers(1, 15))
def test_practice_draw_repeats_no_fault_and_mixes_repairs(stream, count):
    """No fault comes twice, and neighbours ask for different repairs."""
    faults = [
        radical.fault for radical in new_radicals((Goal(book=BOOK),) * count, stream)
    ]
    repairs = [FAULTS[fault].repair for fault in faults]
    assert len(set(faults)) == len(faults) == count
    assert all(one != next_ for one, next_ in pairwise(repairs))


@given(streams)
def test_few_faults_come_equally_often(stream):
    """Where faults run out, each comes again only after all the others."""
    few = ("coil_open", "load_open", "enable_missing", "contacts_open")
    book = lesson_of(*few, works_weakly=0, never_stops=0)
    times = Counter(r.fault for r in new_radicals((Goal(book=book),) * 10, stream))
    assert sorted(times.values()) == [2, 2, 3, 3]


@given(streams)
def test_families_take_turns(stream):
    """Each family comes once in as many exercises as there are families."""
    families = [r.family for r in new_radicals((Goal(book=BOOK),) * 6, stream)]
    assert set(families[:3]) == {family.id for family in BOOK.families}
    assert all(len(set(families[at : at + 2])) == 2 for at in range(5))


def test_lessons_take_turns():
    """Two lessons are drawn from one after the other."""
    other = lesson_of("coil_open", "load_open")
    other = replace(other, lesson=other.lesson.model_copy(update={"id": "other"}))
    turns = Course(lessons=(BOOK, other)).turns(4, Stream(bytes(32)))
    drawn = new_radicals([Goal(book=book) for book in turns], Stream(bytes(32)))
    assert [r.lesson for r in drawn] == ["mixed-diagnosis", "other"] * 2


def test_complaint_without_fault_is_passed_over():
    """A lesson whose faults all make one complaint is drawn from nevertheless."""
    book = lesson_of("coil_open", "driver_stuck_off")
    drawn = new_radicals((Goal(book=book),) * 6, Stream(bytes(32)))
    assert {radical.fault for radical in drawn} == {"coil_open", "driver_stuck_off"}


def test_lesson_without_any_fault_to_draw_is_refused():
    """Weights that leave no fault say which faults make which complaint."""
    book = lesson_of("coil_open", "load_open", does_nothing=0, works_weakly=0)
    with pytest.raises(LessonError, match="does nothing: coil_open, load_open"):
        new_radicals((Goal(book=book),) * 1, Stream(bytes(32)))


def test_complaint_with_one_repair_is_never_drawn():
    """What works weakly here is always the relay; what does nothing may be two."""
    book = lesson_of("contacts_resistance", "coil_open", "control_fuse_open")
    drawn = new_radicals((Goal(book=book),) * 4, Stream(bytes(32)))
    assert {radical.symptom for radical in drawn} == {"does nothing"}


def test_weight_decides_how_often_a_complaint_comes():
    """A complaint of weight 0 never comes."""
    nought = ("does_nothing", "works_weakly", "comes_and_goes", "runs_hot")
    book = lesson_of(**dict.fromkeys((*nought, "upsets_the_module"), 0))
    drawn = new_radicals((Goal(book=book),) * 4, Stream(bytes(32)))
    assert {radical.fault for radical in drawn} == {
        "control_return_to_ground",
        "driver_stuck_on",
        "contacts_welded",
        "load_wire_to_power",
    }


def test_graded_class_has_one_collection_in_orders_of_their_own():
    """Every student of a graded set gets the same faults, few in the same order."""
    drawn = radicals_of_class(COURSE, "graded", SECRET.value, STUDENTS, 6)
    assert len({frozenset(Counter(each).items()) for each in drawn.values()}) == 1
    assert len(set(drawn.values())) > len(STUDENTS) // 2


def test_practice_class_draws_freely():
    """Students of a practice set get different faults."""
    drawn = radicals_of_class(COURSE, "practice", SECRET.value, STUDENTS, 6)
    assert len({frozenset(each) for each in drawn.values()}) == len(STUDENTS)


@pytest.mark.parametrize("name", lesson_ids())
def test_complaint_is_asked_where_four_causes_bring_it(name):
    """Fewer are half guessed; what runs hot has three in all of our catalogue."""
    course = read_course((name,))
    for number in range(10):
        secret = bytes([number] * 32)
        [drawn] = radicals_of_class(course, "practice", secret, ("s01",), 8).values()
        least = {r.symptom: 3 if r.symptom == "runs hot" else 4 for r in drawn}
        assert all(radical.causes >= least[radical.symptom] for radical in drawn)


@pytest.mark.parametrize("mode", ["graded", "practice"])
def test_student_keeps_their_draw_when_others_join(mode):
    """What one student gets does not hang on who else is in the class."""
    few = radicals_of_class(COURSE, mode, SECRET.value, STUDENTS[:2], 4)
    many = radicals_of_class(COURSE, mode, SECRET.value, STUDENTS[::-1], 4)
    assert all(many[student] == few[student] for student in few)


@pytest.mark.parametrize("mode", ["graded", "practice"])
def test_draw_hangs_on_the_secret(mode):
    """The same secret gives the same draw, another one another."""
    first, again, other = (
        radicals_of_class(COURSE, mode, secret, STUDENTS, 4)
        for secret in (SECRET.value, SECRET.value, bytes(32))
    )
    assert first == again != other
