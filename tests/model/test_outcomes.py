"""Each fault shows in each test what a technician expects of it."""

from dataclasses import replace

import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.diagnostics import outcomes, readings, scales
from tests.circuits import (
    CLUTCH,
    FAN,
    FED_AT_85,
    FIVE,
    HEATER,
    HIGH,
    LOADS,
    SHARED,
    SHUTS_OFF,
    STEPS,
    SWITCHED,
    VALVE,
    WITH_DIODE,
    WITH_NEIGHBOUR,
    broken_pair,
)


def shown(sound, fault_id=None, severity=None, *, is_stressed=False):
    """What every test that the circuit can have shows under a fault, by test."""
    pair = broken_pair(sound, fault_id, severity) if fault_id else (sound, sound)
    tests = catalogue.tests_for(sound, TESTS, is_stressed=is_stressed)
    value = readings([pair], sound, tests).value[..., 0]
    words = outcomes(value, scales(sound, tests, STEPS), [pair[0]], tests)[0]
    return dict(zip([test.id for test in tests], words, strict=True))


DROPS = (
    *("drop_supply_30", "drop_30_87", "drop_87_load"),
    *("drop_load_connector", "drop_load_ground"),
)
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
    "recorded_fuses_to_relay": "expected",
    "recorded_module_to_relay": "expected",
    "recorded_relay_to_load": "expected",
    "recorded_ground": "expected",
    "recorded_relay_warmed": "expected",
    "supply_at_battery": "supply voltage",
    "socket_30": "supply voltage",
    "socket_30_lamp": "supply voltage",
    "socket_86_lamp": "supply voltage",
    "socket_85_lamp": "expected",
    "socket_87_lamp": "expected",
    **dict.fromkeys(DROPS, "expected"),
    "voltage_86": "supply voltage",
    "voltage_85": "expected",
    "voltage_low_driver": "expected",
    "voltage_module_ground": "expected",
    "scope_turn_off": "expected",
    "coil_resistance": "expected",
    "load_resistance": "expected",
    "look_at_load": "clear",
    "pull_relay": "stops",
    "watch_load": "yes",
    "feel_relay": "clicks",
    "warmth_relay": "expected",
    "warmth_ground": "expected",
    "warmth_fuse": "expected",
    "warmth_connector": "expected",
    "look_at_connector": "clean",
}
# By heat, from so many amperes on.
WARMS_A = {"warmth_relay": 4, "warmth_ground": 4, "warmth_connector": 4}
WARMS_A |= {"warmth_fuse": 10}
WITH_MECHANISM = {"move_by_hand": "normal effort", "load_check": "yes"}
# What each fault must show where it differs from sound, as a technician reasons.
EXPECTED = {
    "control_fuse_open": {
        "look_control_fuse": "open",
        # The lead is in the place of the fuse, which is in the hand.
        "control_current": "expected, fuse open",
        "control_current_off": "none, fuse open",
        "load_current": "none",
        "voltage_86": "none",
        "voltage_85": "expected",
        "scope_turn_off": "none",
    },
    "control_feed_open": {"control_current": "none", "voltage_86": "none"},
    "control_feed_to_ground": {
        "look_control_fuse": "open",
        # What opened the fuse opens that of the lead.
        "control_current": "over limit, fuse open",
        "control_current_off": "over limit, fuse open",
        "voltage_86": "none",
        "socket_86_lamp": "none",
    },
    "load_feed_strands": {
        "load_current": "none",
        "drop_supply_30": "supply voltage",
        # A meter of ten megohms sees nothing of it.
        "socket_30": "supply voltage",
        "socket_30_lamp": "low",
    },
    "load_ground_strands": {
        "load_current_bridged": "none",
        "drop_load_ground": "supply voltage",
        "socket_87_lamp": "high",
        "load_resistance": "expected",
    },
    "supply_low": {
        "supply_at_battery": "low",
        "watch_load": "no",
        "control_current": "low",
        "socket_30": "low",
    },
    "load_share_open": {
        "load_current": "low",
        "load_current_bridged": "low",
        "drop_87_load": "expected",
        "load_resistance": "high",
        "socket_87_lamp": "expected",
    },
    "control_feed_resistance": {
        # In tens of ohms a lamp finds what would hide from a meter.
        "socket_86_lamp": "low",
        "control_current": "low",
        "voltage_86": "low",
        "load_current": "none",
        "load_current_new_relay": "none",
    },
    "coil_open": {
        "feel_relay": "silent",
        "watch_load": "no",
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
    "suppression_missing": {
        "control_current": "expected",
        "coil_resistance": "expected",  # only the scope tells
        "scope_turn_off": "high",
    },
    "stronger_relay": {
        "control_current": "high",
        "coil_resistance": "low",
        "scope_turn_off": "high",
    },
    "module_ground_resistance": {
        "control_current": "low",
        "voltage_85": "high",
        "voltage_module_ground": "high",
        "scope_turn_off": "expected",
    },
    "module_restarts": {},
    "control_return_open": {
        "control_current": "none",
        "scope_turn_off": "none",
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
        "scope_turn_off": "none",
        "control_current_off": "present",
        "control_current_unplugged": "none",
    },
    "enable_missing": {
        # Its operator sees nothing, the output test drives it all the same.
        "watch_load": "no",
        "feel_relay": "clicks",
        "read_enable": "no",
        "control_current": "none",
        "control_current_output_test": "expected",
        "load_current": "expected",
    },
    "load_fuse_open": {
        "look_load_fuse": "open",
        "load_current": "expected, fuse open",
        "load_current_off": "none, fuse open",
        "load_current_bridged": "expected, fuse open",
        "control_current": "expected",
    },
    "load_feed_open": {
        "load_current": "none",
        "drop_supply_30": "supply voltage",
        "drop_30_87": "none",
    },
    "load_feed_resistance": {"load_current": "low", "drop_supply_30": "high"},
    "contacts_open": {
        "feel_relay": "clicks",
        "warmth_relay": "expected",
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
        "feel_relay": "clicks",
        "warmth_relay": "high",
        "warmth_ground": "expected",
        "load_current": "low",
        "load_current_bridged": "expected",
        "load_current_new_relay": "expected",
        "drop_30_87": "high",
    },
    "contacts_welded": {
        "feel_relay": "silent",
        "load_current_off": "present",
        "control_current_off": "none",
    },
    "load_wire_open": {
        "drop_87_load": "supply voltage",
        "drop_load_connector": "none",
        "drop_30_87": "none",
    },
    "load_wire_resistance": {
        "load_current": "low",
        "drop_87_load": "high",
        "drop_load_connector": "expected",
    },
    "load_connector_open": {
        "look_at_connector": "pushed back",
        "load_current": "none",
        "drop_87_load": "supply voltage",
        "drop_load_connector": "supply voltage",
    },
    "load_connector_resistance": {
        "look_at_connector": "green",
        "load_current": "low",
        "drop_87_load": "high",
        "drop_load_connector": "high",
    },
    # A new relay and a jumper sit in the same socket.
    "socket_open": {
        "load_current_bridged": "none",
        "load_current_new_relay": "none",
        "drop_supply_30": "none",
        "drop_30_87": "supply voltage",
    },
    "socket_resistance": {
        "load_current_bridged": "low",
        "load_current_new_relay": "low",
        "drop_supply_30": "expected",
        "drop_30_87": "high",
    },
    "load_wire_to_ground": {
        "look_load_fuse": "open",
        "load_current": "over limit, fuse open",
        "load_current_bridged": "over limit, fuse open",
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
    "load_wire_leaks_fuse_too_large": {
        "look_load_fuse": "too large",
        "load_current": "high, fuse too large",
        "load_current_off": "none, fuse too large",
        "load_resistance": "expected",
    },
    "load_turns_shorted": {
        "look_load_fuse": "open",
        "load_resistance": "low",
        "load_current": "high, fuse open",
    },
    "load_ground_open": {
        "load_current": "none",
        "drop_load_ground": "supply voltage",
        "drop_87_load": "none",
    },
    "load_ground_resistance": {"load_current": "low", "drop_load_ground": "high"},
}
FAN_EXPECTED = {
    "mechanism_seized": {
        "load_current": "over limit, fuse open",
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
    expected = SOUND | (WITH_MECHANISM if sound.has_mechanism else {})
    cool = {test for test, amps in WARMS_A.items() if sound.load_rated_a < amps}
    assert shown(sound) == {t: expected[t] for t in expected if t not in cool}


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
SMALL_SHARED = replace(VALVE, is_fuse_shared=True)
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
        {
            "look_load_fuse": "open",
            "load_current": "expected, fuse open",
            "control_current": "none",  # no lead: the clamp is on the coil's wire
            "voltage_86": "none",
        },
    ),
    "shared fuse, coil open": (
        SHARED,
        "coil_open",
        {"control_current": "low", "load_current": "none"},
    ),
    # Through the fuse goes the coil's current, and of a small load's hardly more.
    "shared fuse, a few strands before a small load": (
        SMALL_SHARED,
        "load_feed_strands",
        {"load_current": "none", "load_current_new_relay": "none"},
    ),
    "shared fuse, a few strands behind a small load": (
        SMALL_SHARED,
        "load_ground_strands",
        {"load_current": "none", "drop_supply_30": "none"},
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
    "diode open": (
        WITH_DIODE,
        "suppression_open",
        {"scope_turn_off": "high", "coil_resistance": "expected"},
    ),
    "diode fed the wrong way round": (
        FED_AT_85,
        "diode_reversed",
        {
            "control_current": "high",  # the driver limits
            "voltage_85": "supply voltage",
            "coil_resistance": "expected",  # an ohmmeter does not open a diode
            "load_current": "none",
            "load_current_new_relay": "expected",
        },
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
    "shared ground point open": (
        WITH_NEIGHBOUR,
        "shared_ground_open",
        {
            "load_current": "low",
            "load_current_bridged": "low",
            "drop_load_ground": "high",
            # There is no other way back.
            "load_current_neighbour_out": "none",
            "socket_87_lamp": "expected",
            "load_resistance": "expected",
        },
    ),
    "own ground open beside a shared one": (
        WITH_NEIGHBOUR,
        "load_ground_open",
        {"load_current": "none", "drop_load_ground": "supply voltage"},
    ),
    "fuse too large": (
        HEATER,
        "load_turns_shorted_fuse_too_large",
        {
            "look_load_fuse": "too large",
            "load_current": "high, fuse too large",
            "load_resistance": "low",
        },
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
    "diode": (WITH_DIODE, {"scope_turn_off": "expected"}),
    "high side": (HIGH, {"voltage_high_driver": "supply voltage"}),
    "shared fuse": (SHARED, {"control_current": "expected"}),
    "main relay": (SWITCHED, {"voltage_fuse_box": "supply voltage"}),
    "five terminals": (FIVE, {"voltage_87a_off": "supply voltage"}),
    "shuts off": (SHUTS_OFF, {}),
    "neighbour at the ground point": (
        WITH_NEIGHBOUR,
        {"load_current_neighbour_out": "expected", **WITH_MECHANISM},
    ),
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


AT_TIMES = [name for name in FAULTS if name.endswith("_at_times")]


@pytest.mark.parametrize("fault", AT_TIMES)
def test_intermittent_fault_shows_only_under_stress(fault):
    """Calm it reads as sound; wiggled and warm as the fault that is always there.

    A fuse that is open only when it is warm looks whole in the hand.
    """
    at_rest = shown(HEATER, fault)
    # Recordings move or warm a part of it (test_recorded.py).
    assert {n: w for n, w in at_rest.items() if not TESTS[n].setup.alone} == {
        n: w for n, w in SOUND.items() if not TESTS[n].setup.alone
    }
    always = shown(HEATER, fault.removesuffix("_at_times"))
    moved = shown(HEATER, fault, is_stressed=True)
    assert moved != SOUND
    for test in catalogue.tests_for(HEATER, TESTS, is_stressed=True):
        if test.setup.alone:
            continue
        expected = always if test.setup.is_stressed else SOUND
        assert moved[test.id] == expected[test.id].partition(", fuse")[0], test.id


@pytest.mark.parametrize("sound", LOADS.values(), ids=LOADS)
def test_hindered_work_shows_in_no_current(sound):
    """The load runs as it should: a look at it tells, and that its work is weak."""
    words = shown(sound, "work_hindered")
    told = {"look_at_load": "hindered", "watch_load": "no"}
    told |= {"load_check": "no"} if sound.has_mechanism else {}
    assert words == shown(sound) | told


@pytest.mark.parametrize(
    ("fault", "word"),
    [
        ("contacts_welded", "stops"),
        ("driver_stuck_on", "stops"),
        ("control_return_to_ground", "stops"),
        ("load_wire_to_power", "runs on"),
    ],
)
def test_pulled_relay_stops_what_goes_through_it(fault, word):
    """Contacts and coil are out of the circuit: what runs on is fed past both."""
    assert shown(HEATER, fault)["pull_relay"] == word


def test_hot_holder_has_the_right_current():
    """What heats is some tenths of a volt: drop and heat tell it, no clamp does."""
    told = {"drop_supply_30": "high", "warmth_fuse": "high"}
    assert shown(HEATER, "fuse_holder_hot") == shown(HEATER) | told


def test_stuck_valve_draws_the_expected_current():
    """A winding does not know that its spool is stuck: only the work tells."""
    words = shown(VALVE, "mechanism_seized")
    assert words["load_current"] == "expected"
    assert words["move_by_hand"] == "stuck"
    assert words["load_check"] == "no"


@pytest.mark.parametrize("rating_a", [20.0, 30.0, 40.0])
def test_fuse_is_too_large_by_the_sheet_and_not_by_the_load(rating_a):
    """A family may state a generous fuse: only a larger one than that is wrong."""
    stated = replace(FAN, load_fuse_rating_a=rating_a)
    assert shown(stated)["look_load_fuse"] == "intact"
    words = shown(stated, "load_ground_resistance_and_load_fuse_too_large")
    assert words["look_load_fuse"] == "too large"


@pytest.mark.parametrize("fault", ["contacts_open", "contacts_resistance"])
def test_break_contact_says_nothing_of_the_contact_to_87(fault):
    """87a (DIN 72552) is a contact of its own: burnt at 87, it is fed at rest."""
    assert shown(FIVE, fault)["voltage_87a_off"] == "supply voltage"
