"""Every wrong rule has its entry in the catalogue, and every entry its use."""

import pytest

from answer_keys.misconceptions import MISCONCEPTIONS
from generator.writing.exercise import Radical, new_exercise
from lessons.loader import read_lesson
from tests.writing.drawn import SECRET

FAMILIES = ("radiator-fan", "oil-heater", "tiller-lights", "tiller-lock")


def drawn_rules():
    """Ids of the wrong rules of all numbers asked for in a few exercises."""
    found = set()
    for family in FAMILIES:
        radical = Radical(lesson="whole-circuit", family=family, fault="coil_open")
        for number in range(2):
            drawn = new_exercise(
                read_lesson("whole-circuit"), radical, SECRET.value, (family, number)
            )
            for asked in (*drawn.predictions, drawn.verification):
                found |= {wrong.id for wrong in asked.misconceptions}
    return found


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
