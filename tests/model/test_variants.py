"""Every variant of the circuit, with every kind of load, behaves as it is wired."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.model.circuit import RelayCircuit, columns_of
from generator.model.measure import Setup
from generator.model.settling import settle
from generator.model.topology import AT, TOPOLOGY
from generator.model.variant import Variant
from tests.circuits import LOADS, STEADY, broken_pair, current, settled
from tests.strategies import broken_circuits, relay_circuits, setups

OFF = Setup(command="off")
# Branches whose resistance hangs on a state, not on one value of the circuit.
STATES = {
    *("high_driver", "low_driver", "contacts", "break_contact", "load"),
    *("control_fuse", "control_tap", "coil", "suppression", "jumper"),
}
# Each example settles a circuit or more, and twenty of them reach every variant.
few = settings(max_examples=20)
shorted_coils = {"coil_ohm": 4.0, "pull_in_a": 2.0}


ON = "output test"


def at_probes(circuit, *asked):
    """What the voltmeter reads under a command at a probe, one after the other [V]."""
    asked_setups = [Setup(command=command, probe=probe) for command, probe in asked]
    columns = columns_of([circuit])
    state = settle(columns, columns, asked_setups)
    return [
        float(state.meter_voltage(probe)[0, number, 0])
        for number, (_, probe) in enumerate(asked)
    ]


@pytest.mark.parametrize("kind", LOADS)
@settings(max_examples=15)
@given(data=st.data())
def test_sound_circuit_runs_on_command_and_rests_without(kind, data):
    """In every variant the load has its current, about its rating, and then none."""
    circuit = data.draw(relay_circuits(kind))
    columns = columns_of([circuit])
    state = settle(columns, columns, [Setup(), OFF])
    runs, rests = state.current("load")[0, :, 0].tolist()
    assert runs > 0.4 * circuit.load_rated_a
    assert rests == pytest.approx(0.0, abs=1e-9)
    assert state.current("coil")[0, 1, 0] == pytest.approx(0.0, abs=1e-9)


@few
@given(
    relay_circuits(),
    st.sampled_from(("load_feed", "socket", "load_connector", "load_ground")),
    st.floats(0.001, 10.0),
)
def test_more_resistance_never_raises_the_load_current(circuit, part, extra_ohm):
    """Whatever the load's law, a bad connection lets no more through."""
    name = f"{part}_ohm"
    worse = replace(circuit, **{name: getattr(circuit, name) + extra_ohm})
    columns = columns_of([worse, circuit])
    less, through = settle(columns, columns, [Setup()]).current("load")[:, 0, 0]
    assert less <= through * (1 + 1e-7)


@settings(max_examples=40)
@given(broken_circuits(), setups())
def test_fault_changes_only_what_its_edit_says(case, setup):
    """Every part whose value is not edited has the resistance that it had."""
    setup = replace(setup, new_relay=False)
    sound, circuit = case
    edited = {
        f.name
        for f in fields(RelayCircuit)
        if getattr(sound, f.name) != getattr(circuit, f.name)
    }
    before, after = (settled(c, setup).resistance_ohm[0, 0, 0] for c in case)
    for branch in set(TOPOLOGY.branches) - STATES - {"battery"}:
        if f"{branch}_ohm" not in edited:
            assert after[AT[branch]] == before[AT[branch]], branch


@few
@given(relay_circuits(is_fuse_shared=True), st.booleans())
def test_shared_fuse_carries_the_sum_of_both_currents(circuit, load_lead):
    """What the clamp shows there is coil and load together."""
    state = settled(circuit, Setup(load_lead=load_lead))
    names = ("load_fuse", "load_feed", "control_feed", "control_fuse")
    fuse, load, control, other = (float(state.current(n)[0, 0, 0]) for n in names)
    assert fuse == pytest.approx(load + control)
    assert control > 0.05
    assert other == 0.0


@few
@given(relay_circuits(is_fuse_shared=True))
def test_open_shared_fuse_stops_both_circuits(circuit):
    """Without it there is neither coil current nor load current."""
    opened = replace(circuit, load_fuse_ohm=np.inf)
    state = settled(opened)
    for branch in ("coil", "load"):
        assert state.current(branch)[0, 0, 0] == pytest.approx(0.0, abs=1e-9)


@few
@given(relay_circuits(is_high_side=True))
def test_high_side_feeds_86_only_when_commanded(circuit):
    """The coil's supply is what is switched; its return is always near ground."""
    feed, idle, *returns = at_probes(
        circuit, (ON, "86"), ("off", "86"), (ON, "85"), ("off", "85")
    )
    assert feed > 0.85 * circuit.supply_v
    assert idle == pytest.approx(0.0, abs=1e-6)
    assert max(map(abs, returns)) < 1.0


@few
@given(relay_circuits(is_high_side=False))
def test_low_side_feeds_86_always_and_pulls_85_down_on_command(circuit):
    """The coil's return is what is switched."""
    pulled, *others = at_probes(
        circuit, (ON, "85"), ("off", "85"), (ON, "86"), ("off", "86")
    )
    assert pulled < 1.0
    assert min(others) > 0.85 * circuit.supply_v


@few
@given(relay_circuits(break_contact_ohm=0.005))
def test_break_contact_has_supply_at_rest_and_none_when_pulled_in(circuit):
    """Terminal 87a is joined with 30 until the coil pulls."""
    rests, pulled = at_probes(circuit, ("off", "87a"), (ON, "87a"))
    assert rests > 0.85 * circuit.supply_v
    assert pulled == pytest.approx(0.0, abs=1e-6)


@few
@given(relay_circuits(break_contact_ohm=0.005), setups())
def test_relay_never_touches_both_contacts(circuit, setup):
    """87 and 87a are never joined with 30 at once."""
    state = settled(circuit, setup)
    made, rests = (
        np.isfinite(state.resistance_ohm[0, 0, 0, AT[name]])
        for name in ("contacts", "break_contact")
    )
    assert not (made and rests)


def test_four_terminal_relay_has_no_contact_at_rest():
    """Where there is no 87a, nothing is there."""
    assert at_probes(STEADY, ("off", "87a")) == pytest.approx([0.0], abs=1e-9)


@few
@given(relay_circuits(does_driver_shut_off=True, **shorted_coils), st.booleans())
def test_driver_that_shuts_off_gives_no_current(circuit, is_enabled):
    """Above its limit it lets nothing pass, so that the relay stays at rest."""
    circuit = replace(circuit, is_enabled=is_enabled)
    state = settled(circuit, Setup(command="normal"))
    for branch in ("control_feed", "coil", "load"):
        assert state.current(branch)[0, 0, 0] == pytest.approx(0.0, abs=1e-9)


@few
@given(relay_circuits(does_driver_shut_off=False, **shorted_coils))
def test_driver_that_limits_gives_its_limit_on_either_side(circuit):
    """About one ampere, and the coil pulls in or not by that."""
    assert current(circuit, "control_feed") == pytest.approx(1.0, rel=2e-2)


@few
@given(relay_circuits(), st.floats(0.01, 0.1))
def test_weaker_battery_lowers_both_currents(circuit, extra_ohm):
    """More resistance inside the battery sags the supply of both circuits."""
    weak = replace(circuit, supply_ohm=circuit.supply_ohm + extra_ohm)
    columns = columns_of([weak, circuit])
    state = settle(columns, columns, [Setup()])
    control, less = state.current("control_feed")[:, 0, 0], state.current("load")
    assert control[0] < control[1]
    assert less[0, 0, 0] <= less[1, 0, 0] * (1 + 1e-7)


@few
@given(relay_circuits())
def test_running_load_takes_from_the_control_current(circuit):
    """Both hang on one battery: with the load open the coil has more."""
    idle = replace(circuit, load_ohm=np.inf)
    columns = columns_of([circuit, idle])
    running, more = settle(columns, columns, [Setup()]).current("control_feed")[:, 0, 0]
    assert running < more


@few
@given(relay_circuits(), st.sampled_from([0.004, 0.008]))
def test_open_upstream_leaves_the_whole_circuit_without_supply(circuit, ohms):
    """Ignition switch or main relay: both fuses hang on it."""
    circuit = replace(circuit, upstream_ohm=ohms)
    assert circuit.has_switch_upstream
    [feed] = at_probes(circuit, ("off", "fuse box"))
    assert feed == pytest.approx(circuit.supply_v)
    dead = replace(circuit, upstream_ohm=np.inf)
    assert at_probes(dead, (ON, "fuse box")) == pytest.approx([0.0], abs=1e-6)
    assert current(dead, "load") == pytest.approx(0.0, abs=1e-9)


@few
@given(broken_circuits())
def test_stress_is_felt_in_stressed_setups_alone(case):
    """Calm set-ups read the calm circuit, stressed ones the other, in one batch."""
    sound, moved = case
    asked = [Setup(), Setup(is_stressed=True)]
    calm_columns, moved_columns = columns_of([sound]), columns_of([moved])
    both = settle(calm_columns, calm_columns, asked, moved_columns).current_a[0, :, 0]
    for found, circuit in zip(both, (sound, moved), strict=True):
        alone = settled(circuit).current_a[0, 0, 0]
        assert found == pytest.approx(alone, rel=1e-7, abs=1e-9)


def test_stress_of_some_parts_is_felt_by_these_alone():
    """What is moved by itself has its other value; all else stays as it is at rest."""
    calm = LOADS["heater"]
    moved = replace(calm, load_wire_ohm=0.5, load_ground_ohm=0.7)
    names = ("load_wire_ohm", "load_ground_ohm")
    asked = [Setup(), *(Setup(alone=(name,)) for name in names), Setup(alone=names)]
    one = columns_of([calm])
    found = settle(one, one, asked, columns_of([moved])).current("load")[0, :, 0]
    built = [calm, replace(calm, load_wire_ohm=0.5), replace(calm, load_ground_ohm=0.7)]
    expected = [current(circuit, "load") for circuit in (*built, moved)]
    assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("kind", LOADS)
def test_intermittent_open_reads_as_sound_until_the_harness_moves(kind):
    """Calm the load has its current; wiggled and warm it has none."""
    sound = LOADS[kind]
    calm, moved = (columns_of([c]) for c in broken_pair(sound, "load_open_at_times"))
    asked = [Setup(), Setup(is_stressed=True)]
    found = settle(calm, columns_of([sound]), asked, moved).current("load")[0, :, 0]
    assert found == pytest.approx([current(sound, "load"), 0.0], abs=1e-9)


@pytest.mark.parametrize(
    ("upstream", "said"),
    [("bus bar", "fed by a bus bar"), ("ignition switch", "fed by an ignition switch")],
)
def test_variant_is_told_with_its_article(upstream, said):
    """The words of a variant are a sentence part that a technician would write."""
    assert said in Variant(upstream=upstream).text
