"""Readings of every test, their outcomes and how sure they are."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat, umath

from generator.model import catalogue
from generator.model.catalogue import TESTS
from generator.model.circuit import METER_OHM, PROBES, TOPOLOGY, Setup
from generator.model.diagnostics import (
    COVERAGE,
    DROP_LIMITS_V,
    Scale,
    outcomes,
    readings,
    risks,
    scales,
    standard_uncertainty,
)
from generator.model.faults import FAULTS
from generator.model.instruments import CLAMP_10, CLAMP_100, OHMMETER, VOLTMETER
from tests.circuits import (
    CLUTCH,
    FAN,
    HEATER,
    LOADS,
    VALVE,
    broken,
    broken_pair,
    current,
)
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


def calm_pairs(*circuits):
    """Circuits whose harness changes nothing when it is moved."""
    return [(circuit, circuit) for circuit in circuits]


def shown(sound, fault_id=None, severity=None, *, is_stressed=False):
    """What every test that the circuit can have shows under a fault, by test."""
    pair = broken_pair(sound, fault_id, severity) if fault_id else (sound, sound)
    tests = catalogue.tests_for(sound, TESTS, is_stressed=is_stressed)
    value = readings([pair], sound, tests).value[..., 0]
    words = outcomes(value, scales(sound, tests, STEPS), [pair[0]], tests)[0]
    return dict(zip([test.id for test in tests], words, strict=True))


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
    "voltage_low_driver": "expected",
    "voltage_module_ground": "expected",
    "coil_resistance": "expected",
    "load_resistance": "expected",
}
WITH_MECHANISM = {"move_by_hand": "normal effort", "load_check": "yes"}
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
        "voltage_low_driver": "expected",
    },
    "control_return_to_ground": {
        "control_current_off": "present",
        "control_current_unplugged": "present",
        "load_current_off": "present",
    },
    "driver_stuck_off": {
        "control_current_output_test": "none",
        "voltage_85": "supply voltage",
        "voltage_low_driver": "supply voltage",
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


@pytest.mark.parametrize("sound", LOADS.values(), ids=LOADS)
def test_sound_circuit_shows_what_is_expected(sound):
    """Every test of a sound circuit has the outcome that its sheet promises."""
    assert shown(sound) == SOUND | (WITH_MECHANISM if sound.has_mechanism else {})


@pytest.mark.parametrize(("fault", "expected"), EXPECTED.items(), ids=EXPECTED)
def test_fault_shows_what_a_technician_expects(fault, expected):
    """Each fault of the heater's circuit gives the outcomes that prove it."""
    # Shorted coil turns at the mild end, where the driver keeps some of the voltage.
    severity = FAULTS[fault].severity[1] if fault == "coil_turns_shorted" else None
    words = shown(HEATER, fault, severity)
    assert {test: words[test] for test in expected} == expected


@pytest.mark.parametrize(("fault", "expected"), FAN_EXPECTED.items(), ids=FAN_EXPECTED)
def test_mechanical_fault_shows_in_current_and_by_hand(fault, expected):
    """A fan that is stuck, heavy or free."""
    words = shown(FAN, fault)
    assert {test: words[test] for test in expected} == expected


# What a fault shows in a circuit that is not the plainest.
HIGH = replace(HEATER, is_high_side=True)
SHARED = replace(HEATER, is_fuse_shared=True)
SWITCHED = replace(HEATER, upstream_ohm=0.004)
FIVE = replace(HEATER, has_break_contact=True)
SHUTS_OFF = replace(HEATER, does_driver_shut_off=True)
VARIANT_EXPECTED = {
    "high side, driver dead": (
        HIGH,
        "driver_stuck_off",
        {"voltage_high_driver": "none", "voltage_86": "none"},
    ),
    "high side, feed open": (
        HIGH,
        "control_feed_open",
        {"voltage_high_driver": "supply voltage", "voltage_86": "none"},
    ),
    "high side, feed to power": (
        HIGH,
        "control_feed_to_power",
        {
            "control_current": "low",  # part of it comes past the fuse
            "control_current_off": "none",  # and then all of it
            "load_current_off": "present",
            "voltage_86": "supply voltage",
        },
    ),
    "shared fuse open": (
        SHARED,
        "load_fuse_open",
        {"look_load_fuse": "open", "load_current": "expected", "voltage_86": "none"},
    ),
    "shared fuse, coil open": (
        SHARED,
        "coil_open",
        {"control_current": "low", "load_current": "none"},
    ),
    "shared fuse, wire to ground": (
        SHARED,
        "load_wire_to_ground",
        {"look_load_fuse": "open", "control_current": "none"},
    ),
    "nothing from upstream": (
        SWITCHED,
        "upstream_open",
        {"voltage_fuse_box": "none", "control_current": "none", "voltage_86": "none"},
    ),
    "feed open before five terminals": (
        FIVE,
        "load_feed_open",
        {"voltage_87a_off": "none"},
    ),
    "welded with five terminals": (
        FIVE,
        "contacts_welded",
        {"voltage_87a_off": "none", "load_current_off": "present"},
    ),
    "module ground open": (
        HEATER,
        "module_ground_open",
        {
            "voltage_module_ground": "supply voltage",
            "voltage_low_driver": "supply voltage",
            "control_current": "none",
        },
    ),
    "driver shuts off": (
        SHUTS_OFF,
        "coil_turns_shorted",
        {"control_current": "none", "voltage_85": "supply voltage"},
    ),
    "gap too wide": (
        CLUTCH,
        "air_gap_excessive",
        {
            "load_current": "expected",
            "move_by_hand": "wide gap",
            "load_check": "no",
        },
    ),
    "fuse too large": (
        replace(HEATER, load_fuse_rating_a=20.0),
        "load_turns_shorted_fuse_too_large",
        {"look_load_fuse": "too large", "load_resistance": "low"},
    ),
}


@pytest.mark.parametrize(
    ("sound", "fault", "expected"), VARIANT_EXPECTED.values(), ids=VARIANT_EXPECTED
)
def test_fault_of_a_variant_shows_what_a_technician_expects(sound, fault, expected):
    """Each variant has its own places to look, and its own meaning of a reading."""
    words = shown(sound, fault)
    assert {test: words[test] for test in expected} == expected


VARIANT_SOUND = {
    "high side": (HIGH, {"voltage_high_driver": "supply voltage"}),
    "shared fuse": (SHARED, {"control_current": "expected"}),
    "main relay": (SWITCHED, {"voltage_fuse_box": "supply voltage"}),
    "five terminals": (FIVE, {"voltage_87a_off": "supply voltage"}),
    "shuts off": (SHUTS_OFF, {}),
}


@pytest.mark.parametrize(
    ("sound", "own"), VARIANT_SOUND.values(), ids=list(VARIANT_SOUND)
)
def test_sound_variant_shows_what_is_expected(sound, own):
    """The tests of the plain circuit where there are any, and its own besides."""
    words = shown(sound)
    assert {test: words[test] for test in own} == own
    plain = {test: SOUND[test] for test in words if test in SOUND}
    assert words == plain | own


def test_test_is_offered_only_where_its_place_is():
    """Nobody is sent to a terminal or fuse that the circuit does not have."""
    own = {
        "voltage_high_driver": HIGH,
        "voltage_fuse_box": SWITCHED,
        "voltage_87a_off": FIVE,
        "move_by_hand": VALVE,
    }
    plain = {t.id for t in catalogue.tests_for(HEATER, TESTS, is_stressed=False)}
    for name, circuit in own.items():
        there = catalogue.tests_for(circuit, TESTS, is_stressed=False)
        assert name not in plain
        assert name in {test.id for test in there}
    shared = {t.id for t in catalogue.tests_for(SHARED, TESTS, is_stressed=False)}
    assert plain - shared == {"look_control_fuse"}


def test_only_the_names_given_are_offered():
    """A lesson decides what can be chosen; the order is that of the catalogue."""
    names = {"load_current", "look_load_fuse"}
    chosen = catalogue.tests_for(HEATER, names, is_stressed=False)
    assert [test.id for test in chosen] == ["look_load_fuse", "load_current"]


@pytest.mark.parametrize("test", CATALOGUE, ids=TESTS)
def test_stress_is_put_on_electrical_tests_alone(test):
    """Harness wiggled and warm takes time, and tells nothing to the eye."""
    sound = next(c for c in (HEATER, HIGH, SWITCHED, FIVE, VALVE) if test.applies(c))
    [moved] = catalogue.tests_for(sound, [test.id], is_stressed=True)
    is_electrical = test.measure.kind in ("current", "voltage")
    assert moved.setup.is_stressed is is_electrical
    assert (moved.minutes > test.minutes) is is_electrical
    assert moved.title.endswith("wiggled and warm") is is_electrical


AT_TIMES = [name for name in FAULTS if name.endswith("_at_times")]


@pytest.mark.parametrize("fault", AT_TIMES)
def test_intermittent_fault_shows_only_under_stress(fault):
    """Calm it reads as sound; wiggled and warm as the fault that is always there."""
    assert shown(HEATER, fault) == SOUND
    always = shown(HEATER, fault.removesuffix("_at_times"))
    moved = shown(HEATER, fault, is_stressed=True)
    assert moved != SOUND
    for test in catalogue.tests_for(HEATER, TESTS, is_stressed=True):
        expected = always if test.setup.is_stressed else SOUND
        assert moved[test.id] == expected[test.id], test.id


def test_shared_fuse_is_measured_where_the_coil_has_its_own_wire():
    """The clamp goes around the wire to the coil, for the fuse carries both."""
    [test] = catalogue.tests_for(SHARED, ["control_current"], is_stressed=False)
    assert test.measure.target == "control_feed"
    assert test.setup == Setup(command="normal")
    assert "fused lead" not in test.how + "".join(test.hazards)
    [load] = catalogue.tests_for(SHARED, ["load_current"], is_stressed=False)
    assert load.title.startswith("Both currents")


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
    read = readings(calm_pairs(circuit), sound, CATALOGUE)
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
    sound, pairs = cases[0][0], calm_pairs(*(circuit for _, circuit in cases))
    together = readings(pairs, sound, CATALOGUE).value
    for i, pair in enumerate(pairs):
        for j, test in enumerate(CATALOGUE):
            alone = readings([pair], sound, [test]).value[0, 0, 0]
            assert together[i, j, 0] == pytest.approx(alone, rel=1e-7, abs=1e-8)


def test_resistances_are_read_out_of_circuit_and_cold():
    """The coil with its suppression beside it; the load without its warmth."""
    tests = [TESTS["coil_resistance"], TESTS["load_resistance"]]
    value = readings(calm_pairs(HEATER), HEATER, tests).value[0, :, 0]
    assert value == pytest.approx([85 * 680 / (85 + 680), 0.86])


def test_coil_without_suppression_reads_its_own_ohms():
    """No resistor beside it, or an open coil: what is left is what is read."""
    tests = [TESTS["coil_resistance"]]
    bare = replace(HEATER, suppression_ohm=math.inf)
    both_open = replace(bare, coil_ohm=math.inf)
    value = readings(calm_pairs(bare, both_open), bare, tests).value[:, 0, 0]
    assert value.tolist() == [85.0, math.inf]


def test_variants_step_one_value_each():
    """Variant 0 is the circuit as given; each other one has one value larger."""
    steps = {"supply_v": 0.1, "load_ohm": 0.2}
    value = readings(
        calm_pairs(HEATER), HEATER, [TESTS["load_current_bridged"]], steps
    ).value
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
    built = calm_pairs(*(varied(rng, sound) for _ in range(4000)))
    drawn = readings(built, sound, tests)
    value = drawn.value[:, :, 0]
    off = rng.uniform(-1, 1, (*value.shape, 2))
    nominal = readings(calm_pairs(sound), sound, tests, STEPS).value
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
    rest_ohm = 0.01 + 0.0002 + 0.010 + 0.001 + 0.05 + 0.05 + 0.05
    amps = supply / (rest_ohm + 1 / (1 / coil + 1 / 680) + driver)
    value = readings(calm_pairs(idle), idle, [test], steps).value
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
    value = readings(calm_pairs(HEATER), HEATER, tests).value
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
    tests, opened = [TESTS["load_resistance"]], broken(HEATER, "load_open")
    value = readings(calm_pairs(opened), HEATER, tests, STEPS).value
    assert standard_uncertainty(value, tests)[0, 0] == 0.0


def test_expected_band_is_as_wide_as_its_coverage():
    """The band of the control current lies evenly about its nominal value."""
    [scale] = scales(HEATER, [TESTS["control_current"]], STEPS)
    nominal = current(HEATER, "control_fuse", TESTS["control_current"].setup)
    low, high = scale.band
    assert (low + high) / 2 == pytest.approx(nominal)
    value = readings(
        calm_pairs(HEATER), HEATER, [TESTS["control_current"]], STEPS
    ).value
    spread = standard_uncertainty(value, [TESTS["control_current"]])[0, 0]
    assert (high - low) / 2 == pytest.approx(COVERAGE * spread, rel=1e-6)


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
        ("look_load_fuse", {0: "intact", 1: "open", 2: "too large"}),
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
