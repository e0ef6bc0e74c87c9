"""An exercise is derived again from its key, and what does not hold is named."""

import copy
from dataclasses import replace

import pytest
from msgspec import ValidationError

from generator.checking.exercise_check import least_minutes, problems_of_exercise
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.catalogue.faults import FAULTS
from generator.model.reasoning import FaultChance, Reasoning, Site
from generator.model.variant import Variant
from generator.workbooks.key_records import key_record
from lessons.loader import read_lesson
from tests.drawn import EACH_FAULT, IDENTITY, RADICALS, SECRET, exercise, key
from tests.keys import whole_of

FAN = next(
    radical
    for radical in RADICALS
    if (radical.family, radical.fault) == ("cooler-fan", "contacts_resistance")
)


def problems_with(change):
    """What is found once a copy of the fan's key record was changed."""
    record = copy.deepcopy(key(FAN))
    change(record)
    return problems_of_exercise(whole_of(record), exercise(FAN))


def test_of(record, name):
    """One test of a record."""
    return next(test for test in record["tests"] if test["id"] == name)


test_of.__test__ = False


@pytest.mark.parametrize("radical", EACH_FAULT[::6], ids=lambda radical: radical.fault)
def test_sound_exercise_has_no_problem(radical):
    """The proof and the readings of exercises of many kinds hold when done again."""
    assert problems_of_exercise(whole_of(key(radical)), exercise(radical)) == []


# Where a fault is drawn that the plainest circuit of a cooler fan cannot have.
_ELSEWHERE = {
    "air_gap_excessive": ("high-load-current", "winch-clutch", Variant()),
    "suppression_open": ("previous-repair", "fuel-heater", Variant()),
    "load_too_strong_fuse_too_large": ("previous-repair", "tiller-lights", Variant()),
    "diode_reversed": ("previous-repair", "cooler-fan", Variant(coil_supply="85")),
}


@pytest.mark.parametrize("fault", sorted({*FAULTS} - {r.fault for r in EACH_FAULT}))
def test_sound_exercise_of_a_rarer_fault_has_no_problem(fault):
    """Two faults at once, and what needs a part that few vehicles have."""
    plain = ("previous-repair", "cooler-fan", Variant())
    lesson, family, variant = _ELSEWHERE.get(fault, plain)
    radical = Radical(lesson=lesson, family=family, fault=fault, variant=variant)
    drawn = new_exercise(read_lesson(lesson), radical, SECRET.value, (fault,))
    record = key_record(drawn, 1, IDENTITY | {"lesson": lesson})
    assert problems_of_exercise(record, drawn) == []


def change_minutes(record):
    record["reasoning"]["reading_minutes"][0] += 1


def change_outcome(record):
    """All places that grading compares, so that it takes the record as whole."""
    fault = record["fault"]["id"]
    place = record["reasoning"]["tests"].index("drop_30_87")
    rows = record["reasoning"]["outcomes"]
    row = [f["id"] for f in record["reasoning"]["faults"]].index(fault)
    test = record["tests"][place]
    said = {word: one["id"] for one in test["statements"] for word in one["outcomes"]}
    word = next(word for word in said if word != rows[row][place])
    rows[row][place] = test["outcome"] = word
    test["statement"] = said[word]


def change_band(record):
    low, high = record["predictions"][1]["band"]
    record["predictions"][1]["band"] = [low, high * 1.01]


def change_both_bands(record):
    """Bands that agree with each other and not with the circuit."""
    for band in (
        test_of(record, "control_current")["expected_band"],
        record["predictions"][0]["band"],
        record["predictions"][2]["band"],
    ):
        band[:] = [edge * 0.5 for edge in band]


def change_rule(record):
    prediction = record["predictions"][1]
    prediction["misconceptions"][0]["band"] = prediction["band"]


def change_reading(record):
    test_of(record, "drop_30_87")["true_value"] *= 1.001


def change_statement(record):
    """Another statement, which claims to be what the outcome proves."""
    test = test_of(record, "drop_30_87")
    other = next(one for one in test["statements"] if one["id"] != test["statement"])
    other["outcomes"].append(test["outcome"])
    test["statement"] = other["id"]


def change_repairs(record):
    """Two causes that every test shows alike, with different repairs."""
    table = record["reasoning"]
    actual = [f["id"] for f in table["faults"]].index(record["fault"]["id"])
    other = next(
        n for n, f in enumerate(table["faults"]) if f["repair"] != "replace_relay"
    )
    table["outcomes"][other] = list(table["outcomes"][actual])


@pytest.mark.parametrize(
    ("change", "place", "said"),
    [
        (
            change_minutes,
            "reasoning.reading_minutes[0]",
            "its plan counts other minutes than",
        ),
        (change_outcome, "].outcome", "its key says"),
        (change_band, "predictions[1].band[1]", "band of load_current is not that of"),
        (change_both_bands, "band[0]", "the sound circuit reads"),
        (change_rule, "predictions[1].misconceptions[0]", "meets the band of another"),
        (change_reading, ".true_value", "drop_30_87 reads "),
        (change_statement, ".statement", "drop_30_87 proves something else than"),
        (change_repairs, "reasoning.outcomes[", "more than one repair is left after"),
    ],
)
def test_changed_key_is_found_and_named(change, place, said):
    """Each change is placed by the comparison, and told by a check of its own."""
    first, *others = problems_with(change)
    assert first.startswith("its key differs at ")
    assert place in first
    assert any(said in problem for problem in others)


def test_key_that_grading_cannot_read_is_refused():
    """What is missing is named by its place."""
    with pytest.raises(ValidationError, match=r"missing required field `minutes`"):
        problems_with(lambda record: record["tests"][0].pop("minutes"))


def test_fault_that_its_readings_rule_out_is_found():
    """A key whose fault does not fit its outcomes is refused by grading's reader."""
    said = "the fault's row in reasoning differs from the outcomes"
    with pytest.raises(ValidationError, match=said):
        problems_with(lambda record: record["fault"].update(id="coil_open"))


def test_reading_near_an_edge_is_found():
    """A reading that the meter's own error may push over an edge decides nothing."""
    made = exercise(FAN)
    names = [test.id for test in made.tests]
    place = names.index("drop_30_87")
    edge = made.scales[place].edges[1]
    readings = list(made.readings)
    readings[place] = replace(readings[place], value=edge * 1.0001)
    moved = replace(made, readings=tuple(readings))
    problems = problems_of_exercise(whole_of(key(FAN)), moved)
    assert "the reading of drop_30_87 lies near a band edge" in problems


def test_least_minutes_of_a_small_table_are_those_found_by_hand():
    """Three causes: the test of a minute first, then that of two for half of them.

    Worked by hand: 1 + (0.5 + 0.2) x 2 = 2.4; the test of four minutes never pays. With
    a way of three minutes to the other it does: 1 + (0.5 + 0.2) x 4 = 3.8.
    """
    table = Reasoning(
        faults=tuple(
            FaultChance(id=repair, prior=prior, repair=repair, sections=())
            for prior, repair in zip((0.5, 0.3, 0.2), "xyz", strict=True)
        ),
        tests=("long", "short", "other"),
        reading_minutes=(4, 1, 2),
        needs=((), ("near",), ("far",)),
        places=(
            Site(id="near", label="Near", minutes=5),
            Site(id="far", label="Far", minutes=3),
        ),
        open=("near",),
        sound=("b", "c", "c"),
        outcomes=tuple(map(tuple, ("abb", "bab", "bba"))),
        repair_minutes=dict.fromkeys("xyz", 30.0),
    )
    assert least_minutes(table) == pytest.approx(3.8)


def test_spike_of_a_high_side_circuit_is_followed_behind_its_feed():
    """A resistance between a high-side driver and its coil lies behind the driver."""
    radical = Radical(
        lesson="whole-circuit",
        family="cooler-fan",
        fault="control_feed_resistance",
        variant=Variant(drive="high side"),
    )
    drawn = new_exercise(read_lesson("whole-circuit"), radical, bytes(32), ("spike",))
    identity = {"set_id": "abcd2345", "student": "s01", "lesson": "whole-circuit"}
    assert problems_of_exercise(key_record(drawn, 1, identity), drawn) == []
