"""Exercises of every variant: sound records that can be solved again."""

import pytest

from generator.checking.exercise_check import problems_of_exercise
from generator.drawing.after_repair import verification_of
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.measure import Setup
from generator.model.variant import Variant
from generator.workbooks.key_records import key_record
from lessons.loader import read_lesson
from tests.circuits import settled
from tests.keys import key_content_of

IDENTITY = {"set_id": "test", "student": "s01", "lesson": "whole-circuit"}
PLAIN = Variant()
SHARED = Variant(fuses="shared", coil_supply="85", terminals=5)
HIGH = Variant(drive="high side", upstream="main relay", supply="battery only")
STRICT = Variant(fuses="shared", drive="high side", overload="shuts off")


def drawn(family, fault, variant):
    radical = Radical(
        lesson="whole-circuit", family=family, fault=fault, variant=variant
    )
    labels = (family, fault, variant.text)
    return new_exercise(read_lesson("whole-circuit"), radical, bytes(32), labels)


def record_of(family, fault, variant):
    return key_content_of(drawn(family, fault, variant), 1, IDENTITY)


@pytest.mark.parametrize(
    ("family", "fault", "variant"),
    [
        ("transfer-pump", "load_ground_resistance", PLAIN),
        ("tiller-lights", "control_feed_open", SHARED),
        ("winch-clutch", "air_gap_excessive", SHARED),
        ("cab-blower", "upstream_open", HIGH),
        ("crane-valve", "control_feed_to_power", HIGH),
        ("oil-heater", "coil_open_at_times", HIGH),
        ("seat-heater", "load_fuse_open", STRICT),
        ("radiator-fan", "coil_turns_shorted", STRICT),
    ],
)
def test_record_of_a_variant_is_sound(family, fault, variant):
    """Its plan ends at the right repair, and every network gives its reading."""
    exercise = drawn(family, fault, variant)
    record = key_record(exercise, 1, IDENTITY)
    assert problems_of_exercise(record, exercise) == []
    assert record.circuit.variant == variant.text


def test_terminals_are_named_as_the_circuit_has_them():
    """With the supply at 85 the coil runs from 85 to 86."""
    record = record_of("tiller-lights", "coil_open", SHARED)
    ends = {b["name"]: b for b in record["circuit"]["branches"]}["coil"]
    assert (ends["node_from"], ends["node_to"]) == ("85", "86")


def test_fuse_that_floats_is_kept_with_its_reading():
    """Behind an open main relay the lead carries nothing, and stays in the network."""
    record = record_of("cab-blower", "upstream_open", Variant(upstream="main relay"))
    test = next(t for t in record["tests"] if t["id"] == "load_current_off")
    names = {branch["name"] for branch in test["setup"]["branches"]}
    assert {"load_fuse", "stray"} <= names
    assert test["true_value"] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("variant", "fuse", "branches"),
    [
        (PLAIN, "load fuse", ["load"]),
        (SHARED, "shared fuse", ["load", "control_feed"]),
    ],
)
def test_meter_after_the_repair_shows_what_its_fuse_carries(variant, fuse, branches):
    """The load's current alone, or both currents where the circuits share a fuse."""
    exercise = drawn("tiller-lights", "coil_open", variant)
    state = settled(exercise.specification.nominal, Setup(load_lead=True))
    amps = sum(float(state.current(branch)[0, 0, 0]) for branch in branches)
    asked = verification_of(exercise)
    assert asked.value == pytest.approx(amps * 0.010)
    assert f"at the {fuse} after the repair" in asked.label
    assert ("plus control current" in asked.help) == (variant is SHARED)
    assert ("load and coil together" in asked.wrong) == (variant is SHARED)
