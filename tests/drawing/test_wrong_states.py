"""Tests done in a wrong state stand among the proper ones and give nothing away."""

import json
from collections import Counter

from answer_keys.mistakes import MISTAKES
from generator.drawing.stream import Stream
from generator.invented.cohort import hand_in_of
from generator.invented.kinds import InventedStudent
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import WRONG_STATES
from generator.model.diagnostics import PROVES_NOTHING
from tests.drawn import (
    EACH_FAULT,
    SECRET,
    every_exercise,
    exercise,
    for_each_radical,
    key,
    page,
)
from tests.keys import whole_of

LIKE = {wrong.test.id: wrong.like for wrong in WRONG_STATES}
HEADER = {"set_id": "abcd2345", "edition": 1, "mode": "graded"}


def mistaken(record):
    """Tests of a key that are done in a wrong state."""
    return [test for test in record["tests"] if test["mistake"]]


@for_each_radical
def test_exercise_offers_three_or_four_wrong_states(radical):
    """Each among the proper tests, whose order stays that of the catalogue."""
    ids = [test.id for test in exercise(radical).tests]
    drawn = [name for name in ids if name in LIKE]
    assert len(drawn) in (3, 4)
    proper = [name for name in ids if name in TESTS]
    assert proper == [name for name in TESTS if name in proper]


def test_wrong_states_stand_on_either_side_of_the_test_they_pass_for():
    """Between it and others of its kind at most, before it as often as behind."""
    sides = Counter()
    for made in every_exercise():
        ids = [test.id for test in made.tests]
        for place, name in enumerate(ids):
            if name not in LIKE:
                continue
            like = ids.index(LIKE[name])
            between = ids[min(place, like) + 1 : max(place, like)]
            assert {LIKE.get(other) for other in between} <= {LIKE[name]}
            sides[place < like] += 1
    assert 0.35 < sides[True] / sides.total() < 0.65


def test_every_wrong_state_has_a_misconception():
    """What a student falls for has a name, so that a class report can count it."""
    assert set(MISTAKES) == set(LIKE)


def test_every_wrong_state_is_drawn():
    """Over many exercises none is left out."""
    drawn = {test.id for made in every_exercise() for test in made.tests}
    assert drawn >= set(LIKE)


@for_each_radical
def test_wrong_state_has_one_outcome_under_every_cause(radical):
    """On this vehicle, on a sound one, and in the whole table of reasoning."""
    record = key(radical)
    for test in mistaken(record):
        column = record["reasoning"]["tests"].index(test["id"])
        rows = record["reasoning"]["outcomes"]
        assert {row[column] for row in rows} == {PROVES_NOTHING}
        assert test["outcome"] == test["sound_outcome"] == PROVES_NOTHING
        assert test["expected_band"] is None


@for_each_radical
def test_choices_of_a_wrong_state_are_those_of_its_proper_test(radical):
    """Only the set-up tells which of the two proves something."""
    offered = {test["id"]: test["outcomes"] for test in key(radical)["tests"]}
    for name in offered.keys() & LIKE.keys():
        assert offered[name] == offered[LIKE[name]]


@for_each_radical
def test_proper_tests_offer_the_word_too(radical):
    """Last, by everything with a meter, and by nothing that is seen or felt."""
    made = exercise(radical)
    for place, test in enumerate(made.tests):
        *others, last = made.choices[place]
        assert (last == PROVES_NOTHING) is not test.is_by_eye
        assert PROVES_NOTHING not in others


@for_each_radical
def test_graded_page_does_not_tell_which_tests_mislead(radical):
    """The mistake stands in the key alone, and in what a practice set says after."""
    graded = json.dumps(page(radical, "graded"), ensure_ascii=False)
    told = page(radical, "practice")["feedback"]["tests"]
    for test in key(radical)["tests"]:
        assert told[test["id"]]["caution"] == test["mistake"]
        assert not test["mistake"] or test["mistake"] not in graded
    assert "caution" not in graded


def test_only_an_unzeroed_clamp_is_not_called_zeroed():
    """What the page says of the instrument is true, before and after."""
    for radical in EACH_FAULT[::3]:
        for test in page(radical, "graded")["tests"]:
            if "clamp probe" in test["instrument"]:
                is_zeroed = test["instrument"].endswith("zeroed")
                assert is_zeroed is not test["id"].endswith("from_case")


def chosen_by(kind, slip_frac):
    """Tests that an invented student does in many exercises."""
    student = InventedStudent(id="s01", kind=kind, slip_frac=slip_frac)
    records = [
        {**key(radical), "exercise": number, "student": "s01"}
        for number, radical in enumerate(EACH_FAULT[::2], start=1)
    ]
    _, data = hand_in_of(
        student, [*map(whole_of, records)], HEADER, Stream(SECRET.value, "offer")
    )
    entries = [json.loads(line) for line in data.decode().splitlines()[2:]]
    return {entry["item"] for entry in entries if entry["kind"] == "test"}


def test_student_without_a_slip_does_no_test_in_a_wrong_state():
    """The plan never holds one; a hasty student falls for some."""
    assert not chosen_by("expert", 0.0) & LIKE.keys()
    assert chosen_by("guesser", 1.0) & LIKE.keys()
