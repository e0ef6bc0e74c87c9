"""The tests on offer fit the circuit, and each is complete."""

import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.tests import TESTS
from generator.model.measure import Setup
from generator.model.places import PLACE_IDS
from generator.model.scales import DROP_LIMITS_V
from generator.model.topology import PROBES
from tests.circuits import (
    FIVE,
    HEATER,
    HIGH,
    SHARED,
    SMART,
    SWITCHED,
    VALVE,
    WITH_NEIGHBOUR,
    smart,
)

CATALOGUE = tuple(TESTS.values())


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
        assert test.setup.probe in PROBES, "name its two points in model/topology.py"
    if test.sorting == "drop":
        assert test.setup.probe in DROP_LIMITS_V, "name its limit in model/scales.py"
    if test.setup.jumper or test.setup.load_lead or test.setup.control_lead:
        assert test.hazards
    if test.measure.kind == "state":
        assert len(test.words) > 1


# Where the tip of a probe goes; the other one is on the battery, or beside it.
PLACES_OF_PROBES = {
    "supply-30": {"relay_pins"},
    "30-87": {"relay_pins"},
    "87-load": {"relay_pins", "load"},
    "load connector": {"load"},
    "load-ground": {"load"},
    "86": {"relay_pins"},
    "85": {"relay_pins"},
    "87a": {"relay_pins"},
    "low driver": {"module"},
    "high driver": {"module"},
    "module ground": {"module"},
    "fuse box": {"fuse_box"},
    "battery": {"battery"},
    None: set(),
}


# Where what alone is moved or warmed is got at.
PLACES_OF_PARTS = {
    "control_feed_ohm": {"relay"},
    "control_return_ohm": {"relay", "module"},
    "load_feed_ohm": {"relay"},
    "load_wire_ohm": {"load"},
    "load_connector_ohm": {"load"},
    "load_ground_ohm": {"ground"},
    "coil_ohm": {"relay"},
    "contacts_ohm": {"relay"},
}


def places_to_reach(test):
    """Where a technician must get for the set-up of a test, and to drive it."""
    setup, kind = test.setup, test.measure.kind
    # With the relay out its terminals are reached from above.
    places = {"relay"} if setup.relay_out else set(PLACES_OF_PROBES[setup.probe])
    # A jumper that is watched, not measured, leaves the fuse where it is.
    if setup.control_lead or (setup.load_lead and test.measure.clamp):
        places.add("fuse_box")
    places.update(*(PLACES_OF_PARTS[part] for part in setup.alone))
    if test.measure.target == "control_tap":
        places.add("relay_pins")
    at_relay = ("coil", "armature", "relay")
    if setup.jumper or setup.new_relay or test.measure.target in at_relay:
        places.add("relay")
    if kind == "warmth":
        held_to = {"load_ground": "ground", "load_fuse": "fuse_box"}
        held_to |= {"load_connector": "load", "relay": "relay"}
        places.add(held_to[test.measure.target])
    # A lamp or a meter that is held to the battery's plus.
    if setup.lamp in ("lamp_85", "lamp_87") or setup.probe == "supply-30":
        places.add("battery")
    if setup.module_unplugged:
        places.add("module")
    if setup.neighbour_unplugged:
        places.add("load")
    is_driven = kind in ("current", "voltage", "spike", "click", "warmth", "work")
    if is_driven and setup.command == "output test":
        places.add("scan_tool")
    return places


@pytest.mark.parametrize(
    "circuit",
    [HEATER, HIGH, SHARED, SWITCHED, FIVE, VALVE, WITH_NEIGHBOUR, SMART, smart(VALVE)],
)
def test_test_needs_the_places_of_its_set_up(circuit):
    """Each once, in a circuit of any build, and no other place."""
    for test in catalogue.tests_for(circuit, TESTS, is_stressed=False):
        assert len({*test.needs}) == len(test.needs), test.id
        # The complaint is seen where the vehicle stands.
        assert bool(test.needs) == (test.id != "watch_load")
        assert {*test.needs} <= {*PLACE_IDS}
        if test.measure.kind != "state" and test.id != "load_resistance":
            reached = places_to_reach(test)
            if circuit.is_smart and reached & {"relay", "relay_pins"}:
                # What would be the relay's is in the plug of the module.
                reached = reached - {"relay", "relay_pins"} | {"module"}
            if circuit.is_high_side and test.id == "recorded_module_to_relay":
                # There it is the feed of the coil that comes from the module.
                reached = reached | {"module"}
            assert {*test.needs} == reached, test.id


def test_part_that_is_seen_or_felt_is_reached():
    """Fuses at their box, inputs by the scan tool, the load where it is."""
    places = {
        "look_control_fuse": "fuse_box",
        "look_load_fuse": "fuse_box",
        "read_enable": "scan_tool",
        "read_codes": "scan_tool",
        "read_command": "scan_tool",
        "unplug_switch": "module",
        "codes_unplugged": "load",
        "move_by_hand": "load",
        "look_at_connector": "load",
        "load_resistance": "load",
    }
    for name, place in places.items():
        assert place in TESTS[name].needs


def test_test_is_offered_only_where_its_place_is():
    """Nobody is sent to a terminal or fuse that the circuit does not have."""
    own = {
        "voltage_high_driver": HIGH,
        "voltage_fuse_box": SWITCHED,
        "voltage_87a_off": FIVE,
        "move_by_hand": VALVE,
        "load_current_neighbour_out": WITH_NEIGHBOUR,
        "read_codes": SMART,
        "read_command": SMART,
        "unplug_switch": SMART,
        "read_sensed_current": SMART,
        "load_current_past_switch": SMART,
        "drop_switch": SMART,
        "codes_unplugged": SMART,
        "load_check_driven": smart(VALVE),
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
    """Harness wiggled and warm takes time, and tells nothing to the eye.

    Where one section is moved by itself, all the others are left alone.
    """
    relays = (HEATER, HIGH, SWITCHED, FIVE, VALVE, WITH_NEIGHBOUR)
    builds = (*relays, SMART, smart(VALVE))
    sound = next(circuit for circuit in builds if test.applies(circuit))
    [moved] = catalogue.tests_for(sound, [test.id], is_stressed=True)
    is_electrical = test.measure.kind in ("current", "voltage", "work")
    is_electrical = is_electrical and not test.setup.alone
    # What a module has stored, it stored while its harness moved.
    is_stored = test.id == "read_codes"
    assert moved.setup.is_stressed is (is_electrical or is_stored)
    assert (moved.minutes > test.minutes) is is_electrical
    assert moved.title.endswith("wiggled and warm") is is_electrical


def test_shared_fuse_is_measured_where_the_coil_has_its_own_wire():
    """The clamp goes around the wire to the coil, for the fuse carries both."""
    [test] = catalogue.tests_for(SHARED, ["control_current"], is_stressed=False)
    assert test.measure.target == "control_tap"
    assert test.setup == Setup(command="normal")
    assert "fused lead" not in test.how + "".join(test.hazards)
    [load] = catalogue.tests_for(SHARED, ["load_current"], is_stressed=False)
    assert load.title.startswith("Both currents")
