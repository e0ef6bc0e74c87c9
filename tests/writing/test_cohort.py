"""Invented students work as well as their skill says, through the real journal."""

import json
import statistics
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.key_record import plan_of
from generator.writing.cohort import InventedStudent, hand_in_of, invented_students
from generator.writing.records import key_record
from generator.writing.stream import Stream
from tests.writing.drawn import SECRET, workbooks

HEADER = {"set_id": "abcd2345", "edition": 1, "mode": "graded"}
IDS = [f"s{number}" for number in range(40)]


@cache
def records():
    """The key records of one student."""
    numbered = enumerate(workbooks("graded")[0].exercises, start=1)
    return [key_record(made, number, {"student": "s01"}) for number, made in numbered]


def handed_in(skill, label="cohort"):
    """Name, bytes and entries of what a student with a skill hands in."""
    student = InventedStudent(id="s01", skill_frac=skill)
    name, data = hand_in_of(student, records(), HEADER, Stream(SECRET.value, label))
    return name, data, [json.loads(line) for line in data.decode().splitlines()[2:]]


def record_of(entry):
    """The key record of the exercise that an entry is about."""
    return records()[entry["exercise"] - 1]


def test_hand_in_is_that_of_the_set_and_the_student():
    """Name and header tell whose work it is."""
    name, data, _ = handed_in(0.5)
    first, second = map(json.loads, data.decode().splitlines()[:2])
    assert name == "hand-in-abcd2345-s01.jsonl"
    assert (first["kind"], second["kind"]) == ("hand-in", "journal")
    assert (first["student"], first["mode"]) == ("s01", "graded")


def test_same_stream_gives_the_same_class():
    """Numbers, choices and conclusions hang on the stream alone."""
    first, again, other = (handed_in(0.5, label)[2] for label in ("a", "a", "b"))
    numbers = [entry.get("raw") for entry in first]
    assert numbers == [entry.get("raw") for entry in again]
    assert numbers != [entry.get("raw") for entry in other]


@given(st.floats(0, 1))
def test_class_has_the_skill_asked_for(skill):
    """Skills stay between 0 and 1 and lie around the one asked for."""
    made = invented_students(IDS, skill, Stream(bytes(32)))
    found = [student.skill_frac for student in made]
    assert [student.id for student in made] == IDS
    assert statistics.fmean(found) == pytest.approx(skill, abs=0.08)


@pytest.mark.parametrize("skill", [0, 1])
def test_class_at_either_end_is_all_alike(skill):
    """Full skill is full skill for every student, and so is none."""
    made = invented_students(IDS, skill, Stream(bytes(32)))
    assert {student.skill_frac for student in made} == {skill}


@pytest.mark.parametrize("skill", [-0.1, 1.1])
def test_skill_outside_of_its_range_is_refused(skill):
    """A share of steps is from 0 to 1."""
    with pytest.raises(ValueError, match="allowed is 0 to 1"):
        InventedStudent(id="s01", skill_frac=skill)


@pytest.mark.parametrize("skill", [0, 0.5, 1])
def test_every_exercise_is_worked_from_end_to_end(skill):
    """Whatever the skill, no step that the page asks for is left out."""
    entries = handed_in(skill)[2]
    for number, record in enumerate(records(), start=1):
        kinds = [e["kind"] for e in entries if e["exercise"] == number]
        tests = kinds[3:-2]
        assert kinds[:3] == ["prediction"] * len(record["predictions"])
        assert kinds[-2:] == ["conclusion", "verification"]
        assert tests == ["test", "finding"] * (len(tests) // 2)


def test_full_skill_follows_the_plan():
    """The tests of a student without a slip are those of the least-cost plan."""
    entries = handed_in(1)[2]
    for number, record in enumerate(records(), start=1):
        plan, left = (
            plan_of(record["reasoning"]),
            tuple(range(len(record["reasoning"]["faults"]))),
        )
        planned = []
        while (test := plan.best_test(left)) is not None:
            planned.append(record["tests"][test]["id"])
            left = plan.after(left, test, record["tests"][test]["outcome"])
        chosen = [e["item"] for e in entries if e["exercise"] == number]
        assert chosen[3:-2:2] == planned


def test_numbers_are_typed_as_students_type_them():
    """Decimal points and commas both come, always with a unit."""
    raws = [entry["raw"] for entry in handed_in(0.5)[2] if "raw" in entry]
    assert any("," in raw for raw in raws)
    assert any("." in raw for raw in raws)
    assert all(raw.endswith(("A", "V")) for raw in raws)


def test_wrong_numbers_are_those_of_wrong_rules():
    """Who never does a step right writes the number of a known misconception."""
    for entry in handed_in(0)[2]:
        if "raw" in entry:
            asked = [*record_of(entry)["predictions"], record_of(entry)["verification"]]
            answer = next(one for one in asked if one["id"] == entry["item"])
            wrong = [rule["value"] for rule in answer["misconceptions"]]
            assert any(entry["value"] == pytest.approx(v, rel=0.005) for v in wrong)


@pytest.mark.parametrize("skill", [0, 0.3, 0.6, 0.9])
def test_no_test_is_done_twice(skill):
    """Each test comes once at most, as the page has it."""
    entries = handed_in(skill)[2]
    done = [(e["exercise"], e["item"]) for e in entries if e["kind"] == "test"]
    assert len(set(done)) == len(done)
