"""Exercises between the worked example and the full ones are partly done."""

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from generator.checking.exercise_check import problems_of_exercise
from generator.drawing.class_radicals import radicals_of_class
from generator.drawing.course import Course
from generator.drawing.difficulty import features_of
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.stream import Stream
from generator.invented.cohort import work
from generator.invented.kinds import InventedStudent
from generator.model.catalogue.tests import TESTS
from generator.workbooks.given import given_of
from generator.workbooks.statements import statements_in
from lessons.loader import read_lesson
from tests.answer_keys.strategies import rubrics
from tests.drawn import AT_TIMES, BOOK, EACH_FAULT, IDENTITY, SECRET, exercise, faded
from tests.keys import answer_key_of, key_content_of, page_content_of, whole_of
from workbook.record.entries import ChosenTest, Finding, Prediction
from workbook.record.payload import exercises_from_payload
from workbook.record.progress import replay

RUBRIC = rubric_from_text(rubric_text())
EXPERT = InventedStudent(id="s01", kind="expert", slip_frac=0.0)
GUESSER = InventedStudent(id="s01", kind="guesser", slip_frac=1.0)


def lesson_with(given):
    """Our lesson with other steps given."""
    return replace(BOOK, lesson=BOOK.lesson.model_copy(update={"given_tests": given}))


def given_in(mode, count, book=BOOK, earlier=()):
    """How much of each exercise of one student is done beforehand."""
    course = Course(lessons=(book,), earlier=earlier)
    drawn = radicals_of_class(course, mode, SECRET.value, ["s01"], count)["s01"]
    return [radical.given_tests for radical in drawn]


@pytest.mark.parametrize(
    ("count", "wanted"),
    [(1, [None]), (2, [2, None]), (3, [2, None, None]), (4, [2, 0, None, None])],
)
def test_first_diagnoses_are_partly_done_and_half_are_not(count, wanted):
    """The first shows most, the next less, and full ones follow."""
    assert given_in("practice", count) == wanted


def test_lesson_says_how_much_is_done():
    """Of as many exercises as it says, and of none where it says none."""
    assert given_in("practice", 6, lesson_with((1,))) == [1, *[None] * 5]
    assert given_in("practice", 6, lesson_with(())) == [None] * 6


def unlisted_in(mode, count, unlisted):
    """Which exercises of one student have no list of tests."""
    update = {"unlisted": unlisted, "given_tests": (2,)}
    book = replace(BOOK, lesson=BOOK.lesson.model_copy(update=update))
    return lists_lacking(book, mode, count)


def lists_lacking(book, mode, count):
    """The same in a lesson as it is."""
    course = Course(lessons=(book,), earlier=())
    drawn = radicals_of_class(course, mode, SECRET.value, ["s01"], count)["s01"]
    return [radical.is_unlisted for radical in drawn]


@pytest.mark.parametrize("lesson", ["two-circuits", "whole-circuit"])
def test_lessons_that_teach_it_have_two_exercises_without_a_list(lesson):
    """Where there is room for them behind one that has it."""
    book = read_lesson(lesson)
    assert sum(lists_lacking(book, "practice", 6)) == 2
    assert sum(lists_lacking(book, "practice", 2)) <= 1
    assert not any(lists_lacking(book, "graded", 6))


def test_last_diagnoses_have_no_list():
    """As many as the lesson says; never one that is partly done, nor the only one."""
    assert unlisted_in("practice", 4, 1) == [False, False, False, True]
    assert unlisted_in("practice", 3, 9) == [False, True, True]
    assert unlisted_in("practice", 1, 1) == [False]
    assert not any(unlisted_in("practice", 4, 0))
    assert not any(unlisted_in("graded", 4, 1))


@pytest.mark.parametrize("at_times", [False, True])
def test_exercise_without_a_list_asks_for_nothing_that_no_menu_has(at_times):
    """No lamp, no new relay, no section by itself: all else can be set up or seen."""
    radical = next(r for r in EACH_FAULT if (r.fault in AT_TIMES) == at_times)
    made = new_exercise(
        BOOK, replace(radical, is_unlisted=True), SECRET.value, ["s01", 1]
    )
    setups = [test.setup for test in made.tests]
    assert not any(setup.lamp or setup.new_relay or setup.alone for setup in setups)
    offered = [TESTS[name].setup for name in BOOK.lesson.tests]
    assert any(setup.lamp for setup in offered)
    assert any(setup.alone for setup in offered)


def test_graded_set_is_never_partly_done():
    """Every student has the whole of it."""
    assert given_in("graded", 6) == [None] * 6


def test_fading_changes_nothing_that_is_drawn():
    """The same exercise is whole without the key of the lesson."""
    drawn = [
        radicals_of_class(
            Course(lessons=(book,)), "practice", SECRET.value, ["s01"], 6
        )["s01"]
        for book in (BOOK, lesson_with(()))
    ]
    assert [replace(one, given_tests=None) for one in drawn[0]] == list(drawn[1])


def record_of(made):
    """The key record of an exercise, through JSON."""
    return key_content_of(made, 3, IDENTITY)


@cache
def key_of(radical, tests):
    """Key record and answer key of an exercise of which some tests are given."""
    record = record_of(faded(radical, tests))
    content = {"format": 1, "set_id": "", "edition": 1, "mode": ""}
    key = answer_key_of({**content, "exercises": [record]})
    return record, next(key.exercises)


@pytest.mark.parametrize("radical", EACH_FAULT[::8])
def test_what_is_done_is_right_and_is_not_the_end(radical):
    """However much a lesson gives, every part of it is proved again."""
    made = faded(radical, 9)
    assert problems_of_exercise(whole_of(record_of(made)), made) == []


@pytest.mark.parametrize("radical", EACH_FAULT[::2])
def test_perfect_student_gets_all_marks_however_much_is_done(radical):
    """What is done beforehand carries no mark, and the rest carries all of them."""
    for tests in (0, 1, 2):
        record, key = key_of(radical, tests)
        entries = list(work(whole_of(record), EXPERT, Stream(SECRET.value, "expert")))
        marks = grade_exercise(key, replay(entries, {3: key.start})[3], RUBRIC)
        assert marks.out_of == pytest.approx(RUBRIC.total)
        assert marks.mark == pytest.approx(RUBRIC.total)


@given(
    st.sampled_from(EACH_FAULT[::16]),
    st.integers(0, 2),
    rubrics,
    st.integers(0, 10_000),
)
def test_given_steps_neither_earn_nor_lose_marks(radical, tests, rubric, seed):
    """No step of the marks is one of them, whatever the student does with them."""
    record, key = key_of(radical, tests)
    entries = list(
        work(whole_of(record), GUESSER, Stream(SECRET.value, "guesser", seed))
    )
    wrong = [
        Prediction(exercise=3, item=item, raw="99", value=99.0, unit="A")
        for item in record["given"]["predictions"]
    ]
    for test in record["given"]["tests"]:
        item, said = test["item"], test["statement"]
        wrong += [
            ChosenTest(exercise=3, item=item, expected="none"),
            Finding(exercise=3, item=item, outcome="none", statement=said),
        ]
    start = {3: key.start}
    marks = grade_exercise(key, replay(entries, start)[3], rubric)
    assert grade_exercise(key, replay([*wrong, *entries], start)[3], rubric) == marks
    done = {test.item for test in key.start.tests}
    assert not done & {s.item for s in marks.steps if s.step in ("choices", "findings")}
    assert "predictions" not in {step.step for step in marks.steps}
    assert 0 <= marks.mark <= marks.out_of + 1e-9
    left = rubric.total - rubric.weights["predictions"]
    assert marks.out_of == pytest.approx(rubric.total if left else 0.0)


def test_student_who_only_reads_on_gets_no_marks():
    """What is done for the student proves nothing of the student."""
    _, key = key_of(EACH_FAULT[0], 2)
    assert grade_exercise(key, key.start, RUBRIC).mark == 0


def test_page_shows_no_more_readings_than_are_done():
    """Steps done beforehand are those of the page, which starts from them."""
    made = faded(EACH_FAULT[0], 1)
    page = page_content_of(made, 3, "practice")
    [loaded] = exercises_from_payload({"format": 1, "exercises": [page]}).values()
    tests = [made.tests[number].id for number in made.given_tests]
    assert [test.item for test in loaded.start.tests] == tests
    assert set(loaded.start.predictions) == {each.id for each in made.predictions}
    own = exercise(EACH_FAULT[0])
    assert given_of(own, statements_in(own)) is None


def test_partly_done_exercise_is_easier():
    """Predictions and tests that are done make nothing hard."""
    made = next(
        faded(radical, 1) for radical in EACH_FAULT if faded(radical, 1).given_tests
    )
    whole = features_of(exercise(ungiven(made)))
    left, no_test = features_of(made), features_of(faded(ungiven(made), 0))
    assert left.entropy_bits < whole.entropy_bits
    assert left.expected_minutes < whole.expected_minutes
    assert no_test.unit_steps < whole.unit_steps
    assert no_test.expected_minutes == whole.expected_minutes


def ungiven(made):
    """The radical of the exercise with nothing done."""
    return replace(made.radical, given_tests=None)


@pytest.mark.parametrize(
    ("what", "change", "problem"),
    [
        ("prediction", {"value": 1e3}, "outside of its band"),
        ("test", {"expected": "none"}, "is not what is right"),
        ("test", {"statement": "s9"}, "is not what is right"),
    ],
)
def test_wrong_given_step_is_found(what, change, problem):
    """Validation follows what is done for the student."""
    made = next(
        faded(radical, 1)
        for radical in EACH_FAULT
        if faded(radical, 1).given_tests
        and exercise(radical).sound_outcome[faded(radical, 1).given_tests[0]] != "none"
    )
    record = record_of(made)
    given = record["given"]
    first, *_ = given["tests"] if what == "test" else given["predictions"].values()
    first |= change
    assert any(problem in told for told in problems_of_exercise(whole_of(record), made))


def test_given_test_that_is_not_planned_or_proves_all_is_found():
    """Only tests of the plan are done for the student, and never the last one."""
    made = next(
        faded(radical, 1) for radical in EACH_FAULT if faded(radical, 1).given_tests
    )
    record = record_of(made)
    first, *_ = record["given"]["tests"]
    other = next(t for t in record["tests"] if t["id"] != first["item"])
    first["item"] = other["id"]
    told = problems_of_exercise(whole_of(record), made)
    assert f"{other['id']} is given, and is not the planned test" in told
