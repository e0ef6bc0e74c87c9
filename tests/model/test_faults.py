"""Every fault is an edit of a sound circuit that does what its name says."""

import math
import string
from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.circuit import RelayCircuit, Setup, network_of
from generator.model.faults import FAULTS, REPAIRS, as_found, symptoms
from generator.model.network import Network, solve
from tests.circuits import FAN, HEATER, LOADS, VALVE, broken, faults_of, settled

NAMES = {"control_fuse", "load_fuse", "relay", "load", "mechanism", "module", "work"}
# Parts of the control circuit; the rest of a circuit is its load side.
CONTROL_FIELDS = {
    "control_fuse_ohm",
    "control_feed_ohm",
    "coil_ohm",
    "suppression_ohm",
    "pull_in_a",
    "control_return_ohm",
    "return_to_ground_ohm",
    "is_enabled",
    "is_driver_dead",
    "is_driver_on",
}
# Each open and the branch that it takes out of the network.
LOAD_OPENS = {
    "load_fuse_open": "load_fuse",
    "load_feed_open": "load_feed",
    "contacts_open": "contacts",
    "load_wire_open": "load_wire",
    "load_open": "load",
    "load_ground_open": "load_ground",
}
CONTROL_OPENS = {
    "control_fuse_open": "control_fuse",
    "control_feed_open": "control_feed",
    "control_return_open": "control_return",
    "driver_stuck_off": "driver",
}
KINDS = ("heater", "fan motor", "solenoid valve")
NOTHING, WEAK, ALWAYS = "does nothing", "works weakly", "never stops"
# What the operator notices of each fault, for heater, fan motor and solenoid valve.
SYMPTOMS = {
    "control_fuse_open": (NOTHING,) * 3,
    "control_feed_open": (NOTHING,) * 3,
    "control_feed_resistance": (NOTHING,) * 3,
    "coil_open": (NOTHING,) * 3,
    "coil_turns_shorted": (NOTHING,) * 3,
    "wrong_relay": (NOTHING,) * 3,
    "control_return_open": (NOTHING,) * 3,
    "control_return_to_ground": (ALWAYS,) * 3,
    "driver_stuck_off": (NOTHING,) * 3,
    "driver_stuck_on": (ALWAYS,) * 3,
    "enable_missing": (NOTHING,) * 3,
    "load_fuse_open": (NOTHING,) * 3,
    "load_feed_open": (NOTHING,) * 3,
    "load_feed_resistance": (WEAK,) * 3,
    "contacts_open": (NOTHING,) * 3,
    "contacts_resistance": (WEAK,) * 3,
    "contacts_welded": (ALWAYS,) * 3,
    "load_wire_open": (NOTHING,) * 3,
    "load_wire_resistance": (WEAK,) * 3,
    # The fuse has opened when the vehicle comes in, under shorted turns too.
    "load_wire_to_ground": (NOTHING,) * 3,
    "load_wire_to_power": (ALWAYS,) * 3,
    "load_open": (NOTHING,) * 3,
    "load_turns_shorted": (NOTHING,) * 3,
    "load_ground_open": (NOTHING,) * 3,
    "load_ground_resistance": (WEAK,) * 3,
    "mechanism_seized": (None, NOTHING, NOTHING),
    "mechanism_binding": (None, WEAK, None),
    "mechanism_free": (None, NOTHING, None),
}


def changed(before, after):
    """Names of the values that differ."""
    return {
        f.name
        for f in fields(RelayCircuit)
        if getattr(before, f.name) != getattr(after, f.name)
    }


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
def test_fault_is_an_edit_of_its_own_side(fault):
    """Something changes, and nothing on the other side of the relay."""
    edited = changed(FAN, broken(FAN, fault.id))
    assert edited
    if fault.side == "control side":
        assert edited <= CONTROL_FIELDS
    else:
        assert not edited & CONTROL_FIELDS


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
def test_fault_has_a_usable_record(fault):
    """Its name is no English word, its repair is known, its numbers make sense."""
    assert FAULTS[fault.id] is fault
    assert "_" in fault.id
    assert fault.repair in REPAIRS
    assert fault.prior > 0
    assert 0 < fault.severity[0] <= fault.severity[1]
    assert set(fault.kinds) <= set(LOADS)
    assert fault.kinds


def test_every_repair_cures_some_fault():
    """No correction is offered that nothing asks for."""
    assert {fault.repair for fault in FAULTS.values()} == set(REPAIRS)


@pytest.mark.parametrize(
    "text", [*REPAIRS.values(), *(f.title for f in FAULTS.values())]
)
def test_texts_name_only_known_parts(text):
    """What stands in braces is a name that every circuit has."""
    named = {name for _, name, _, _ in string.Formatter().parse(text) if name}
    assert named <= NAMES


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
@given(data=st.data())
def test_fault_is_worse_the_further_its_severity(fault, data):
    """Every severity of the range gives a circuit that differs from the sound one."""
    severity = data.draw(st.floats(*fault.severity))
    assert changed(FAN, fault.edit(FAN, severity))


@pytest.mark.parametrize(("fault_id", "branch"), LOAD_OPENS.items())
@pytest.mark.parametrize("circuit", [HEATER, VALVE])
def test_load_side_open_equals_part_removed(circuit, fault_id, branch):
    """The currents are those of the sound network without that branch."""
    whole = network_of(settled(circuit), (0, 0, 0))
    without = tuple(b for b in whole.branches if b.name != branch)
    expected = solve(Network(branches=without)).current_a
    state = settled(broken(circuit, fault_id))
    for name in ("control_fuse", "coil", "driver", "load_fuse", "load", "load_ground"):
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
    expected = 14.0 / (0.01 + 0.02 + 0.05 + 680.0 + 0.05 + 0.6 + 0.05)
    assert state.current("control_fuse")[0, 0, 0] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("fault_id", "branch"),
    [
        ("load_feed_resistance", "load_feed_ohm"),
        ("contacts_resistance", "contacts_ohm"),
        ("load_wire_resistance", "load_wire_ohm"),
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
    """A tenth of the turns has a tenth of the ohms and needs ten times the current."""
    edited = broken(HEATER, "coil_turns_shorted", 0.1)
    assert edited.coil_ohm == pytest.approx(8.5)
    assert edited.pull_in_a == pytest.approx(0.8)


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
    load_ohm = 14.0 / (share * 20.0) - 0.01 - 0.004 - 0.010 - 0.005 - 0.010 - 0.010
    circuit = replace(HEATER, load_ohm=load_ohm, hot_frac=1.0)
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
        assert listed == set(faults_of(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_symptoms_are_what_an_operator_would_notice(kind):
    """Each fault of a load, halfway through its severity, does what the table says."""
    column = KINDS.index(kind)
    names = faults_of(kind)
    circuits = as_found([broken(LOADS[kind], name) for name in names])
    felt = symptoms(circuits, LOADS[kind])
    expected = {name: SYMPTOMS[name][column] for name in names}
    assert dict(zip(names, felt, strict=True)) == expected


@pytest.mark.parametrize("circuit", LOADS.values(), ids=LOADS)
def test_sound_circuit_has_no_symptom(circuit):
    """Nothing is noticed where nothing is wrong."""
    assert symptoms([circuit], circuit) == ("none",)


@pytest.mark.parametrize(
    ("share", "felt"), [(0.95, "none"), (0.8, WEAK), (0.55, WEAK), (0.45, NOTHING)]
)
def test_heater_is_judged_by_its_power(share, felt):
    """The square of the current decides: under 85 % weak, under 25 % nothing."""
    whole_ohm = 0.01 + 0.004 + 0.010 + 0.005 + 0.010 + 0.86 * 1.05 + 0.010
    weak = replace(HEATER, load_feed_ohm=0.010 + whole_ohm * (1 / share - 1))
    assert symptoms([weak], HEATER) == (felt,)


def test_seized_mechanism_does_no_work_at_full_current():
    """A valve that is stuck draws what it should and still does nothing."""
    stuck = broken(VALVE, "mechanism_seized")
    state = settled(stuck, Setup(command="normal"))
    assert state.current("load")[0, 0, 0] > 2.0
    assert symptoms([stuck], VALVE) == (NOTHING,)
