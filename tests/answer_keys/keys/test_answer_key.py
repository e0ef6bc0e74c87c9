"""The opened key keeps records packed, and opens those of one student when asked."""

import gc
import lzma
import pickle
from dataclasses import replace

import pytest

from answer_keys.errors import KeyContentError
from answer_keys.gradebook.results import graded_exercise
from answer_keys.keys.answer_key import (
    OPEN_STUDENTS,
    AnswerKey,
    answer_key_from_packed,
    pack,
)
from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.marks import ExerciseMarks
from tests.answer_keys.samples import record_content
from tests.drawn import EACH_FAULT, IDENTITY, key
from tests.keys import content_of, pack_content, whole_of

EXERCISES = 2


def class_of(count):
    """The key of so many students."""
    ids = [f"n{number:03}" for number in range(count)]
    packed = {
        id_: pack_content(
            [record_content(id_, number + 1) for number in range(EXERCISES)]
        )
        for id_ in ids
    }
    return AnswerKey(set_id="k7m2q", edition=1, mode="graded", packed=packed)


def opened(records):
    """Those of one student, as grading reads them."""
    packed = {"s01": pack_content(records)}
    return replace(class_of(1), packed=packed).of_student("s01")


def open_records():
    """How many records of a key are alive."""
    gc.collect()
    return sum(isinstance(one, KeyRecord) for one in gc.get_objects())


def test_only_the_last_few_students_stay_open():
    """Whoever goes through a class keeps the records of a few students at a time."""
    key = class_of(3 * OPEN_STUDENTS)
    for student in list(key.students)[:OPEN_STUDENTS]:
        key.of_student(student)
    before = open_records()
    assert [key.of_student(student)[2].student for student in key.students] == list(
        key.students
    )
    assert sum(1 for _ in key.exercises) == EXERCISES * len(key.students)
    assert open_records() == before


def test_what_reports_hold_keeps_no_record_open():
    """Exercises of a whole class are laid beside their marks without their key."""
    key = class_of(3 * OPEN_STUDENTS)
    for student in list(key.students)[:OPEN_STUDENTS]:
        key.of_student(student)
    before = open_records()
    marks = ExerciseMarks(exercise=1, steps=())
    held = [graded_exercise(record, marks) for record in key.exercises]
    assert len({one.outline.vehicle for one in held}) == EXERCISES
    assert open_records() == before


def test_student_that_is_open_is_not_opened_again():
    """All files of a student are marked by the same records."""
    key = class_of(2)
    assert key.of_student("n001") is key.of_student("n001")


def test_other_process_is_sent_what_is_packed_and_no_more():
    """Records that were opened here are opened there again."""
    key = class_of(4)
    assert len(list(key.exercises)) == EXERCISES * 4
    sent = pickle.dumps(key)
    assert len(sent) < 1.1 * sum(map(len, key.packed.values())) + 500
    assert pickle.loads(sent).of_student("n002") == key.of_student("n002")


def test_written_key_is_read_again():
    """Records and history come back as they were."""
    key = replace(class_of(2), history={"n000": {"choices": (True, False)}})
    assert answer_key_from_packed(key.writes()) == key


def test_whole_records_hold_what_grading_reads_and_more():
    """They come back as they were packed, and in the same order."""
    radicals = EACH_FAULT[:3]
    whole = tuple(whole_of(key(radical)) for radical in radicals)
    packed = {IDENTITY["student"]: pack(whole)}
    opened = AnswerKey(set_id="k7m2q", edition=1, mode="graded", packed=packed)
    assert tuple(opened.whole) == whole
    assert [content_of(one) for one in opened.whole] == [*map(key, radicals)]
    (graded,) = opened.exercises
    assert (graded.tests[0].id, graded.plan) == (whole[-1].tests[0].id, whole[-1].plan)


def test_unknown_student_has_no_records():
    """Nobody is found, and nothing is opened for nobody."""
    key = class_of(1)
    assert key.of_student("n999") == {}
    assert key.whole_of("n999") == ()
    assert list(key.students) == ["n000"]


@pytest.mark.parametrize(
    ("place", "value"),
    [
        ("exercise", 1.5),
        ("exercise", "1"),
        ("fault", None),
        ("verification", {"value": True}),
        ("family", 7),
    ],
)
def test_fields_are_of_their_types(place, value):
    """A text is no number and a yes no value, and the place is named."""
    record = record_content()
    was = record.get(place)
    record[place] = {**was, **value} if isinstance(value, dict) else value
    with pytest.raises(
        KeyContentError, match=rf"content is at fault: “\[0\]\.{place}.* must be "
    ):
        opened([record])


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (b"[", "truncated"),
        (b"{}", "it is a table and must be a list"),
        (b"[NaN]", "malformed"),
    ],
)
def test_what_is_no_list_of_records_is_refused(text, problem):
    """Also what JSON does not know."""
    with pytest.raises(KeyContentError, match=f"content is at fault: .*{problem}"):
        replace(class_of(1), packed={"n000": lzma.compress(text)}).of_student("n000")
