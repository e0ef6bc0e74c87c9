"""Every wrong rule has its entry in the catalogue, and every entry its use."""

from dataclasses import replace
from functools import cache
from itertools import cycle, permutations, product

import pytest

from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.mistakes import MISTAKES
from generator.drawing.after_repair import verification_of
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.catalogue.wrong_state import WRONG_STATES
from generator.questions.asked import questions_of
from generator.workbooks.statement_rules import RULES, rules_at
from lessons.loader import read_lesson
from tests.answer_keys.samples import (
    IDS,
    RUBRIC,
    TEST_IDS,
    key_content,
    record_content,
    worked,
)
from tests.drawn import SECRET
from tests.keys import answer_key_of

READ_OFF = ("currents", "traces", "logs", "shares", "millivolts", "switches")
FAMILIES = (
    "radiator-fan",
    "oil-heater",
    "wiper-heater",
    "tiller-lights",
    "tiller-lock",
)


def drawn_rules():
    """Ids of the wrong rules of all numbers asked for, drawn until each has come."""
    found, book = read_off_rules(), read_lesson("whole-circuit")
    for number, family in product(range(8), FAMILIES):
        if found >= of_kind("number"):
            break
        radical = Radical(lesson=book.lesson.id, family=family, fault="coil_open")
        drawn = new_exercise(book, radical, SECRET.value, (family, number))
        for asked in (*drawn.predictions, verification_of(drawn)):
            found |= {wrong.id for wrong in asked.misconceptions}
    return found


def read_off_rules():
    """Ids of the wrong rules of all numbers that are read off."""
    found, book = set(), read_lesson("whole-circuit")
    for kind, family in product(READ_OFF, FAMILIES):
        radical = Radical(lesson=book.lesson.id, family=family, fault="coil_open")
        drawn = new_exercise(book, radical, SECRET.value, (family, 0))
        for number in range(12):
            made = replace(
                drawn,
                radical=replace(radical, kind=kind),
                question_key=number.to_bytes(2),
            )
            for asked in filter(None, (one.number for one in questions_of(made))):
                found |= {wrong.id for wrong in asked.misconceptions}
    return found


def graded_rules():
    """Ids that grading names when any two tests are done and some cause is named."""
    ways = product(IDS, permutations(range(len(TEST_IDS)), 2))
    found = {
        name
        for (fault, numbers), cause in zip(ways, cycle(IDS), strict=False)
        for name in shown(record_of(fault), numbers, cause)
    }
    for name in MISTAKES:
        found |= shown(record_of(IDS[0], mistake=name), [-1], IDS[0])
    return found - {""}


def shown(record, numbers, cause):
    """Ids that grading names for some tests, a cause and the last correction."""
    done = [record.tests[number] for number in numbers]
    last = record.corrections[-1].id
    progress = replace(worked(record, done, cause), correction=last)
    steps = grade_exercise(record, progress, RUBRIC).steps
    return {step.misconception for step in steps}


@cache
def record_of(fault, mistake=""):
    """A record whose broken wire blows the fuse; its last test may be a mistake."""
    content = record_content(fault=fault)
    column = TEST_IDS.index("look_load_fuse")
    content["reasoning"]["outcomes"][IDS.index("load_wire_open")][column] = "no"
    if fault == "load_wire_open":
        content["tests"][column] |= {"outcome": "no", "statement": "no"}
    if mistake:
        content["tests"][-1] |= {"id": mistake, "mistake": "The fan can start."}
        content["reasoning"]["tests"][-1] = mistake
    key = answer_key_of(key_content() | {"exercises": [content]})
    return next(key.exercises)


def of_kind(kind):
    """Ids of one kind."""
    return {name for name, one in MISCONCEPTIONS.items() if one.kind == kind}


@pytest.mark.parametrize("one", MISCONCEPTIONS.values(), ids=MISCONCEPTIONS)
def test_entry_says_what_it_is_and_what_cures_it(one):
    """Whole sentences for the student, and few words for a heading."""
    assert one.explanation.endswith(".")
    assert one.cure.endswith(".")
    assert one.formula
    assert len(one.title) < 60
    assert one.title[0] == one.title[0].upper()


def test_wrong_rules_of_numbers_are_those_of_the_catalogue():
    """Each is drawn for some circuit, and none without an entry."""
    assert drawn_rules() == of_kind("number")


def test_wrong_rules_of_steps_are_those_of_the_catalogue():
    """Each choice and conclusion can show it, and grading names no other."""
    found = graded_rules()
    assert of_kind("choice") | of_kind("conclusion") <= found <= MISCONCEPTIONS.keys()


def test_wrong_rules_of_findings_are_those_of_the_catalogue():
    """Each is said of some test, and none without an entry."""
    rules = {rule.id for test in RULES for rule in rules_at(test, "load_fuse")}
    assert rules == of_kind("finding")


def test_every_test_in_a_wrong_state_shows_its_misconception():
    """A mistake that can be chosen is named, and no other."""
    assert MISTAKES.keys() == {wrong.test.id for wrong in WRONG_STATES}
    assert set(MISTAKES.values()) <= of_kind("choice")
