"""The trade's rules for two clamp readings, on reference circuits.

What the two currents say of control side, load side and mechanics is common practice
and has no one source. Each rule is checked against every single fault: what shows the
reading is what the rule names, and what the rule names shows the reading.
"""

from functools import cache

import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.diagnostics import outcomes, readings, scales
from tests.circuits import (
    CLUTCH,
    FAN,
    HEATER,
    VALVE,
    WITH_NEIGHBOUR,
    broken_pair,
    builds_for,
    current,
    fit_for,
)

# Standard uncertainties of what may be off, as fractions.
STEPS = {
    "supply_v": 0.006,
    "supply_ohm": 0.17,
    "coil_ohm": 0.03,
    "driver_ohm": 0.17,
    "load_ohm": 0.03,
    "fan_nms2": 0.03,
    "contacts_ohm": 0.17,
}
# A lead stands in for a fuse while it is measured there, so that an open fuse is seen.
BY_EYE = {"control_fuse_open", "load_fuse_open"}
CONTROL_OPEN = {
    *("control_feed_open", "control_return_open", "upstream_open"),
    *("module_ground_open", "driver_stuck_off"),
}
NOT_COMMANDED = {"enable_missing"}
# Current flows, but the coil does not pull: too much resistance, the wrong coil, or a
# diode that lets the current past it.
COIL_WEAK = {
    *("control_feed_resistance", "coil_open", "coil_turns_shorted", "wrong_relay"),
    "diode_reversed",
}
# Opens its fuse, so that the coil gets nothing even through a lead.
CONTROL_SHORT = {"control_feed_to_ground"}
# Enough left for a meter, and not for a load.
STRANDS = {"load_feed_strands", "load_ground_strands"}
# Both circuits get less.
LOW_SUPPLY = {"supply_low"}
LOAD_OPEN = {
    *("load_feed_open", "socket_open", "contacts_open", "load_wire_open"),
    "load_connector_open",
    *("load_open", "load_ground_open"),
}
# Each bad connection and the sections that it lies in.
RESISTANCE = {
    "load_feed_resistance": {"drop_supply_30"},
    "socket_resistance": {"drop_30_87"},
    "contacts_resistance": {"drop_30_87"},
    "load_wire_resistance": {"drop_87_load"},
    "load_connector_resistance": {"drop_87_load", "drop_load_connector"},
    "load_ground_resistance": {"drop_load_ground"},
}
# Beside lamps that share its ground point: all of its current goes back through them.
BACK_FEED = {"shared_ground_open"}
SHORTED = {
    *("load_turns_shorted", "load_turns_shorted_fuse_too_large"),
    *("load_wire_to_ground", "load_wire_leaks_fuse_too_large"),
}
HEAVY = {"mechanism_seized", "mechanism_binding", "mechanism_drags"}
RELAY_CONTACTS = {"contacts_open", "contacts_resistance"}


def singles(sound):
    """Faults that stand alone and are there all the time, by id."""
    kinds = {id(HEATER): "heater", id(FAN): "fan motor"}
    kinds |= {id(VALVE): "solenoid valve", id(CLUTCH): "magnetic clutch"}
    return [
        fault.id
        for fault in FAULTS.values()
        if kinds[id(sound)] in fault.kinds
        and not fault.is_advanced
        and not fault.is_intermittent
        and any(circuit.has_relay for circuit in builds_for(fault.id, sound))
    ]


@cache
def offered(circuit):
    """Tests of a circuit and their scales."""
    tests = catalogue.tests_for(circuit, TESTS, is_stressed=False)
    return tests, scales(circuit, tests, STEPS)


def words_of(sound, fault_id):
    """What every test shows on a reference circuit under a fault, by test."""
    return words_on(fit_for(fault_id, sound), sound)[fault_id]


@cache
def words_on(circuit, sound):
    """By fault what every test shows, under all that need this build of a circuit."""
    own = [name for name in singles(sound) if fit_for(name, sound) == circuit]
    return words_under(circuit, own)


def words_under(circuit, faults):
    """What every test of a circuit shows under each of some faults."""
    tests, on = offered(circuit)
    pairs = [broken_pair(circuit, name) for name in faults]
    value = readings(pairs, circuit, tests).value[..., 0]
    rows = outcomes(value, on, [calm for calm, _ in pairs], tests)
    ids = [test.id for test in tests]
    return {
        name: dict(zip(ids, row, strict=True))
        for name, row in zip(faults, rows, strict=True)
    }


def read(sound, fault_id, test):
    """What the meter of a test reads under a fault, whatever its fuse was like."""
    return words_of(sound, fault_id).get(test, "").partition(", fuse ")[0]


def showing(sound, test, *words):
    """Faults under which the meter of a test reads one of some words."""
    return {fault for fault in singles(sound) if read(sound, fault, test) in words}


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_zero_on_the_control_side_is_open_or_not_commanded(sound):
    """Nothing else brings the control current to nothing."""
    assert showing(sound, "control_current", "none") == CONTROL_OPEN | NOT_COMMANDED


def test_output_test_tells_open_from_not_commanded():
    """Driven past its conditions, a circuit that is only not commanded has current."""
    driven = showing(FAN, "control_current_output_test", "none")
    assert driven == CONTROL_OPEN


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_under_an_ampere_is_commanded_and_intact(sound):
    """The expected control current, far under 1 A, leaves load side and mechanics."""
    assert 0.1 < current(sound, "control_fuse") < 0.5
    intact = showing(sound, "control_current", "expected")
    allowed = {f for f in intact if FAULTS[f].side != "control side"}
    # Open fuse: the lead carries what it would. The others keep the coil pulled.
    stays_on = {"driver_stuck_on", "control_return_to_ground"}
    # Nothing of the current: seen in the spike when the coil is switched off.
    at_turn_off = {"suppression_missing", "suppression_open", "module_restarts"}
    assert intact - allowed <= stays_on | at_turn_off | {"control_fuse_open"}
    load_side = {f for f in singles(sound) if FAULTS[f].side != "control side"}
    assert load_side - LOW_SUPPLY <= intact


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_click_tells_what_moves_the_armature_from_the_contacts(sound):
    """And not which: silent is whatever leaves the coil without enough, or holds it."""
    silent = CONTROL_OPEN | COIL_WEAK | CONTROL_SHORT | {"control_fuse_open"}
    held = {"driver_stuck_on", "control_return_to_ground", "contacts_welded"}
    held |= {"control_feed_to_power"}
    assert showing(sound, "feel_relay", "silent") == silent | held
    load_side = {f for f in singles(sound) if FAULTS[f].side != "control side"}
    # By ear a burnt contact is as good as a new one.
    assert load_side - held <= showing(sound, "feel_relay", "clicks")


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_click_goes_with_the_current_that_a_clamp_reads(sound):
    """No click without current of the coil, and none by a current that never ends."""
    for fault in showing(sound, "feel_relay", "clicks"):
        words = words_of(sound, fault)
        current, _, _ = words["control_current_output_test"].partition(", fuse ")
        assert current not in ("none", "over limit"), fault
        assert words["control_current_off"] == "none", fault


@pytest.mark.parametrize("sound", [HEATER, FAN])
def test_hot_joint_is_the_one_that_drops_volts(sound):
    """With load current low, and of the relay not whether socket or contacts."""
    at_relay = {"socket_resistance", "contacts_resistance"}
    low = showing(sound, "load_current", "low")
    assert showing(sound, "warmth_relay", "high") & low == at_relay
    assert showing(sound, "warmth_ground", "high") & low == {"load_ground_resistance"}
    at_plug = showing(sound, "warmth_connector", "high") & low
    assert at_plug == {"load_connector_resistance"}


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_look_at_a_connector_finds_what_its_drop_finds(sound):
    """Green where it drops volts, and a pin gone back where it is open."""
    green = showing(sound, "look_at_connector", "green")
    assert green == {"load_connector_resistance"}
    gone = showing(sound, "look_at_connector", "pushed back")
    assert gone == {"load_connector_open"}


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_battery_is_low_by_headlights_where_both_circuits_get_less(sound):
    """And by no other fault."""
    assert showing(sound, "supply_at_battery", "low") == LOW_SUPPLY


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_zero_on_the_load_side_is_open_or_relay(sound):
    """Some open in the load's path, or a relay that does not close."""
    relay = CONTROL_OPEN | COIL_WEAK | CONTROL_SHORT | {"control_fuse_open"}
    assert showing(sound, "load_current", "none") == LOAD_OPEN | STRANDS | relay


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_low_load_current_is_resistance(sound):
    """Or current from elsewhere, less voltage or load, a motor with nothing to turn."""
    low = showing(sound, "load_current", "low")
    others = {"load_wire_to_power", "mechanism_free", "load_share_open"} | BACK_FEED
    assert low == set(RESISTANCE) | LOW_SUPPLY | (others & set(singles(sound)))


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
@pytest.mark.parametrize(("fault", "drops"), RESISTANCE.items(), ids=RESISTANCE)
def test_voltage_drop_finds_the_resistance(sound, fault, drops):
    """High across the sections that it lies in, and across no other."""
    words = words_of(sound, fault)
    measured = set().union(*RESISTANCE.values())
    assert {test for test in measured if words[test] == "high"} == drops


def test_unplugged_neighbour_stops_what_goes_back_through_it():
    """And nothing else: with a bad ground of its own a load goes on as weakly."""
    faults = [f for f in singles(VALVE) if FAULTS[f].applies(WITH_NEIGHBOUR)]
    words = words_under(WITH_NEIGHBOUR, faults)
    for fault in BACK_FEED | {"load_ground_resistance"}:
        assert words[fault]["load_current"] == "low"
        assert words[fault]["drop_load_ground"] == "high"
    stopped = {
        fault
        for fault, row in words.items()
        if row["load_current_neighbour_out"] != row["load_current"]
    }
    assert stopped == BACK_FEED
    (fault,) = stopped
    assert words[fault]["load_current_neighbour_out"] == "none"


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_high_load_current_is_shorted_turns_or_heavy_mechanics(sound):
    """Mechanics only where a motor feels them, shorts everywhere."""
    high = showing(sound, "load_current", "high", "over limit")
    assert high == SHORTED | (HEAVY if sound is FAN else set())


def test_resistance_tells_shorted_turns_from_heavy_mechanics():
    """The windings of a motor that is held are as they should be."""
    for fault in HEAVY:
        assert words_of(FAN, fault)["load_resistance"] == "expected"
        assert words_of(FAN, fault)["move_by_hand"] in ("stuck", "heavy")
    assert words_of(FAN, "load_turns_shorted")["load_resistance"] == "low"


@pytest.mark.parametrize(
    ("sound", "fault"), [(VALVE, "mechanism_seized"), (CLUTCH, "air_gap_excessive")]
)
def test_expected_current_without_work_is_mechanics(sound, fault):
    """Both currents as they should be, and the work not done."""
    words = words_of(sound, fault)
    for test in ("control_current", "load_current", "load_current_bridged"):
        assert words[test] == "expected"
    assert words["load_check"] == "no"
    idle = {
        fault
        for fault in singles(sound)
        if words_of(sound, fault)["load_current_bridged"] == "expected"
        and words_of(sound, fault)["load_check"] == "no"
    }
    assert {FAULTS[name].side for name in idle} == {"mechanics"}


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_bridging_that_restores_is_relay_or_control_side(sound):
    """What the jumper cures lies in the contacts, or in what moves them."""
    wrong = showing(sound, "load_current", "none", "low", "high", "over limit")
    restored = wrong & showing(sound, "load_current_bridged", "expected")
    # Without supply from upstream there is nothing to bridge to.
    weak = COIL_WEAK | CONTROL_SHORT | {"control_fuse_open"}
    assert restored == RELAY_CONTACTS | weak | (CONTROL_OPEN - {"upstream_open"})


def test_open_fuse_is_found_by_eye():
    """The lead in its place gives the sound current; the element has parted.

    Whoever puts the lead in has the fuse in the hand, and needs no other look at it.
    """
    for fault in BY_EYE:
        side = fault.removesuffix("_fuse_open")
        assert words_of(HEATER, fault)[f"{side}_current"] == "expected, fuse open"
        assert words_of(HEATER, fault)[f"look_{side}_fuse"] == "open"


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
@pytest.mark.parametrize("side", ["control", "load"])
def test_lead_shows_of_its_fuse_what_a_look_shows(sound, side):
    """Under every fault, with the circuit driven and at rest."""
    for fault in singles(sound):
        words = words_of(sound, fault)
        _, _, fuse = words[f"{side}_current"].partition(", fuse ")
        assert (fuse or "intact") == words[f"look_{side}_fuse"], fault
        _, _, at_rest = words[f"{side}_current_off"].partition(", fuse ")
        assert at_rest == fuse, fault
