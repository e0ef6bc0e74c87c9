"""Statements are what the readings prove, and tell nothing of the fault."""

from dataclasses import replace

import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.catalogue.tests import TESTS
from generator.model.variant import Variant
from generator.workbooks.statement_rules import RULES
from generator.workbooks.statements import sections_in, statements_in
from lessons.loader import read_lesson
from tests.drawn import EACH_FAULT, RADICALS, SECRET, exercise, for_each_radical
from workbook.measuring.proofs import MOST

BY_NAME = {f"{r.family} {r.fault}": r for r in RADICALS}
FAN = BY_NAME["cooler-fan control_return_open"]
WEAK = BY_NAME["cooler-fan load_ground_resistance"]
LOW_SUPPLY = next(each for each in EACH_FAULT if each.fault == "supply_low")


def said_of(radical, test):
    """Text of each statement of a test, by the outcomes that prove it."""
    drawn = exercise(radical)
    number = [one.id for one in drawn.tests].index(test)
    return {one.outcomes: one.text for one in statements_in(drawn)[number]}


def right_of(drawn):
    """The statement that each test proves."""
    return [
        next(one for one in statements if outcome in one.outcomes)
        for statements, outcome in zip(
            statements_in(drawn), drawn.actual_outcome, strict=True
        )
    ]


@for_each_radical
def test_right_statement_clears_all_but_where_the_candidates_lie(radical):
    """A section is cleared by a reading when no cause in it gives that reading."""
    drawn = exercise(radical)
    everything = {section.id for section in sections_in(drawn)}
    for number, right in enumerate(right_of(drawn)):
        left = {
            section
            for places, row in zip(drawn.sections_of_causes, drawn.outcome, strict=True)
            if row[number] == drawn.actual_outcome[number]
            for section in places
        }
        assert set(right.cleared) == everything - left


@for_each_radical
def test_every_list_is_short_and_has_a_choice(radical):
    """Two to six, or what outcomes prove: each said once, of all sections or none."""
    drawn = exercise(radical)
    everything = {section.id for section in sections_in(drawn)}
    for statements in statements_in(drawn):
        proving = sum(bool(one.outcomes) for one in statements)
        assert 2 <= len(statements) <= max(MOST, proving + 2)
        assert len({one.text for one in statements}) == len(statements)
        for one in statements:
            spoken = {*one.cleared, *one.suspect}
            assert spoken == (everything if one.cleared else set())
            assert len(one.cleared) + len(one.suspect) == len(spoken)


@for_each_radical
def test_statements_do_not_hang_on_the_fault(radical):
    """Any other cause of the complaint has the very same statements on offer."""
    drawn = exercise(radical)
    for other in (drawn.candidates[0], drawn.candidates[-1]):
        assert statements_in(replace(drawn, fault=other)) == statements_in(drawn)


@for_each_radical
def test_readings_together_leave_the_fault_suspect(radical):
    """No right statement ever clears a section of the fault itself."""
    drawn = exercise(radical)
    places = drawn.sections_of_causes[drawn.candidates.index(drawn.fault)]
    assert not any(places & set(right.cleared) for right in right_of(drawn))


def test_statements_are_short_sentences():
    """What is cleared or what is suspect, whichever is told in fewer words."""
    said = said_of(FAN, "voltage_86")
    fuse = exercise(FAN).specification.names.control_fuse
    assert said["supply voltage",] == (
        f"This clears the control fuse {fuse} and the wire to 86; all else is still "
        "suspect"
    )
    assert said["low",] == "The fault lies in the wire to 86; all else is cleared"
    assert said[()] == "Nothing can be told from this reading yet"


def test_one_suspect_is_named_however_short_the_rest_is():
    """A battery that is low at its posts: the fault is found there."""
    said = said_of(LOW_SUPPLY, "supply_at_battery")
    assert said["low",] == (
        "The fault lies in the battery and charging; all else is cleared"
    )


def test_outcomes_that_prove_the_same_are_one_statement():
    """Ohms too high and too low both lead to the coil."""
    assert ("high", "low") in {
        tuple(sorted(outcomes)) for outcomes in said_of(FAN, "coil_resistance")
    }


def test_reading_that_splits_nothing_proves_nothing():
    """Where every cause gives the same reading, nothing can be told yet."""
    said = said_of(WEAK, "control_current_off")
    assert said["none",] == "Nothing can be told from this reading yet"


def test_misconception_counts_at_the_outcomes_it_is_drawn_from():
    """To blame the relay for no current is no misconception at another outcome."""
    drawn = exercise(FAN)
    number = [one.id for one in drawn.tests].index("voltage_86")
    (blamed,) = (
        one
        for one in statements_in(drawn)[number]
        if one.rule and one.rule.id == "no_supply_blames_fuse"
    )
    assert blamed.misconception_at("none") == "no_supply_blames_fuse"
    assert blamed.misconception_at("none, fuse open") == "no_supply_blames_fuse"
    assert blamed.misconception_at("supply voltage") == ""


def test_rules_are_for_tests_of_the_catalogue():
    """No rule stands under a name that no test has."""
    assert RULES.keys() <= TESTS.keys()


@pytest.mark.parametrize("drive", ["low side", "high side"])
def test_sections_are_named_as_this_circuit_has_them(drive):
    """A shared fuse, a switch upstream and the coil's own terminals."""
    variant = Variant(
        fuses="shared", drive=drive, coil_supply="85", upstream="ignition switch"
    )
    radical = Radical(
        lesson="whole-circuit", family="cooler-fan", fault="coil_open", variant=variant
    )
    drawn = new_exercise(read_lesson("whole-circuit"), radical, SECRET.value, (1,))
    labels = [section.label for section in sections_in(drawn)]
    assert labels[0] == "ignition switch"
    assert labels[1] == f"shared fuse {drawn.specification.names.load_fuse}"
    assert {"wire to 85", "wire from 86"} <= set(labels)
