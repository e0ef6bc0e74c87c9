"""Readings of every test, their scales and how sure they are."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat, umath

from generator.model.catalogue.tests import TESTS
from generator.model.diagnostics import COVERAGE, readings, scales
from generator.model.instruments import CLAMP_10, CLAMP_100, OHMMETER, VOLTMETER
from generator.model.risk import risks
from generator.model.scales import DROP_LIMITS_V, Scale
from generator.model.topology import METER_OHM, PROBES, TOPOLOGY
from generator.model.uncertainty import standard_uncertainty
from tests.circuits import (
    FAN,
    HEATER,
    STEPS,
    TOLERANCES,
    VALVE,
    broken,
    calm_pairs,
    current,
)
from tests.strategies import broken_circuits

CATALOGUE = tuple(TESTS.values())
SQRT3 = math.sqrt(3)


@settings(max_examples=12)
@given(broken_circuits())
def test_true_values_are_those_of_the_settled_circuit(case):
    """Currents and voltages come from the operating point of their own set-up."""
    sound, circuit = case
    read = readings(calm_pairs(circuit), sound, CATALOGUE)
    for number, test in enumerate(CATALOGUE):
        target, value = test.measure.target, read.value[0, number, 0]
        own = read.at(number).current_a[0, 0, 0]
        amps = dict(zip(TOPOLOGY.branches, own, strict=True))
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
    # Each test alone with one of the circuits, each circuit with many of the tests.
    for j, test in enumerate(CATALOGUE):
        i = j % len(pairs)
        alone = readings([pairs[i]], sound, [test]).value[0, 0, 0]
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
    built = calm_pairs(*(varied(rng, sound) for _ in range(2000)))
    drawn = readings(built, sound, tests)
    value = drawn.value[:, :, 0]
    off = rng.uniform(-1, 1, (*value.shape, 3))
    nominal = readings(calm_pairs(sound), sound, tests, STEPS).value
    for number, amount in enumerate(nominal[0, :, 0]):
        clamp = tests[number].measure.clamp
        volts = amount * clamp.scale_v_per_a if clamp else amount
        scale = clamp.scale_v_per_a if clamp else 1.0
        value[:, number] += off[:, number, 0] * VOLTMETER.limit(volts) / scale
        if clamp:
            value[:, number] += off[:, number, 1] * clamp.limit(amount)
            value[:, number] += off[:, number, 2] * clamp.noise_a
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
        # Squares of 2, 14 and 30 A: more current is more heat, not less work.
        ("load_check", {4.0: "no", 196.0: "yes", 900.0: "yes"}),
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
