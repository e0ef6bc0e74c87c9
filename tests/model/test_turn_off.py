"""The spike of a coil in its circuit: in closed form, as a trace, by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.model.catalogue.tests import tests_for as offered_for
from generator.model.circuit import Columns, columns_of
from generator.model.diagnostics import readings
from generator.model.measure import Setup
from generator.model.scales import SPIKE_LIMIT_V
from generator.model.settling import settle
from generator.model.turn_off import coil_of, peak_to_peak_v
from generator.model.turn_off import turn_off_trace as trace_of
from tests.circuits import HEATER, HIGH, WITH_DIODE, broken, calm_pairs, current

BARE = replace(HEATER, suppression_ohm=math.inf)
CIRCUITS = {
    "resistor": HEATER,
    "diode": WITH_DIODE,
    "bare": BARE,
    "high side": HIGH,
    "high side, diode": replace(WITH_DIODE, is_high_side=True),
    "24 V": replace(HEATER, supply_v=28.0, coil_ohm=300.0, pull_in_a=0.045),
    "feed resists": broken(HEATER, "control_feed_resistance"),
    "turns shorted": broken(HEATER, "coil_turns_shorted"),
    "driver stuck on": broken(HEATER, "driver_stuck_on"),
    "coil open": broken(HEATER, "coil_open"),
}


def read(circuit):
    """What the scope's test truly reads [V]."""
    [test] = offered_for(circuit, ["scope_turn_off"], is_stressed=False)
    return float(readings(calm_pairs(circuit), circuit, [test]).value[0, 0, 0])


def probe_of(circuit):
    """Terminal on the driver's side."""
    return "86" if circuit.is_high_side else "85"


@pytest.mark.parametrize("circuit", CIRCUITS.values(), ids=CIRCUITS)
def test_reading_is_the_height_of_the_trace(circuit):
    """The closed form of the batch gives what following the coil through time gives."""
    trace = trace_of(circuit, probe_of(circuit))
    assert read(circuit) == pytest.approx(np.ptp(trace.voltage_v), rel=1e-3, abs=1e-9)


@settings(max_examples=25)
@given(
    coil_ohm=st.floats(40, 400),
    resistor_ohm=st.sampled_from([math.inf, 150.0, 680.0, 3000.0]),
    pull_in_a=st.floats(0.03, 0.15),
    supply_v=st.floats(11, 29),
)
def test_closed_form_is_the_trace_for_any_coil(
    coil_ohm, resistor_ohm, pull_in_a, supply_v
):
    """Overdamped or ringing: the turn of the voltage is found in one step."""
    circuit = replace(
        HEATER,
        coil_ohm=coil_ohm,
        suppression_ohm=resistor_ohm,
        pull_in_a=pull_in_a,
        supply_v=supply_v,
    )
    trace = trace_of(circuit, "85")
    assert read(circuit) == pytest.approx(np.ptp(trace.voltage_v), rel=1e-6)


def test_resistor_takes_the_current_that_was_cut_off():
    """Core loss and resistor share the coil's current: U = I·R, on top of the supply.

    W. H. Hayt et al., "Engineering Circuit Analysis", ch. 8: the current of an
    inductance does not jump (from memory). What the stray capacitance takes is little.
    """
    coil = coil_of(HEATER).winding
    together = 1 / (1 / 680.0 + 1 / coil.loss_ohm)
    expected = 14.0 + current(HEATER, "coil") * together
    assert read(HEATER) == pytest.approx(expected, rel=0.05)


def test_diode_holds_the_spike_to_its_forward_voltage():
    """0.7 V above the supply, whatever the current (common practice, no source)."""
    trace = trace_of(WITH_DIODE, "85")
    assert trace.peak_v - trace.voltage_v[-1] == pytest.approx(0.7, abs=0.05)


def test_sheet_limit_parts_bare_coils_from_suppressed_ones():
    """Hundreds of volts without, far less with (common practice, no source)."""
    assert max(read(HEATER), read(WITH_DIODE)) < 0.7 * SPIKE_LIMIT_V
    assert 1.5 * SPIKE_LIMIT_V < read(BARE) < 1000


def test_high_side_driver_sees_the_spike_below_ground():
    """The same height, the other way round."""
    low, high = trace_of(HEATER, "85"), trace_of(HIGH, "86")
    assert low.voltage_v[0] < 1.0 < low.peak_v
    assert high.voltage_v[0] > 13.0
    assert high.voltage_v.min() < -50
    assert read(HIGH) == pytest.approx(read(HEATER), rel=0.01)


@pytest.mark.parametrize(
    "fault", ["driver_stuck_off", "driver_stuck_on", "control_return_to_ground"]
)
def test_line_stays_flat_where_nothing_is_switched(fault):
    """No edge, no spike."""
    assert read(broken(HEATER, fault)) < 0.1


def test_variants_of_a_batch_are_read_one_by_one():
    """Each circuit and each tolerance has the spike of its own values."""
    circuits = [HEATER, BARE, WITH_DIODE]
    columns = Columns(np.repeat(columns_of(circuits).values, 2, axis=2))
    columns["supply_v"][:] *= [1.0, 1.1]
    setups = [Setup(probe="85"), Setup(command="off", probe="85")]
    found = peak_to_peak_v(columns, settle(columns, columns, setups), ("85", 0, 1))
    for row, circuit in zip(found, circuits, strict=True):
        stronger = replace(circuit, supply_v=1.1 * circuit.supply_v)
        assert row == pytest.approx([read(circuit), read(stronger)])
