"""Every fault is an edit of a sound circuit that does what its name says."""

import math
import string
from dataclasses import fields, replace
from statistics import mean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import REPAIRS
from generator.model.circuit import RelayCircuit
from generator.model.measure import Setup
from generator.model.network import Network
from generator.model.solving import solve
from generator.model.symptoms import as_found, symptoms
from generator.model.topology import network_of
from tests.circuits import (
    FAN,
    HEATER,
    LOAD_OHM,
    LOADS,
    SOURCE_OHM,
    STEADY,
    VALVE,
    broken,
    broken_pair,
    builds_for,
    faults_of,
    fit_for,
    settled,
)

NAMES = {
    *("control_fuse", "load_fuse", "relay", "load", "mechanism", "module", "work"),
    "hindrance",
    *(
        "upstream",
        "coil_supply",
        "coil_return",
        "feed_from",
        "return_to",
        "load_connector",
        "neighbour",
        "pin_in",
        "pin_out",
    ),
}
# Parts of the control circuit; the rest of a circuit is its load side.
CONTROL_FIELDS = {
    "control_fuse_ohm",
    "control_feed_ohm",
    "coil_ohm",
    "suppression_ohm",
    "pull_in_a",
    "control_return_ohm",
    "return_to_ground_ohm",
    "feed_to_power_ohm",
    "feed_to_ground_ohm",
    "module_ground_ohm",
    "upstream_ohm",
    "has_diode",
    "is_diode_reversed",
    "is_module_weak",
    "is_enabled",
    "is_driver_dead",
    "is_driver_on",
}
# Each open and the branch that it takes out of the network.
LOAD_OPENS = {
    "load_fuse_open": "load_fuse",
    "load_feed_open": "load_feed",
    "contacts_open": "contacts",
    "socket_open": "socket",
    "load_wire_open": "load_wire",
    "load_connector_open": "load_connector",
    "load_open": "load",
    "load_ground_open": "load_ground",
}
CONTROL_OPENS = {
    "control_fuse_open": "control_fuse",
    "control_feed_open": "control_feed",
    "control_return_open": "control_return",
    "driver_stuck_off": "low_driver",
    "module_ground_open": "module_ground",
    "upstream_open": "upstream",
}
SINGLE = [fault for fault in FAULTS.values() if "+" not in fault.repair]
KINDS = ("heater", "fan motor", "solenoid valve", "magnetic clutch")
# A fuse that is only too large is no fault of its own: nobody notices it.
FUSE_ALONE = {"load_fuse_rating_a", "is_load_fuse_large"}, "replace_load_fuse"
NOTHING, WEAK, ALWAYS = "does nothing", "works weakly", "never stops"
AT_TIMES, HOT, UPSETS = "comes and goes", "runs hot", "upsets the module"
# What the operator notices of each fault, by kind of load.
SYMPTOMS = {
    "control_fuse_open": (NOTHING,) * 4,
    "control_feed_open": (NOTHING,) * 4,
    "control_feed_resistance": (NOTHING,) * 4,
    "coil_open": (NOTHING,) * 4,
    "coil_turns_shorted": (NOTHING,) * 4,
    "wrong_relay": (NOTHING,) * 4,
    "control_return_open": (NOTHING,) * 4,
    "control_return_to_ground": (ALWAYS,) * 4,
    "driver_stuck_off": (NOTHING,) * 4,
    "driver_stuck_on": (ALWAYS,) * 4,
    "enable_missing": (NOTHING,) * 4,
    "control_feed_to_power": (ALWAYS,) * 4,
    "module_ground_open": (NOTHING,) * 4,
    "suppression_missing": (UPSETS,) * 4,
    "stronger_relay": (UPSETS,) * 4,
    "suppression_open": (UPSETS,) * 4,
    "diode_reversed": (NOTHING,) * 4,
    "module_ground_resistance": (UPSETS,) * 4,
    "module_restarts": (UPSETS,) * 4,
    "upstream_open": (NOTHING,) * 4,
    "load_fuse_open": (NOTHING,) * 4,
    "fuse_holder_hot": (HOT, HOT, None, None),
    "load_feed_open": (NOTHING,) * 4,
    "load_feed_resistance": (WEAK,) * 4,
    # The fuse has opened, too.
    "control_feed_to_ground": (NOTHING,) * 4,
    "load_feed_strands": (NOTHING,) * 4,
    "load_ground_strands": (NOTHING,) * 4,
    "load_share_open": (WEAK, None, None, None),
    "supply_low": (WEAK,) * 4,
    "socket_open": (NOTHING,) * 4,
    "socket_resistance": (WEAK,) * 4,
    "contacts_open": (NOTHING,) * 4,
    "contacts_resistance": (WEAK,) * 4,
    "contacts_welded": (ALWAYS,) * 4,
    "switch_open": (NOTHING,) * 4,
    "switch_shorted": (ALWAYS,) * 4,
    "switch_bridged": (ALWAYS,) * 4,
    "command_stuck": (ALWAYS,) * 4,
    "sense_too_high": (NOTHING,) * 4,
    "load_wire_open": (NOTHING,) * 4,
    "load_wire_resistance": (WEAK,) * 4,
    # The fuse has opened when the vehicle comes in, under shorted turns too.
    "load_wire_to_ground": (NOTHING,) * 4,
    "load_wire_to_power": (ALWAYS,) * 4,
    "load_connector_open": (NOTHING,) * 4,
    "load_connector_resistance": (WEAK,) * 4,
    "load_open": (NOTHING,) * 4,
    "load_turns_shorted": (NOTHING,) * 4,
    # Behind a fuse of twice the rating it goes on working, and begins to smell.
    "load_turns_shorted_fuse_too_large": (HOT,) * 4,
    "load_too_strong_fuse_too_large": (None,) * 4,
    "load_wire_leaks_fuse_too_large": (HOT,) * 4,
    "load_ground_open": (NOTHING,) * 4,
    "load_ground_resistance": (WEAK,) * 4,
    # What is left to its current is the way back through the neighbour.
    "shared_ground_open": (None, None, WEAK, WEAK),
    "mechanism_seized": (None, NOTHING, NOTHING, None),
    "mechanism_binding": (None, WEAK, None, None),
    "mechanism_drags": (None, HOT, None, None),
    "mechanism_free": (None, NOTHING, None, None),
    "air_gap_excessive": (None, None, None, NOTHING),
    "work_hindered": (WEAK,) * 4,
    "nothing_wrong": (AT_TIMES,) * 4,
    "control_fuse_open_at_times": (AT_TIMES,) * 4,
    "load_fuse_open_at_times": (AT_TIMES,) * 4,
    "control_feed_open_at_times": (AT_TIMES,) * 4,
    "control_return_open_at_times": (AT_TIMES,) * 4,
    "coil_open_at_times": (AT_TIMES,) * 4,
    "contacts_open_at_times": (AT_TIMES,) * 4,
    "load_feed_open_at_times": (AT_TIMES,) * 4,
    "load_wire_open_at_times": (AT_TIMES,) * 4,
    "load_connector_open_at_times": (AT_TIMES,) * 4,
    "load_ground_open_at_times": (AT_TIMES,) * 4,
    "load_open_at_times": (AT_TIMES,) * 4,
    "contacts_resistance_and_load_ground_resistance": (WEAK,) * 4,
    "contacts_resistance_and_load_fuse_too_large": (WEAK,) * 4,
    "load_wire_resistance_and_load_fuse_too_large": (WEAK,) * 4,
    "load_ground_resistance_and_load_fuse_too_large": (WEAK,) * 4,
    "load_fuse_open_and_enable_missing": (NOTHING,) * 4,
    "control_fuse_open_and_load_ground_open": (NOTHING,) * 4,
    "control_return_open_and_load_open": (NOTHING,) * 4,
}


def test_two_faults_are_not_said_to_be_one():
    """Of an open fuse alone it is said; beside another fault it would be untrue."""
    doubles = [fault.title for name, fault in FAULTS.items() if "_and_" in name]
    assert any("Load fuse {load_fuse} is open, and" in title for title in doubles)
    assert not [title for title in doubles if "nothing else" in title]


def changed(before, after):
    """Names of the values that differ."""
    return {
        f.name
        for f in fields(RelayCircuit)
        if getattr(before, f.name) != getattr(after, f.name)
    }


@pytest.mark.parametrize("fault", SINGLE, ids=lambda fault: fault.id)
def test_fault_is_an_edit_of_its_own_side(fault):
    """Something changes, and nothing on the other side of the relay."""
    sound = fit_for(fault.id, FAN)
    edited = changed(sound, broken(sound, fault.id))
    assert bool(edited) == (fault.id != "nothing_wrong")
    if fault.side == "control side":
        assert edited <= CONTROL_FIELDS
    else:
        assert not edited & CONTROL_FIELDS


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
def test_fault_has_a_usable_record(fault):
    """Its name is no English word, its repair is known, its numbers make sense."""
    assert FAULTS[fault.id] is fault
    assert "_" in fault.id
    assert set(fault.repair.split("+")) <= set(REPAIRS)
    assert fault.prior > 0
    assert 0 < fault.severity[0] <= fault.severity[1]
    assert set(fault.kinds) <= set(LOADS)
    assert fault.kinds


def test_every_repair_cures_some_fault():
    """No correction is offered that nothing asks for."""
    used = {name for fault in FAULTS.values() for name in fault.repair.split("+")}
    assert used == set(REPAIRS)


@pytest.mark.parametrize(
    "text",
    [
        *(repair.text for repair in REPAIRS.values()),
        *(fault.title for fault in FAULTS.values()),
    ],
)
def test_texts_name_only_known_parts(text):
    """What stands in braces is a name that every circuit has."""
    named = {name for _, name, _, _ in string.Formatter().parse(text) if name}
    assert named <= NAMES


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
@settings(max_examples=20)
@given(data=st.data())
def test_every_severity_edits_the_same_values(fault, data):
    """Only what the fault is about differs from the sound circuit, however bad."""
    sound = fit_for(fault.id, FAN)
    severity = data.draw(st.floats(*fault.severity))
    found = changed(sound, fault.edit(sound, severity))
    assert found == changed(sound, broken(sound, fault.id))


@pytest.mark.parametrize(("fault_id", "branch"), LOAD_OPENS.items())
@pytest.mark.parametrize("circuit", [STEADY, replace(VALVE, hot_frac=1.0)])
def test_load_side_open_equals_part_removed(circuit, fault_id, branch):
    """The currents are those of the sound network without that branch."""
    whole = network_of(settled(circuit), (0, 0, 0))
    without = tuple(b for b in whole.branches if b.name != branch)
    expected = solve(Network(branches=without)).current_a
    state = settled(broken(circuit, fault_id))
    for name in ("control_fuse", "coil", "load_fuse", "load", "load_ground"):
        found = float(state.current(name)[0, 0, 0])
        assert found == pytest.approx(expected.get(name, 0.0), abs=1e-9)


@pytest.mark.parametrize(("fault_id", "branch"), CONTROL_OPENS.items())
def test_control_side_open_stops_both_circuits(fault_id, branch):
    """Without coil current the contacts stay open, so that nothing flows anywhere."""
    state = settled(broken(HEATER, fault_id))
    assert abs(state.current(branch)[0, 0, 0]) < 1e-9
    assert abs(state.current("coil")[0, 0, 0]) < 1e-9
    assert abs(state.current("load")[0, 0, 0]) < 1e-9


def test_open_coil_leaves_the_current_of_its_suppression():
    """The resistor beside the coil still draws 14 V over 680 Ω and the wires."""
    state = settled(broken(HEATER, "coil_open"))
    copper = SOURCE_OHM + 0.02 + 0.001 + 0.05 + 0.05 + 0.6 + 0.05
    expected = 14.0 / (copper + 680.0)
    assert state.current("control_fuse")[0, 0, 0] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("fault_id", "branch"),
    [
        ("load_feed_resistance", "load_feed_ohm"),
        ("contacts_resistance", "contacts_ohm"),
        ("load_wire_resistance", "load_wire_ohm"),
        ("socket_resistance", "socket_ohm"),
        ("load_connector_resistance", "load_connector_ohm"),
        ("load_ground_resistance", "load_ground_ohm"),
    ],
)
def test_added_resistance_is_a_share_of_the_load(fault_id, branch):
    """Severity 0.5 adds half of 14 V over 15 A to that one part."""
    edited = broken(HEATER, fault_id, 0.5)
    extra = getattr(edited, branch) - getattr(HEATER, branch)
    assert extra == pytest.approx(0.5 * 14.0 / 15.0)
    assert changed(HEATER, edited) == {branch}


def test_shorted_coil_turns_keep_the_ampere_turns_of_pull_in():
    """With a tenth of the supply at the driver's limit: 1.4 V at 1 A."""
    edited = broken(HEATER, "coil_turns_shorted", 0.1)
    assert edited.coil_ohm == pytest.approx(1.4)
    kept = edited.pull_in_a * edited.coil_ohm
    assert kept == pytest.approx(HEATER.pull_in_a * HEATER.coil_ohm)


def test_free_mechanism_runs_fast_and_draws_little():
    """With a twentieth of the drag the rotor is faster than with its fan."""
    free, sound = settled(broken(FAN, "mechanism_free", 0.05)), settled(FAN)
    assert free.emf("load")[0, 0, 0] < 1.1 * sound.emf("load")[0, 0, 0]
    assert free.current("load")[0, 0, 0] < 0.5 * sound.current("load")[0, 0, 0]


def test_binding_mechanism_runs_slowly_and_draws_more():
    """Friction as large as the rated torque slows the fan and loads the motor."""
    bound, sound = settled(broken(FAN, "mechanism_binding", 1.0)), settled(FAN)
    assert bound.emf("load")[0, 0, 0] > 0.95 * sound.emf("load")[0, 0, 0]
    assert bound.current("load")[0, 0, 0] > 1.2 * sound.current("load")[0, 0, 0]


@pytest.mark.parametrize(("share", "opens"), [(1.34, False), (1.36, True)])
def test_fuse_has_opened_above_135_percent_of_its_rating(share, opens):
    """The load fuse of an overloaded circuit is found open."""
    # A load that draws the share of the rating: 14 V less the battery's own drop.
    load_ohm = 14.0 / (share * 20.0) - SOURCE_OHM - (LOAD_OHM - 0.9)
    circuit = replace(STEADY, load_ohm=load_ohm)
    [found] = as_found([circuit])
    assert math.isinf(found.load_fuse_ohm) is opens


def test_fuse_stays_whole_where_nothing_commands_the_overload():
    """A short behind contacts that do not close has opened nothing."""
    shorted = replace(broken(HEATER, "load_wire_to_ground"), is_enabled=False)
    assert as_found([shorted]) == (shorted,)


def test_as_found_changes_only_what_is_overloaded():
    """Sound circuits come back as they are, in their order."""
    shorted = broken(HEATER, "load_wire_to_ground")
    found = as_found([HEATER, shorted, FAN])
    assert found[0] == HEATER
    assert found[2] == FAN
    assert changed(shorted, found[1]) == {"load_fuse_ohm"}


def test_symptom_table_holds_every_fault():
    """Each fault stands in the table, for the loads that can have it."""
    assert set(SYMPTOMS) == set(FAULTS)
    for column, kind in enumerate(KINDS):
        listed = {fault for fault, row in SYMPTOMS.items() if row[column]}
        known = [f for f in FAULTS.values() if kind in f.kinds]
        assert listed == {f.id for f in known if builds_for(f.id, LOADS[kind])}


@pytest.mark.parametrize("kind", KINDS)
def test_symptoms_are_what_an_operator_would_notice(kind):
    """Each fault of a load, halfway through its severity, does what the table says."""
    column, of_sound, felt = KINDS.index(kind), {}, {}
    for fault in FAULTS.values():
        if kind in fault.kinds and (builds := builds_for(fault.id, LOADS[kind])):
            of_sound.setdefault(builds[0], []).append(fault.id)
    for sound, names in of_sound.items():
        pairs = [broken_pair(sound, name) for name in names]
        felt |= dict(zip(names, symptoms(pairs, sound), strict=True))
    expected = {name: row[column] for name, row in SYMPTOMS.items() if row[column]}
    assert felt == expected


@pytest.mark.parametrize("circuit", LOADS.values(), ids=LOADS)
def test_sound_circuit_has_no_symptom(circuit):
    """Nothing is noticed where nothing is wrong."""
    assert symptoms([(circuit, circuit)], circuit) == ("none",)


@pytest.mark.parametrize(
    ("share", "felt"), [(0.95, "none"), (0.8, WEAK), (0.55, WEAK), (0.45, NOTHING)]
)
def test_heater_is_judged_by_its_power(share, felt):
    """The square of the current decides: under 85 % weak, under 25 % nothing."""
    added_ohm = (SOURCE_OHM + LOAD_OHM) * (1 / share - 1)
    weak = replace(STEADY, load_feed_ohm=0.010 + added_ohm)
    assert symptoms([(weak, weak)], STEADY) == (felt,)


def test_seized_mechanism_does_no_work_at_full_current():
    """A valve that is stuck draws what it should and still does nothing."""
    stuck = broken(VALVE, "mechanism_seized")
    state = settled(stuck, Setup(command="normal"))
    assert state.current("load")[0, 0, 0] > 2.0
    assert symptoms([(stuck, stuck)], VALVE) == (NOTHING,)


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
def test_intermittent_fault_is_sound_when_calm(fault):
    """Nothing to find until the harness moves; every other fault is there always."""
    sound = fit_for(fault.id, FAN)
    calm = fault.as_calm(sound, mean(fault.severity))
    assert (calm == sound) is fault.is_intermittent


@pytest.mark.parametrize(
    "fault", [f for f in FAULTS.values() if "_and_" in f.id], ids=lambda fault: fault.id
)
def test_double_fault_changes_what_its_two_parts_change(fault):
    """Both edits, neither more nor less, and one repair for each of them."""
    first, second = fault.id.split("_and_")
    parts, repair = FUSE_ALONE
    if second in FAULTS:
        parts, repair = changed(FAN, broken(FAN, second)), FAULTS[second].repair
    assert fault.repair == f"{FAULTS[first].repair}+{repair}"
    assert changed(FAN, broken(FAN, fault.id)) == parts | changed(
        FAN, broken(FAN, first)
    )
    assert fault.is_advanced


@pytest.mark.parametrize("fault_id", [f for f in FAULTS if "_fuse_too_large" in f])
def test_large_fuse_has_twice_the_rating(fault_id):
    """What the fuse should have stopped goes on behind it, and both are mended."""
    sound = LOADS[FAULTS[fault_id].kinds[-1]]
    edited = broken(sound, fault_id)
    assert edited.load_fuse_rating_a == 2 * sound.load_fuse_rating_a
    assert FAULTS[fault_id].repair.endswith("+replace_load_fuse")


@pytest.mark.parametrize(
    ("fault_id", "changes"),
    [
        ("control_fuse_open", {"is_fuse_shared": True}),
        ("control_return_to_ground", {"is_high_side": True}),
        ("module_ground_open", {"is_high_side": True}),
        ("control_feed_to_power", {"is_high_side": False}),
        ("upstream_open", {"upstream_ohm": 0.0002}),
        ("suppression_open", {"has_diode": False}),
        ("diode_reversed", {"is_fed_at_85": False}),
        ("module_ground_resistance", {"is_high_side": True}),
        ("control_fuse_open_and_load_ground_open", {"is_fuse_shared": True}),
    ],
)
def test_fault_applies_only_where_its_part_is(fault_id, changes):
    """No circuit is broken at what it does not have."""
    fault = FAULTS[fault_id]
    assert not fault.applies(replace(HEATER, **changes))
    assert fault_id not in faults_of("heater", replace(HEATER, **changes))
    assert fault.applies(fit_for(fault.id, HEATER))


@pytest.mark.parametrize(
    ("lifted_v", "felt"), [(0.8, "none"), (1.2, UPSETS)], ids=["little", "much"]
)
def test_module_is_upset_where_its_ground_is_lifted_by_a_volt(lifted_v, felt):
    """The coil's current through the module's ground is what lifts it."""
    coil_ohm = 1 / (1 / HEATER.coil_ohm + 1 / HEATER.suppression_ohm)
    ground_ohm = coil_ohm * lifted_v / (14.0 - lifted_v)
    lifted = replace(HEATER, module_ground_ohm=ground_ohm)
    assert symptoms([(lifted, lifted)], HEATER) == (felt,)


def test_plain_relay_reads_like_the_specified_one():
    """Ohms at its terminals and pull-in voltage are those of the sheet."""
    plain = broken(HEATER, "suppression_missing")
    assert plain.coil_ohm == pytest.approx(85 * 680 / 765)
    assert not plain.is_suppressed
    assert HEATER.is_suppressed


def test_diode_fed_the_wrong_way_round_takes_all_the_driver_gives():
    """One ampere through the diode leaves no volt for the coil."""
    state = settled(broken(HEATER, "diode_reversed"))
    assert state.current("control_fuse")[0, 0, 0] == pytest.approx(1.0, rel=0.02)
    assert state.current("suppression")[0, 0, 0] > 0.95
    assert state.coil_frac[0, 0, 0] < 0.2
