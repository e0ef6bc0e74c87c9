"""Coil turn-off: closed forms, published examples, orderings, energy."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.trace import Trace
from generator.model.transients import (
    CoilCircuit,
    Suppression,
    Winding,
    _Piece,
    _rates,
    coil_turn_off,
)

BARE = Winding(
    resistance_ohm=90.0, inductance_h=0.3, loss_ohm=math.inf, stray_f=100e-12
)
RELAY = CoilCircuit(
    supply_v=14.0, winding=Winding(resistance_ohm=90.0), feed_ohm=0.1, return_ohm=0.7
)
RESISTOR = Suppression(resistor_ohm=680.0)
DIODE = Suppression(diode_ohm=0.2)
DIODE_AND_RESISTOR = Suppression(diode_ohm=200.0)
NOTHING = Suppression()
SUPPRESSIONS = {
    "none": NOTHING,
    "resistor": RESISTOR,
    "diode and resistor": DIODE_AND_RESISTOR,
    "diode": DIODE,
}
DROP_OUT_A = 0.02


def turned_off(suppression=NOTHING, **changes):
    """The relay's trace with a suppression and other changes."""
    return coil_turn_off(replace(RELAY, suppression=suppression, **changes))


def decay(time_s, current_a):
    """A trace with a given current."""
    time = np.asarray(time_s, dtype=float)
    return Trace(
        time_s=time,
        current_a=np.asarray(current_a, dtype=float),
        voltage_v=np.zeros_like(time),
        final_a=0.0,
    )


def dissipated_j(circuit, trace):
    """Energy that copper, core loss and resistor turn into heat [J]; no clamp."""
    coil = circuit.winding
    across = circuit.supply_v - trace.voltage_v[1:]
    magnetising = trace.current_a[1:]
    wire = (magnetising + across / coil.loss_ohm) / (
        1 + coil.resistance_ohm / coil.loss_ohm
    )
    induced = across - coil.resistance_ohm * wire
    power = coil.resistance_ohm * wire**2 + induced**2 / coil.loss_ohm
    power += across**2 / circuit.suppression.resistor_ohm
    return float(np.trapezoid(power, trace.time_s[1:]))


def test_decay_through_its_own_resistance():
    """10 A in 7.50 mH and 3.00 Ω: 3.68 A at τ, 1.35 A at 2τ, 0.183 A at 4τ.

    OpenStax, "College Physics 2e", example 23.9. A resistor of nearly nothing across
    the coil closes the circuit of the example.
    """
    circuit = CoilCircuit(
        supply_v=30.0,
        winding=Winding(
            resistance_ohm=3.0, inductance_h=7.5e-3, loss_ohm=math.inf, stray_f=1e-12
        ),
        suppression=Suppression(resistor_ohm=1e-4),
    )
    trace = coil_turn_off(circuit)
    assert trace.current_a[0] == pytest.approx(10.0, rel=1e-4)
    assert trace.time_constant_s == pytest.approx(2.50e-3, rel=1e-3)
    at = np.interp([2.5e-3, 5e-3, 10e-3], trace.time_s, trace.current_a)
    assert at == pytest.approx([3.68, 1.35, 0.183], rel=3e-3)


def test_decay_reaches_half_current_and_one_percent_of_energy():
    """With τ = 1.0 s after 0.69 s and 2.3 s (OpenStax, "UP2", example 14.5)."""
    circuit = CoilCircuit(
        supply_v=2.0,
        winding=Winding(
            resistance_ohm=4.0, inductance_h=4.0, loss_ohm=math.inf, stray_f=1e-12
        ),
        suppression=Suppression(resistor_ohm=1e-5),
    )
    trace = coil_turn_off(circuit)
    first = trace.current_a[0]
    assert trace.release_s(first / 2) == pytest.approx(0.693, abs=1e-3)
    assert trace.release_s(first * math.sqrt(0.01)) == pytest.approx(2.303, abs=3e-3)


def test_resistor_peak_follows_from_continuity_of_current():
    """12 V, 90 Ω and 680 Ω across: 0.1333 A gives 90.7 V across the coil (derived)."""
    circuit = CoilCircuit(supply_v=12.0, winding=BARE, suppression=RESISTOR)
    trace = coil_turn_off(circuit)
    assert circuit.initial_a == pytest.approx(0.13333, rel=1e-4)
    assert trace.peak_v - 12.0 == pytest.approx(90.7, rel=3e-3)
    assert trace.time_constant_s == pytest.approx(0.3 / 770, rel=3e-3)


def test_diode_holds_one_drop_over_supply_until_current_is_gone():
    """Peak is supply plus 0.7 V, and i(t) = (I0 + V/R)·exp(-t·R/L) - V/R."""
    circuit = CoilCircuit(
        supply_v=14.0, winding=BARE, suppression=Suppression(diode_ohm=1e-3)
    )
    trace = coil_turn_off(circuit)
    assert trace.peak_v == pytest.approx(14.7, abs=1e-3)
    zero_s = 0.3 / 90 * math.log1p(circuit.initial_a * 90 / 0.7)
    assert trace.release_s(1e-4) == pytest.approx(zero_s, rel=0.02)


def test_clamp_empties_the_coil_in_the_time_of_its_voltage():
    """t = L/R·ln(1 + I0·R/(clamp - supply)) where nothing else takes energy."""
    circuit = CoilCircuit(supply_v=14.0, winding=BARE, clamp_v=50.0, clamp_ohm=1e-3)
    trace = coil_turn_off(circuit)
    assert trace.peak_v == pytest.approx(50.0, abs=0.01)
    zero_s = 0.3 / 90 * math.log1p(14.0 / 36.0)
    assert trace.release_s(5e-4) == pytest.approx(zero_s, rel=0.01)


def test_undamped_coil_swings_as_high_as_its_stray_capacitance_lets_it():
    """Without loss or suppression the peak is nearly I0·√(L/C) over supply."""
    circuit = CoilCircuit(supply_v=14.0, winding=replace(BARE, stray_f=500e-12))
    expected = circuit.initial_a * math.sqrt(0.3 / 500e-12)
    assert coil_turn_off(circuit).peak_v - 14.0 == pytest.approx(expected, rel=0.01)


def test_unsuppressed_relay_gives_hundreds_of_volts():
    """Core loss takes the fast part of the spike of an ordinary mini relay."""
    assert 200 < turned_off().peak_v < 500


def test_suppressions_order_peak_and_release():
    """No diode > diode and resistor > diode in voltage; in time the reverse.

    T. R. Kuphaldt, "Lessons In Electric Circuits", vol. III, ch. 3, diodes across
    switched coils.
    """
    traces = [turned_off(suppression) for suppression in SUPPRESSIONS.values()]
    peaks = [trace.peak_v for trace in traces]
    releases = [trace.release_s(DROP_OUT_A) for trace in traces]
    assert peaks == sorted(peaks, reverse=True)
    assert releases == sorted(releases)
    assert len({round(peak) for peak in peaks}) == len({*releases}) == 4


def test_clamp_matters_only_where_the_spike_would_pass_it():
    """A suppressed coil never reaches a clamp above its peak."""
    assert turned_off(clamp_v=50.0).peak_v == pytest.approx(50.2, abs=0.2)
    assert turned_off(DIODE, clamp_v=50.0).peak_v == turned_off(DIODE).peak_v


@given(
    st.floats(40.0, 150.0),
    st.floats(0.05, 1.0),
    st.floats(500.0, 1e5),
    st.sampled_from([NOTHING, RESISTOR]),
)
def test_energy_of_the_coil_becomes_heat(ohm, henry, loss, suppression):
    """½·L·I² and ½·C·U² of the start are what the resistances dissipate."""
    winding = Winding(resistance_ohm=ohm, inductance_h=henry, loss_ohm=loss)
    circuit = CoilCircuit(supply_v=14.0, winding=winding, suppression=suppression)
    stored = (henry * circuit.initial_a**2 + winding.stray_f * circuit.coil_v**2) / 2
    trace = coil_turn_off(circuit)
    assert dissipated_j(circuit, trace) == pytest.approx(stored, rel=0.01)


@given(
    st.floats(40.0, 150.0),
    st.floats(0.05, 1.0),
    st.floats(100e-12, 1e-9),
    st.sampled_from([*SUPPRESSIONS.values()]),
    st.sampled_from([30.0, 50.0, math.inf]),
)
def test_trace_is_continuous_and_ends_at_rest(ohm, henry, stray, suppression, clamp_v):
    """Times rise, the current never jumps, and the terminal ends at supply."""
    winding = Winding(resistance_ohm=ohm, inductance_h=henry, stray_f=stray)
    circuit = replace(RELAY, winding=winding, suppression=suppression, clamp_v=clamp_v)
    trace = coil_turn_off(circuit, 12 * henry / ohm)
    assert (np.diff(trace.time_s) >= 0).all()
    assert np.abs(np.diff(trace.current_a)).max() < 0.05 * trace.current_a[0]
    assert trace.current_a[-1] == pytest.approx(0.0, abs=1e-4)
    assert trace.voltage_v[-1] == pytest.approx(14.0, abs=0.01)
    assert trace.peak_v <= circuit.clamp_v + circuit.initial_a * circuit.clamp_ohm


def test_start_of_the_trace_is_the_closed_switch():
    """Before opening, the terminal lies by the drop of the return above ground."""
    trace = turned_off(RESISTOR)
    together = 1 / (1 / 90 + 1 / 680)
    through = 14.0 / (0.1 + together + 0.7)
    assert trace.voltage_v[0] == pytest.approx(0.7 * through)
    assert trace.current_a[0] == pytest.approx(through * together / 90)


def test_critical_damping_is_no_special_case():
    """A loss that damps critically lies between its neighbours."""
    critical = math.sqrt(0.3 / 500e-12) / 2
    peaks = [
        coil_turn_off(
            replace(RELAY, winding=Winding(resistance_ohm=90.0, loss_ohm=critical * f))
        ).peak_v
        for f in np.linspace(0.98, 1.02, 41)
    ]
    assert peaks == sorted(peaks)


def test_equal_rates_are_told_apart():
    """Two equal eigenvalues would divide by nothing."""
    slow, fast = _rates([[-1.0, 0.0], [0.0, -1.0]])
    assert slow != fast
    assert [slow.real, fast.real] == pytest.approx([-1.0, -1.0], rel=1e-5)


@pytest.mark.parametrize("weights", [(0.0, 0.0), (1.0, 1.0)])
def test_voltage_that_never_turns_has_no_turn(weights):
    """At rest, and where both exponentials fall."""
    parts = np.array([[0.0, weights[0]], [0.0, weights[1]]], dtype=complex)
    piece = _Piece(np.zeros(2), (complex(-1), complex(-5)), parts)
    assert piece.turning_s() is None


def test_duration_is_what_is_asked_for():
    """The trace ends there, or after six time constants."""
    circuit = replace(RELAY, suppression=DIODE)
    assert coil_turn_off(circuit, 0.004).time_s[-1] == pytest.approx(0.004)
    assert coil_turn_off(circuit).time_s[-1] == pytest.approx(6 * 0.3 / 90)


def test_release_within_a_trace_that_is_too_short_never_comes():
    """The current that stays above the level gives no time."""
    assert decay([0, 1, 2], [3.0, 2.0, 1.5]).release_s(1.0) == math.inf
    assert decay([0, 1, 2], [3.0, 2.0, 1.0]).release_s(1.5) == 1.5
    assert decay([0, 1, 2], [3.0, 2.0, 1.0]).release_s(5.0) == 0.0


def test_trace_arrays_cannot_be_changed():
    """A trace is a record."""
    trace = turned_off(DIODE)
    with pytest.raises(ValueError, match="read-only"):
        trace.current_a[0] = 1.0


@pytest.mark.parametrize(
    "make",
    [
        lambda: Winding(resistance_ohm=0.0),
        lambda: Winding(resistance_ohm=90.0, stray_f=0.0),
        lambda: Suppression(resistor_ohm=0.0),
        lambda: Suppression(diode_v=-0.7),
        lambda: replace(RELAY, supply_v=0.0),
        lambda: replace(RELAY, feed_ohm=-1.0),
        lambda: replace(RELAY, clamp_v=20.0),
        lambda: decay([0.0], [1.0]),
        lambda: decay([0.0, 1.0], [1.0]),
    ],
)
def test_values_that_make_no_circuit_are_refused(make):
    """Zero resistance, a clamp near supply, a trace without points."""
    with pytest.raises(ValueError, match=r"above|as many"):
        make()
