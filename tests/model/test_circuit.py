"""The relay circuit settles where its parts' laws and Kirchhoff's laws agree."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from generator.model.circuit import columns_of
from generator.model.measure import Setup
from generator.model.settling import settle
from generator.model.solving import solve
from generator.model.topology import METER_OHM, PROBES, TOPOLOGY, network_of
from tests.circuits import (
    CONTROL_OHM,
    FAN,
    HEATER,
    LOAD_OHM,
    LOADS,
    NOTHING_IN_SERIES,
    SOURCE_OHM,
    STEADY,
    broken,
    current,
    settled,
)
from tests.strategies import broken_circuits, relay_circuits, setups

# Current of the sound coil with the load circuit at rest: its share of 14 V over all
# resistance, beside the 680 Ω.
IDLE_COIL_A = 14.0 / (SOURCE_OHM + CONTROL_OHM) * 680 / (680 + 85)
# What rounding may leave of no current.
NO_CURRENT_A = 1e-9


def branch_value(values, branch):
    """One branch's entry of an array of a single settled case."""
    return float(values[0, 0, 0, TOPOLOGY.branches.index(branch)])


def test_sound_circuit_follows_ohms_law():
    """Both currents come from one emf behind one resistance."""
    both_ohm = 1 / (1 / CONTROL_OHM + 1 / LOAD_OHM)
    supply_v = 14.0 * both_ohm / (SOURCE_OHM + both_ohm)
    assert current(STEADY, "load") == pytest.approx(supply_v / LOAD_OHM)
    assert current(STEADY, "control_fuse") == pytest.approx(supply_v / CONTROL_OHM)


@pytest.mark.parametrize(("share", "closes"), [(0.999, True), (1.001, False)])
def test_contacts_close_when_coil_current_passes_pull_in(share, closes):
    """Just above pull-in the load runs, just below nothing flows."""
    circuit = replace(HEATER, pull_in_a=IDLE_COIL_A * share)
    assert (current(circuit, "contacts") > 1.0) is closes


@given(relay_circuits(), st.floats(0.03, 0.4))
def test_contacts_follow_the_coil_fraction(circuit, pull_in_a):
    """Load current flows exactly where the coil fraction is 1 and above."""
    state = settled(replace(circuit, pull_in_a=pull_in_a))
    assert (state.current("contacts")[0, 0, 0] > 0) == (state.coil_frac[0, 0, 0] >= 1)


def test_coil_fraction_is_coil_current_over_pull_in():
    """The margin to pull-in is that of the coil alone, without its suppression."""
    assert settled(HEATER).coil_frac[0, 0, 0] == pytest.approx(IDLE_COIL_A / 0.08)


def test_driver_limits_a_shorted_coil_to_about_one_ampere():
    """Four ohms on 14 V would draw three amperes; the driver lets one pass."""
    circuit = replace(HEATER, coil_ohm=4.0, pull_in_a=2.0)
    assert current(circuit, "low_driver") == pytest.approx(1.0, rel=2e-3)


def test_limiting_driver_is_a_resistance_at_its_operating_point():
    """Its voltage over its current is what the network says, with no emf left."""
    state = settled(replace(HEATER, coil_ohm=4.0, pull_in_a=2.0))
    ohms = branch_value(state.resistance_ohm, "low_driver")
    rest = (
        SOURCE_OHM + CONTROL_OHM - 0.6 - 1 / (1 / 85 + 1 / 680) + 1 / (1 / 4 + 1 / 680)
    )
    assert branch_value(state.emf_v, "low_driver") == 0.0
    assert ohms == pytest.approx(14.0 - rest, rel=2e-3)


def test_driver_below_its_limit_keeps_its_on_resistance():
    """The limit changes nothing for a sound coil."""
    state = settled(HEATER)
    assert branch_value(state.resistance_ohm, "low_driver") == 0.6


@given(relay_circuits(does_driver_shut_off=False), st.floats(1.5, 8.0))
def test_driver_limit_holds_for_any_shorted_coil(circuit, coil_ohm):
    """However few turns are left, the control current stays near the limit."""
    shorted = replace(circuit, coil_ohm=coil_ohm, pull_in_a=10.0)
    assert 0.99 < current(shorted, "control_feed") < 1.01


# More than a voltmeter lets through in any vehicle.
_METERS_A = 40.0 / METER_OHM


@example(FAN, Setup(command="normal", module_unplugged=True, probe="30-87"))
@given(relay_circuits("fan motor", "pump motor"), setups())
def test_motor_satisfies_torque_and_voltage_balance(circuit, setup):
    """A turning rotor: k·I meets fan and friction, and U is R·I + k·ω."""
    state = settled(circuit, setup)
    back_v = -float(state.emf("load")[0, 0, 0])
    amps = float(state.current("load")[0, 0, 0])
    speed = back_v / circuit.motor_constant_vs
    torque = circuit.fan_nms2 * speed**2 + circuit.friction_nm
    if back_v > 0:
        assert circuit.motor_constant_vs * amps == pytest.approx(torque, rel=1e-6)
    else:
        assert circuit.motor_constant_vs * amps <= circuit.friction_nm + 1e-12
    node = dict(zip(TOPOLOGY.nodes, state.voltage_v[0, 0, 0], strict=True))
    if amps > 0:
        across = node["load+"] - node["load-"]
        # What a voltmeter lets through leaves the armature cold.
        warm = circuit.hot_frac if amps > _METERS_A else 1.0
        assert across == pytest.approx(circuit.load_ohm * warm * amps + back_v)


def test_fan_draws_its_rated_current_at_its_rated_voltage():
    """With 13.5 V at the motor it runs at 12 A and 250 rad/s, as its values ask."""
    fan = replace(FAN, supply_v=13.5, **NOTHING_IN_SERIES)
    assert current(fan, "load") == pytest.approx(12.0, rel=1e-3)
    assert settled(fan).emf("load")[0, 0, 0] == pytest.approx(-0.0459 * 250, rel=1e-3)


def test_seized_motor_draws_what_its_armature_lets_through():
    """Without back-EMF only the resistances limit the current."""
    seized = broken(FAN, "mechanism_seized")
    loop_ohm = LOAD_OHM - 0.9 + 0.15 * 1.125
    both_ohm = 1 / (1 / CONTROL_OHM + 1 / loop_ohm)
    supply_v = 14.0 * both_ohm / (SOURCE_OHM + both_ohm)
    assert current(seized, "load") == pytest.approx(supply_v / loop_ohm)


def test_motor_held_by_friction_stands_still():
    """Friction above the torque of the standing current keeps the rotor at rest."""
    held = replace(FAN, friction_nm=0.0459 * 100.0)
    assert settled(held).emf("load")[0, 0, 0] == 0.0


@settings(max_examples=60)
@given(broken_circuits(), setups())
def test_settled_currents_balance_for_every_fault_and_setup(case, setup):
    """What flows in flows out at every node (Kirchhoff's first law)."""
    sound, circuit = case
    state = settled(circuit, setup, sound)
    sums = state.current_a @ TOPOLOGY.incidence
    assert np.abs(sums).max() < 1e-6


@settings(max_examples=60)
@given(broken_circuits(), setups())
def test_passive_parts_absorb_power_for_every_fault_and_setup(case, setup):
    """No resistance gives power, and a motor takes it: only the battery gives."""
    sound, circuit = case
    state = settled(circuit, setup, sound)
    closed = np.isfinite(state.resistance_ohm)
    assert (state.resistance_ohm[closed] >= 0).all()
    source = state.emf_v * state.current_a
    battery = TOPOLOGY.branches.index("battery")
    assert (np.delete(source, battery, axis=-1) <= 0).all()
    heat = (state.current_a[closed] ** 2 * state.resistance_ohm[closed]).sum()
    assert source.sum() == pytest.approx(heat, rel=1e-6, abs=1e-9)


@settings(max_examples=40)
@given(
    st.lists(broken_circuits(), min_size=2, max_size=3), st.lists(setups(), max_size=3)
)
def test_batch_of_circuits_equals_loop(cases, some_setups):
    """Circuits and setups settled together read as those settled one by one."""
    wanted = [*some_setups, Setup()]
    sound = cases[0][0]
    circuits = [circuit for _, circuit in cases]
    together = settle(columns_of(circuits), columns_of([sound]), wanted)
    # Each circuit in one of the setups, and each setup with one of the circuits.
    for number in range(max(len(circuits), len(wanted))):
        i, j = number % len(circuits), number % len(wanted)
        alone = settled(circuits[i], wanted[j], sound)
        assert together.current_a[i, j, 0] == pytest.approx(
            alone.current_a[0, 0, 0], rel=1e-7, abs=1e-9
        )


def _minus(setup):
    """Node of the meter's minus probe, if the setup has a meter."""
    return PROBES[setup.probe][1] if setup.probe else None


@settings(max_examples=60)
@given(broken_circuits(), setups())
def test_network_of_a_case_solved_anew_gives_the_same_currents(case, setup):
    """The linear network of an operating point is the whole truth about it."""
    sound, circuit = case
    state = settled(circuit, setup, sound)
    anew = solve(network_of(state, (0, 0, 0), _minus(setup))).current_a
    ours = dict(zip(TOPOLOGY.branches, state.current_a[0, 0, 0], strict=True))
    for name in ours.keys() | anew.keys():
        assert ours.get(name, 0.0) == pytest.approx(
            anew.get(name, 0.0), rel=1e-6, abs=1e-8
        )


@given(broken_circuits(), setups())
def test_network_of_a_case_has_no_open_and_no_floating_node(case, setup):
    """Every solver can take it: finite resistances, and a path to ground."""
    sound, circuit = case
    network = network_of(settled(circuit, setup, sound), (0, 0, 0), _minus(setup))
    assert all(math.isfinite(branch.resistance_ohm) for branch in network.branches)
    assert not any(map(math.isnan, solve(network).voltage_v.values()))


def test_network_of_a_floating_probe_keeps_the_probed_nodes():
    """With both ends of a section floating the meter reads nothing, not an error."""
    floating = replace(HEATER, contacts_ohm=math.inf, load_ground_ohm=math.inf)
    state = settled(floating, Setup(probe="87-load"))
    network = network_of(state, (0, 0, 0), "load+")
    volts = solve(network).voltage_v
    assert volts["87"] - volts["load+"] == pytest.approx(0.0, abs=1e-9)
    assert "stray" in {branch.name for branch in network.branches}


def test_node_behind_an_open_floats_and_the_meter_reads_zero():
    """Without the meter terminal 86 has no voltage; the meter pulls it to ground."""
    circuit = broken(HEATER, "control_feed_open")
    unplugged = Setup(command="off")
    at_86 = TOPOLOGY.nodes.index("86")
    assert math.isnan(settled(circuit, unplugged).voltage_v[0, 0, 0, at_86])
    probed = settled(circuit, replace(unplugged, probe="86"))
    assert probed.meter_voltage("86")[0, 0, 0] == pytest.approx(0.0, abs=1e-9)


def test_meter_loads_a_floating_wire_with_ten_megohms():
    """Behind an open driver the meter reads the supply, less its own tiny drop."""
    state = settled(HEATER, Setup(command="off", probe="low driver"))
    expected = 14.0 * METER_OHM / (METER_OHM + 75.6 + 0.13)
    assert state.meter_voltage("low driver")[0, 0, 0] == pytest.approx(
        expected, rel=1e-8
    )


@pytest.mark.parametrize("probe", PROBES)
def test_every_probe_reads_the_difference_of_its_nodes(probe):
    """Where nothing floats, the meter's reading is plus less minus."""
    command = "off" if probe == "87a" else "output test"
    five = replace(HEATER, break_contact_ohm=0.005)
    state = settled(five, Setup(command=command, probe=probe))
    node = dict(zip(TOPOLOGY.nodes, state.voltage_v[0, 0, 0], strict=True))
    plus, minus = PROBES[probe]
    read = state.meter_voltage(probe)[0, 0, 0]
    assert read == pytest.approx(node[plus] - node[minus], abs=1e-9)


@pytest.mark.parametrize(
    ("command", "is_enabled", "runs"),
    [
        ("normal", True, True),
        ("normal", False, False),
        ("output test", False, True),
        ("off", True, False),
    ],
)
def test_command_reaches_the_driver(command, is_enabled, runs):
    """An output test drives past the enable inputs; off drives nothing."""
    circuit = replace(HEATER, is_enabled=is_enabled)
    assert (current(circuit, "load", Setup(command=command)) > 1) is runs


@pytest.mark.parametrize(
    ("side", "flag"), [("control", "control_lead"), ("load", "load_lead")]
)
def test_fused_lead_takes_the_place_of_an_open_fuse(side, flag):
    """With the lead in, what an open fuse stopped flows again."""
    circuit = broken(HEATER, f"{side}_fuse_open")
    fuse = f"{side}_fuse"
    assert abs(current(circuit, fuse)) < NO_CURRENT_A
    assert current(circuit, fuse, Setup(**{flag: True})) > 0.1


def test_jumper_feeds_the_load_without_the_relay():
    """Bridged 30 and 87 run the load with the command off."""
    off = current(STEADY, "load", Setup(command="off"))
    bridged = current(STEADY, "load", Setup(command="off", jumper=True))
    assert abs(off) < NO_CURRENT_A
    # 15 mΩ of jumper and its lead instead of 5 mΩ of contacts.
    assert bridged == pytest.approx(14.0 / (SOURCE_OHM + LOAD_OHM + 0.010))


@pytest.mark.parametrize(
    "fault", ["coil_open", "contacts_open", "contacts_resistance", "wrong_relay"]
)
def test_new_relay_cures_every_fault_of_the_relay(fault):
    """The load current is that of the sound circuit again."""
    cured = current(broken(HEATER, fault), "load", Setup(new_relay=True), HEATER)
    assert cured == pytest.approx(current(HEATER, "load"))


def test_new_relay_opens_welded_contacts():
    """With the command off a sound relay lets nothing through."""
    welded, off = broken(HEATER, "contacts_welded"), Setup(command="off")
    assert current(welded, "load", off, HEATER) > 1
    assert (
        abs(current(welded, "load", replace(off, new_relay=True), HEATER))
        < NO_CURRENT_A
    )


def test_new_relay_cures_no_other_fault():
    """A part swapped on suspicion leaves an open feed as it is."""
    circuit = broken(HEATER, "control_feed_open")
    assert abs(current(circuit, "load", Setup(new_relay=True), HEATER)) < NO_CURRENT_A


def test_unplugged_module_conducts_nothing():
    """A stuck driver stops the coil only for as long as its module is unplugged."""
    stuck, off = broken(HEATER, "driver_stuck_on"), Setup(command="off")
    assert current(stuck, "control_fuse", off) > 0.1
    unplugged = replace(off, module_unplugged=True)
    assert current(stuck, "control_fuse", unplugged) == pytest.approx(
        0.0, abs=NO_CURRENT_A
    )


def test_dead_driver_never_conducts():
    """Neither command moves it."""
    circuit = replace(HEATER, is_driver_dead=True)
    for command in ("normal", "output test", "off"):
        assert (
            abs(current(circuit, "low_driver", Setup(command=command))) < NO_CURRENT_A
        )


@given(relay_circuits())
def test_columns_hold_every_circuit_in_a_row(circuit):
    """Values come as one column a name, rows in the order given."""
    columns = columns_of([circuit, HEATER])
    assert columns["coil_ohm"].tolist() == [[circuit.coil_ohm], [85.0]]
    assert columns["is_welded"].tolist() == [[0.0], [0.0]]


@pytest.mark.parametrize("kind", LOADS)
def test_sound_circuit_draws_about_its_rating(kind):
    """At 14 V a sound load draws within a tenth of its rating at 13.5 V."""
    circuit = LOADS[kind]
    assert current(circuit, "load") == pytest.approx(circuit.load_rated_a, rel=0.1)


@pytest.mark.parametrize("fault", ["contacts_welded", "driver_stuck_on"])
def test_jumper_takes_the_place_of_the_relay(fault):
    """The relay is out: its closed contacts do not share the current."""
    off = Setup(command="off", jumper=True)
    bridged = current(broken(HEATER, fault), "jumper", off)
    assert bridged == pytest.approx(current(HEATER, "jumper", off))
    assert current(broken(HEATER, fault), "coil", off) == 0.0


@pytest.mark.parametrize("probe", ["30-87", "supply-30", "87-load"])
def test_meter_that_something_hangs_by_reads_nothing(probe):
    """Between a supply and what nothing else feeds no current flows (Kirchhoff).

    Without a load, with the fuse out and with the wire open in turn; whoever solves
    the network finds the same to the last digit.
    """
    for part in ("load_ohm", "load_fuse_ohm", "load_wire_ohm"):
        circuit = replace(HEATER, **{part: math.inf})
        done = settled(circuit, Setup(command="off", probe=probe))
        assert done.meter_voltage(probe)[0, 0, 0] == pytest.approx(0.0, abs=1e-12)
        plus, minus = PROBES[probe]
        volts = solve(network_of(done, (0, 0, 0), minus)).voltage_v
        assert volts[plus] - volts[minus] == pytest.approx(0.0, abs=1e-12)


@given(relay_circuits())
def test_changed_values_are_those_of_a_replaced_circuit(circuit):
    """A copy with other values is what `replace` gives, and the first stays."""
    before = replace(circuit)
    changed = circuit.with_values(load_ohm=3.0, mechanism="stuck")
    assert changed == replace(circuit, load_ohm=3.0, mechanism="stuck")
    assert circuit == before


def test_value_that_no_circuit_has_is_refused():
    """A name that is mistyped changes nothing in silence."""
    with pytest.raises(TypeError, match="load_ohms"):
        HEATER.with_values(load_ohms=3.0)
