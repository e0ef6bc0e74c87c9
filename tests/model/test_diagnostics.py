"""Readings of every test, their outcomes and how sure they are."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat, umath

from generator.model.catalogue import TESTS
from generator.model.circuit import METER_OHM, PROBES, TOPOLOGY
from generator.model.diagnostics import (
    DROP_LIMITS_V,
    Scale,
    outcomes,
    readings,
    risks,
    scales,
    standard_uncertainty,
)
from generator.model.faults import as_found
from generator.model.instruments import CLAMP_10, CLAMP_100, OHMMETER, VOLTMETER
from tests.circuits import FAN, HEATER, VALVE, broken, current
from tests.strategies import broken_circuits

CATALOGUE = tuple(TESTS.values())
SQRT3 = math.sqrt(3)
# Limits of what may be off, as fractions; steps are standard uncertainties.
TOLERANCES = {
    "supply_v": 0.01,
    "supply_ohm": 0.3,
    "coil_ohm": 0.05,
    "suppression_ohm": 0.05,
    "driver_ohm": 0.3,
    "load_ohm": 0.05,
    "load_feed_ohm": 0.2,
    "contacts_ohm": 0.3,
}
STEPS = {name: limit / SQRT3 for name, limit in TOLERANCES.items()}


def shown(sound, fault_id, severity=None):
    """What every test of the catalogue shows under a fault, by test."""
    circuit = broken(sound, fault_id, severity) if fault_id else sound
    found = as_found([circuit])
    value = readings(found, sound, CATALOGUE).value[..., 0]
    words = outcomes(value, scales(sound, CATALOGUE, STEPS), found, CATALOGUE)[0]
    return dict(zip(TESTS, words, strict=True))


DROPS = ("drop_supply_30", "drop_30_87", "drop_87_load", "drop_load_ground")
SOUND = {
    "look_control_fuse": "intact",
    "look_load_fuse": "intact",
    "read_enable": "yes",
    "control_current": "expected",
    "control_current_output_test": "expected",
    "control_current_off": "none",
    "control_current_unplugged": "none",
    "load_current": "expected",
    "load_current_off": "none",
    "load_current_bridged": "expected",
    "load_current_new_relay": "expected",
    **dict.fromkeys(DROPS, "expected"),
    "voltage_86": "supply voltage",
    "voltage_85": "expected",
    "voltage_driver": "expected",
    "coil_resistance": "expected",
    "load_resistance": "expected",
    "move_by_hand": "normal effort",
    "load_check": "yes",
}
# What each fault must show where it differs from sound, as a technician reasons.
EXPECTED = {
    "control_fuse_open": {
        "look_control_fuse": "open",
        "control_current": "expected",  # the lead is in the fuse's place
        "voltage_86": "none",
        "voltage_85": "expected",
        "load_current": "none",
    },
    "control_feed_open": {"control_current": "none", "voltage_86": "none"},
    "control_feed_resistance": {
        "control_current": "low",
        "voltage_86": "low",
        "load_current": "none",
        "load_current_new_relay": "none",
    },
    "coil_open": {
        "control_current": "low",  # its suppression still draws
        "coil_resistance": "high",
        "load_current_new_relay": "expected",
    },
    "coil_turns_shorted": {
        "control_current": "high",
        "voltage_85": "high",
        "coil_resistance": "low",
    },
    "wrong_relay": {"control_current": "low", "coil_resistance": "high"},
    "control_return_open": {
        "control_current": "none",
        "voltage_86": "supply voltage",
        "voltage_85": "supply voltage",
        "voltage_driver": "expected",
    },
    "control_return_to_ground": {
        "control_current_off": "present",
        "control_current_unplugged": "present",
        "load_current_off": "present",
    },
    "driver_stuck_off": {
        "control_current_output_test": "none",
        "voltage_85": "supply voltage",
        "voltage_driver": "supply voltage",
    },
    "driver_stuck_on": {
        "control_current_off": "present",
        "control_current_unplugged": "none",
    },
    "enable_missing": {
        "read_enable": "no",
        "control_current": "none",
        "control_current_output_test": "expected",
        "load_current": "expected",
    },
    "load_fuse_open": {"look_load_fuse": "open", "load_current": "expected"},
    "load_feed_open": {
        "load_current": "none",
        "drop_supply_30": "supply voltage",
        "drop_30_87": "none",
    },
    "load_feed_resistance": {"load_current": "low", "drop_supply_30": "high"},
    "contacts_open": {
        "control_current": "expected",
        "load_current": "none",
        "load_current_bridged": "expected",
        "load_current_new_relay": "expected",
        "drop_supply_30": "none",
        "drop_30_87": "supply voltage",
        "drop_87_load": "none",
        "drop_load_ground": "none",
    },
    "contacts_resistance": {
        "load_current": "low",
        "load_current_bridged": "expected",
        "drop_30_87": "high",
    },
    "contacts_welded": {"load_current_off": "present", "control_current_off": "none"},
    "load_wire_open": {"drop_87_load": "supply voltage", "drop_30_87": "none"},
    "load_wire_resistance": {"load_current": "low", "drop_87_load": "high"},
    "load_wire_to_ground": {
        "look_load_fuse": "open",
        "load_current": "over limit",
        "load_current_bridged": "over limit",
    },
    "load_wire_to_power": {
        "load_current": "low",  # most of it comes past the fuse
        "load_current_off": "none",
    },
    "load_open": {
        "load_current": "none",
        **dict.fromkeys(DROPS, "none"),
        "load_resistance": "over limit",
    },
    "load_turns_shorted": {"load_resistance": "low", "load_current": "high"},
    "load_ground_open": {
        "load_current": "none",
        "drop_load_ground": "supply voltage",
        "drop_87_load": "none",
    },
    "load_ground_resistance": {"load_current": "low", "drop_load_ground": "high"},
}
FAN_EXPECTED = {
    "mechanism_seized": {
        "load_current": "over limit",
        "load_resistance": "expected",
        "move_by_hand": "stuck",
        "load_check": "no",
    },
    "mechanism_binding": {"load_current": "high", "move_by_hand": "heavy"},
    "mechanism_free": {
        "load_current": "low",
        "move_by_hand": "free",
        "load_check": "no",
    },
}


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_sound_circuit_shows_what_is_expected(sound):
    """Every test of a sound circuit has the outcome that its sheet promises."""
    assert shown(sound, None) == SOUND


@pytest.mark.parametrize(("fault", "expected"), EXPECTED.items(), ids=EXPECTED)
def test_fault_shows_what_a_technician_expects(fault, expected):
    """Each fault of the heater's circuit gives the outcomes that prove it."""
    words = shown(HEATER, fault)
    assert {test: words[test] for test in expected} == expected


@pytest.mark.parametrize(("fault", "expected"), FAN_EXPECTED.items(), ids=FAN_EXPECTED)
def test_mechanical_fault_shows_in_current_and_by_hand(fault, expected):
    """A fan that is stuck, heavy or free."""
    words = shown(FAN, fault)
    assert {test: words[test] for test in expected} == expected


def test_stuck_valve_draws_the_expected_current():
    """A winding does not know that its spool is stuck: only the work tells."""
    words = shown(VALVE, "mechanism_seized")
    assert words["load_current"] == "expected"
    assert words["move_by_hand"] == "stuck"
    assert words["load_check"] == "no"


@settings(max_examples=20)
@given(broken_circuits())
def test_true_values_are_those_of_the_settled_circuit(case):
    """Currents and voltages come from the operating point of their own set-up."""
    sound, circuit = case
    read = readings([circuit], sound, CATALOGUE)
    for number, test in enumerate(CATALOGUE):
        target, value = test.measure.target, read.value[0, number, 0]
        amps = dict(
            zip(TOPOLOGY.branches, read.settled.current_a[0, number, 0], strict=True)
        )
        if test.measure.kind == "current":
            assert value == amps[target]
            assert value == pytest.approx(
                current(circuit, target, test.setup, sound), rel=1e-9, abs=1e-9
            )
        if test.measure.kind == "voltage":
            assert target in PROBES
            assert value == pytest.approx(amps[f"meter {target}"] * METER_OHM)


@settings(max_examples=10)
@given(st.lists(broken_circuits(), min_size=2, max_size=3))
def test_readings_of_a_batch_equal_a_loop(cases):
    """All circuits by all tests at once read as one circuit by one test."""
    sound, circuits = cases[0][0], [circuit for _, circuit in cases]
    together = readings(circuits, sound, CATALOGUE).value
    for i, circuit in enumerate(circuits):
        for j, test in enumerate(CATALOGUE):
            alone = readings([circuit], sound, [test]).value[0, 0, 0]
            assert together[i, j, 0] == pytest.approx(alone, rel=1e-7, abs=1e-8)


def test_resistances_are_read_out_of_circuit_and_cold():
    """The coil with its suppression beside it; the load without its warmth."""
    tests = [TESTS["coil_resistance"], TESTS["load_resistance"]]
    value = readings([HEATER], HEATER, tests).value[0, :, 0]
    assert value == pytest.approx([85 * 680 / (85 + 680), 0.86])


def test_coil_without_suppression_reads_its_own_ohms():
    """No resistor beside it, or an open coil: what is left is what is read."""
    tests = [TESTS["coil_resistance"]]
    bare = replace(HEATER, suppression_ohm=math.inf)
    both_open = replace(bare, coil_ohm=math.inf)
    value = readings([bare, both_open], bare, tests).value[:, 0, 0]
    assert value.tolist() == [85.0, math.inf]


def test_variants_step_one_value_each():
    """Variant 0 is the circuit as given; each other one has one value larger."""
    steps = {"supply_v": 0.1, "load_ohm": 0.2}
    value = readings([HEATER], HEATER, [TESTS["load_current_bridged"]], steps).value
    by_hand = [
        current(circuit, "load_fuse", TESTS["load_current_bridged"].setup)
        for circuit in (
            HEATER,
            replace(HEATER, supply_v=15.4),
            replace(HEATER, load_ohm=0.86 * 1.2),
        )
    ]
    assert value[0, 0] == pytest.approx(by_hand)


def varied(rng, circuit):
    """A circuit drawn within its tolerances, each a rectangle."""
    return replace(
        circuit,
        **{
            name: getattr(circuit, name) * (1 + rng.uniform(-limit, limit))
            for name, limit in TOLERANCES.items()
        },
    )


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_standard_uncertainty_agrees_with_monte_carlo(sound):
    """Propagated and drawn spread agree to 4 % (JCGM 101:2008), instrument included."""
    names = ("control_current", "load_current", "drop_30_87", "voltage_85")
    tests = [TESTS[name] for name in names]
    rng = np.random.default_rng(20261125)
    drawn = readings([varied(rng, sound) for _ in range(4000)], sound, tests)
    value = drawn.value[:, :, 0]
    off = rng.uniform(-1, 1, (*value.shape, 2))
    nominal = readings([sound], sound, tests, STEPS).value
    for number, amount in enumerate(nominal[0, :, 0]):
        clamp = tests[number].measure.clamp
        volts = amount * clamp.scale_v_per_a if clamp else amount
        scale = clamp.scale_v_per_a if clamp else 1.0
        value[:, number] += off[:, number, 0] * VOLTMETER.limit(volts) / scale
        value[:, number] += off[:, number, 1] * (clamp.limit(amount) if clamp else 0.0)
    propagated = standard_uncertainty(nominal, tests)[0]
    assert propagated == pytest.approx(value.std(axis=0), rel=0.04)


def test_standard_uncertainty_agrees_with_the_uncertainties_library():
    """Small tolerances of four values in a closed form, propagated by derivatives."""
    steps = {"supply_v": 1e-4, "coil_ohm": 2e-4, "driver_ohm": 1e-3}
    test = TESTS["control_current"]
    supply, coil, driver = (
        ufloat(getattr(HEATER, name), getattr(HEATER, name) * step)
        for name, step in steps.items()
    )
    # The load is off in this set-up, and a lead of 10 mΩ stands in for the fuse.
    idle = replace(HEATER, load_ohm=math.inf)
    rest_ohm = 0.01 + 0.010 + 0.05 + 0.05 + 0.05
    amps = supply / (rest_ohm + 1 / (1 / coil + 1 / 680) + driver)
    value = readings([idle], idle, [test], steps).value
    instrument = CLAMP_100.standard_uncertainty(amps.nominal_value)
    assert value[0, 0, 0] == pytest.approx(amps.nominal_value)
    assert standard_uncertainty(value, [test])[0, 0] == pytest.approx(
        float(umath.hypot(amps.std_dev, instrument)), rel=1e-3
    )
    alone = np.sqrt(standard_uncertainty(value, [test])[0, 0] ** 2 - instrument**2)
    assert alone == pytest.approx(amps.std_dev, rel=1e-3)


def test_uncertainty_of_the_instrument_is_that_of_its_kind():
    """Without tolerances there remain clamp, voltmeter, ohmmeter, or nothing."""
    names = ("load_current", "voltage_86", "coil_resistance", "read_enable")
    tests = [TESTS[name] for name in names]
    value = readings([HEATER], HEATER, tests).value
    amps, volts, ohms, _ = value[0, :, 0]
    assert standard_uncertainty(value, tests)[0] == pytest.approx(
        [
            CLAMP_10.standard_uncertainty(amps),
            VOLTMETER.standard_uncertainty(volts),
            OHMMETER.standard_uncertainty(ohms),
            0.0,
        ]
    )


def test_open_resistance_has_no_uncertainty():
    """What reads OL reads OL whatever the tolerances are."""
    tests = [TESTS["load_resistance"]]
    value = readings([broken(HEATER, "load_open")], HEATER, tests, STEPS).value
    assert standard_uncertainty(value, tests)[0, 0] == 0.0


def test_expected_band_is_three_standard_uncertainties_wide():
    """The band of the control current lies evenly about its nominal value."""
    [scale] = scales(HEATER, [TESTS["control_current"]], STEPS)
    nominal = current(HEATER, "control_fuse", TESTS["control_current"].setup)
    low, high = scale.band
    assert (low + high) / 2 == pytest.approx(nominal)
    value = readings([HEATER], HEATER, [TESTS["control_current"]], STEPS).value
    spread = standard_uncertainty(value, [TESTS["control_current"]])[0, 0]
    assert (high - low) / 2 == pytest.approx(3 * spread, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "edges"),
    [
        (
            "drop_30_87",
            {0.0004: "none", 0.29: "expected", 0.31: "high", 13: "supply voltage"},
        ),
        ("voltage_86", {0.4: "none", 0.6: "low", 11.8: "low", 12.0: "supply voltage"}),
        ("voltage_85", {0.9: "expected", 1.1: "high", 12.0: "supply voltage"}),
        (
            "coil_resistance",
            {60: "low", 75.6: "expected", 90: "high", 7e4: "over limit"},
        ),
        ("load_current", {1.0: "none", 2.0: "low", 39.0: "high", 41.0: "over limit"}),
        ("control_current_off", {0.01: "none", 0.02: "present"}),
        ("load_check", {2.0: "no", 14.8: "yes", 30.0: "no"}),
        ("look_load_fuse", {0: "intact", 1: "open"}),
    ],
)
def test_scale_sorts_readings_by_its_edges(name, edges):
    """Words change where the specification sheet or the trade draws the line."""
    [scale] = scales(HEATER, [TESTS[name]], STEPS)
    assert {value: scale.word(value) for value in edges} == edges


def test_scale_offers_every_word_once():
    """A word that stands at both ends of a scale is one choice."""
    scale = Scale(words=("no", "yes", "no"), edges=(1.0, 2.0))
    assert scale.choices == ("no", "yes")


def test_limits_of_the_sections_are_those_of_their_probes():
    """Each limit on the sheet has a place where it can be measured."""
    assert set(DROP_LIMITS_V) <= set(PROBES)


@pytest.mark.parametrize(
    ("sigmas", "risk"), [(1.0, 0.158655), (1.96, 0.0249979), (3.0, 0.00134990)]
)
def test_risk_is_the_tail_beyond_the_edge(sigmas, risk):
    """Tails of the normal distribution, as in any statistical table."""
    scale = Scale(words=("low", "high"), edges=(10.0,))
    found = risks(np.array([[10.0 + 2.0 * sigmas]]), np.array([[2.0]]), [scale])
    assert found[0, 0] == pytest.approx(risk, rel=1e-5)


def test_risk_counts_both_edges():
    """In the middle of a narrow band either side may be crossed."""
    scale = Scale(words=("low", "expected", "high"), edges=(9.0, 11.0))
    found = risks(np.array([[10.0]]), np.array([[1.0]]), [scale])
    assert found[0, 0] == pytest.approx(2 * 0.158655, rel=1e-5)


@pytest.mark.parametrize(("value", "spread"), [(math.inf, 0.0), (1.0, 0.0)])
def test_sure_reading_has_no_risk(value, spread):
    """An open, and a state without any spread, are never taken for something else."""
    scale = Scale(words=("intact", "open"), edges=(0.5,))
    assert risks(np.array([[value]]), np.array([[spread]]), [scale])[0, 0] == 0.0


@pytest.mark.parametrize("test", CATALOGUE, ids=TESTS)
def test_catalogue_entry_is_complete(test):
    """Minutes, a known probe, an instrument, and hazards wherever something moves."""
    assert TESTS[test.id] is test
    assert "_" in test.id
    assert test.minutes > 0
    assert test.title
    assert test.how.endswith(".")
    if test.measure.kind == "voltage":
        assert test.setup.probe == test.measure.target
    if test.setup.jumper or test.setup.load_lead or test.setup.control_lead:
        assert test.hazards
    if test.measure.kind == "state":
        assert len(test.words) > 1
