"""What gets warm under current, by hand and step by step."""

from dataclasses import replace

import numpy as np
import pytest

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.circuit import columns_of
from generator.model.diagnostics import HOT_K, readings
from generator.model.instruments import THERMOMETER, Errors
from generator.model.settling import settle
from generator.model.warmth import WARM_PARTS, WARMED_S, heat_w
from tests.circuits import (
    FAN,
    HEATER,
    LOADS,
    VALVE,
    broken,
    broken_pair,
    builds_for,
    current,
)

WARMTHS = [TESTS["warmth_relay"], TESTS["warmth_ground"]]
RELAY, GROUND = WARM_PARTS["relay"], WARM_PARTS["load_ground"]


FUSE, CONNECTOR = TESTS["warmth_fuse"], TESTS["warmth_connector"]


def rises_k(circuit, tests=WARMTHS):
    """Rise of relay and ground point of a circuit under an output test [K]."""
    value = readings([(circuit, circuit)], circuit, tests).value
    return value[0, :, 0].tolist()


@pytest.mark.parametrize("part", WARM_PARTS.values(), ids=WARM_PARTS)
def test_rise_is_what_heat_stored_and_given_off_add_up_to(part):
    """A minute in steps of a millisecond: what is not given off warms it."""
    step_s, rise = 0.001, 0.0
    for _ in range(round(WARMED_S / step_s)):
        rise += step_s * (12.0 - rise / part.k_per_w) / part.j_per_k
    assert part.rise_k(np.array(12.0)) == pytest.approx(rise, rel=1e-4)


def test_joint_of_a_volt_or_two_at_eight_amperes_is_some_twenty_kelvin_warm():
    """After a minute (common practice, no source): I²·R is U·I."""
    assert GROUND.rise_k(np.array(8.0 * 1.0)) < 20 < GROUND.rise_k(np.array(8.0 * 2.0))


def test_heat_is_current_squared_times_resistance():
    """Of the heater's circuit by hand: coil and what lies beside it, then contacts."""
    coil_a, load_a = current(HEATER, "coil"), current(HEATER, "load")
    beside_a = current(HEATER, "suppression")
    watts = coil_a**2 * 85.0 + beside_a**2 * 680.0 + load_a**2 * (0.005 + 0.003)
    relay_k, ground_k = rises_k(HEATER)
    assert relay_k == pytest.approx(RELAY.rise_k(np.array(watts)))
    assert ground_k == pytest.approx(GROUND.rise_k(np.array(load_a**2 * 0.010)), 1e-4)


def test_pulses_heat_more_than_their_mean():
    """Root mean square is the mean over √duty, so that heat is over the duty."""
    pulsed = replace(HEATER, duty_frac=0.5)
    columns = columns_of([pulsed])
    settled = settle(columns, columns, [TESTS["warmth_ground"].setup])
    mean_a = settled.current("load").item()
    assert heat_w(columns, settled, GROUND).item() == pytest.approx(
        mean_a**2 * (0.010 + pulsed.ground_point_ohm) / 0.5
    )


@pytest.mark.parametrize("sound", LOADS.values(), ids=LOADS)
def test_no_joint_is_hot_without_current(sound):
    """Under whatever fault: a hot part takes some watts of the load's current."""
    drops = [TESTS["drop_30_87"], TESTS["drop_load_ground"], TESTS["load_current"]]
    for fault in FAULTS:
        if not builds_for(fault, sound):
            continue
        pair = broken_pair(sound, fault)
        value = readings([pair], sound, [*WARMTHS, *drops]).value[0, :, 0]
        *hot, relay_v, ground_v, load_a = value.tolist()
        for rise, volts in zip(hot, (relay_v, ground_v), strict=True):
            assert rise >= 0
            assert rise < HOT_K or load_a * volts > 5, fault
        if load_a == 0:
            assert hot[1] == 0


@pytest.mark.parametrize("sound", [HEATER, FAN])
def test_hot_is_the_part_that_takes_the_voltage(sound):
    """Relay for contacts and socket, ground point for the ground, each alone."""
    found = {
        fault: [rise >= HOT_K for rise in rises_k(broken(sound, fault))]
        for fault in (
            *("socket_resistance", "contacts_resistance", "load_ground_resistance"),
            *("load_feed_resistance", "load_wire_resistance", "supply_low"),
        )
    }
    assert found == {
        "socket_resistance": [True, False],
        "contacts_resistance": [True, False],
        "load_ground_resistance": [False, True],
        "load_feed_resistance": [False, False],
        "load_wire_resistance": [False, False],
        "supply_low": [False, False],
    }


@pytest.mark.parametrize("sound", [HEATER, FAN])
def test_connector_is_hot_where_it_is_corroded_alone(sound):
    """And not for what drops volts before or behind it."""
    for fault in (
        *("load_connector_resistance", "load_wire_resistance"),
        *("load_ground_resistance", "load_feed_resistance"),
    ):
        [rise] = rises_k(broken(sound, fault), [CONNECTOR])
        assert (rise >= HOT_K) == (fault == "load_connector_resistance"), fault


@pytest.mark.parametrize("sound", [HEATER, FAN])
def test_holder_is_hot_where_it_is_spread(sound):
    """Not for its fuse's own milliohms, at half as much current again either."""
    [spread] = rises_k(broken(sound, "fuse_holder_hot"), [FUSE])
    [whole] = rises_k(sound, [FUSE])
    assert whole < HOT_K / 3 < HOT_K < spread
    amps = current(sound, "load_fuse")
    by_hand = WARM_PARTS["load_fuse"].rise_k(np.array(amps**2 * sound.load_fuse_ohm))
    assert whole == pytest.approx(by_hand, rel=1e-3)
    assert 1.5**2 * whole < HOT_K


def test_small_load_is_not_offered_a_thermometer():
    """Some watts warm a relay no more than its own coil does."""
    every = [*WARMTHS, FUSE, CONNECTOR]
    assert all(test.applies(HEATER) for test in every)
    assert not FUSE.applies(replace(HEATER, load_rated_a=9.9))
    small = replace(VALVE, load_rated_a=3.0)
    assert not any(test.applies(small) for test in every)


def test_thermometer_shows_a_tenth_and_errs_by_two_kelvin_and_two_percent():
    """At its limits: ±2 K or 2 % on makers' sheets (from memory), here both."""
    assert THERMOMETER.display(41.26, Errors()) == "41.3 K"
    assert THERMOMETER.display(50.0, Errors(gain=1.0, counts=1.0)) == "53.0 K"
    assert THERMOMETER.limit(50.0) == pytest.approx(3.0)
