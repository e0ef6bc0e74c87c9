"""Wire, fuse, motor, winding and filament follow their laws."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.parts import (
    FUSE_GATES,
    fuse_gate,
    running_emf,
    wire_resistance,
    working_resistance,
)

volts = st.floats(0.5, 30.0)
ohms = st.floats(0.05, 20.0)
constants = st.floats(0.005, 0.5)
drags = st.floats(1e-9, 1e-3)
frictions = st.floats(0.0, 1.0)


def emf(source_v, series_ohm, constant_vs, fan_nms2, friction_nm):
    """Back-EMF of a single motor [V]."""
    one = [np.array([v]) for v in (source_v, series_ohm, constant_vs)]
    drag = (np.array([fan_nms2]), np.array([friction_nm]))
    return float(running_emf(*one, drag)[0])


@given(volts, ohms, constants, drags, frictions)
def test_running_motor_balances_its_torques(source_v, series_ohm, k, fan, friction):
    """What k·I gives, fan and friction take; a held rotor has too little to turn."""
    back_v = emf(source_v, series_ohm, k, fan, friction)
    driving = k * (source_v - back_v) / series_ohm
    if back_v > 0:
        taking = fan * (back_v / k) ** 2 + friction
        assert driving == pytest.approx(taking, rel=1e-6, abs=1e-9)
    else:
        assert driving <= friction


@given(volts, ohms, constants, drags, frictions)
def test_back_emf_stays_below_its_source(source_v, series_ohm, k, fan, friction):
    """A motor never drives its own source."""
    assert 0 <= emf(source_v, series_ohm, k, fan, friction) <= source_v


def test_unloaded_motor_runs_up_to_its_source():
    """With next to no drag the back-EMF is the source voltage, to all digits."""
    assert emf(12.0, 0.3, 0.04, 1e-18, 0.0) == pytest.approx(12.0, rel=1e-9)


def test_friction_alone_takes_a_fixed_current():
    """Without a fan the current is friction over constant, whatever the speed."""
    back_v = emf(12.0, 0.5, 0.05, 1e-18, 0.1)
    assert (12.0 - back_v) / 0.5 == pytest.approx(0.1 / 0.05)


def test_held_motor_has_no_back_emf():
    """Friction above the torque at rest keeps the speed at zero."""
    assert emf(12.0, 1.0, 0.05, 1e-5, 0.61) == 0.0


def test_motors_of_a_batch_do_not_mix():
    """Each row is a motor of its own."""
    columns = [np.array(pair) for pair in ([12.0, 6.0], [0.5, 0.5], [0.05, 0.05])]
    both = running_emf(*columns, (np.array([1e-18, 1e-18]), np.array([0.0, 1.0])))
    assert both == pytest.approx([12.0, 0.0])


@given(st.floats(0.1, 50.0), st.floats(0.3, 50.0), st.floats(1.5, 4.0))
def test_wire_resistance_goes_with_length_over_area(length_m, area_mm2, factor):
    """A longer wire of as much more copper has the resistance it had."""
    one = wire_resistance(length_m, area_mm2)
    assert wire_resistance(length_m * factor, area_mm2) == pytest.approx(one * factor)
    assert wire_resistance(length_m, area_mm2 * factor) == pytest.approx(one / factor)


@given(st.floats(0.1, 50.0), st.floats(-40.0, 150.0), st.floats(1.0, 60.0))
def test_warmer_wire_has_more_resistance(length_m, temperature_degc, warmer_k):
    """Copper rises by the same share of its ohms at 20 °C for each kelvin."""
    cold = wire_resistance(length_m, 1.0, temperature_degc)
    warm = wire_resistance(length_m, 1.0, temperature_degc + warmer_k)
    rise = 0.00393 * warmer_k * wire_resistance(length_m, 1.0)
    assert warm - cold == pytest.approx(rise)


def working(source_v, series_ohm, **changes):
    """Working resistance of one load of 1 Ω cold, 1.2 Ω at its 12 V and 10 A."""
    value = {
        "load_ohm": 1.0,
        "hot_frac": 1.2,
        "rated_v": 12.0,
        "load_rated_a": 10.0,
        "lamp_exponent": 0.0,
        "duty_frac": 1.0,
    }
    columns = {name: np.array([x]) for name, x in (value | changes).items()}
    one = np.array([source_v]), np.array([series_ohm])
    return float(working_resistance(*one, columns)[0])


rises = st.floats(1.0, 1.5)
series = st.floats(0.0, 10.0)


@given(st.floats(1.0, 20.0), series, rises)
def test_winding_is_warmer_by_its_share_of_rated_power(source_v, series_ohm, hot_frac):
    """The rise over cold is the full rise times power over rated power."""
    found = working(source_v, series_ohm, hot_frac=hot_frac)
    power_w = (source_v / (series_ohm + found)) ** 2 * found
    share = min(power_w / 120.0, 4.0)
    assert found == pytest.approx(1.0 + (hot_frac - 1) * share, rel=1e-9)


@given(st.floats(1.0, 20.0), st.floats(1.01, 1.5), series, rises)
def test_heater_on_more_voltage_is_warmer_and_draws_more(
    source_v, factor, series_ohm, hot_frac
):
    """Resistance and current both rise with the source."""
    low, high = source_v, source_v * factor
    cool = working(low, series_ohm, hot_frac=hot_frac)
    warm = working(high, series_ohm, hot_frac=hot_frac)
    assert warm >= cool - 1e-9
    assert high / (series_ohm + warm) > low / (series_ohm + cool)


@given(st.floats(1.0, 20.0), series, st.floats(0.01, 5.0), st.sampled_from([0.0, 0.45]))
def test_load_behind_more_resistance_draws_less(
    source_v, series_ohm, extra, lamp_exponent
):
    """Windings and filaments alike, though both have fewer ohms when cooler."""
    law = {"hot_frac": 10.0 if lamp_exponent else 1.2, "lamp_exponent": lamp_exponent}
    before = source_v / (series_ohm + working(source_v, series_ohm, **law))
    after = source_v / (
        series_ohm + extra + working(source_v, series_ohm + extra, **law)
    )
    assert after < before


@given(st.floats(0.5, 20.0), st.floats(0.0, 1.0))
def test_filament_never_falls_below_cold(source_v, series_ohm):
    """However dim, it has the ohms that an ohmmeter shows."""
    lamp = {"load_ohm": 0.12, "hot_frac": 10.0, "lamp_exponent": 0.45}
    assert working(source_v, series_ohm, **lamp) >= 0.12 * (1 - 1e-12)


def test_load_on_no_source_is_cold():
    """Without current nothing warms it."""
    assert working(0.0, 0.1) == pytest.approx(1.0)


@given(st.floats(5.0, 15.0), st.floats(0.1, 1.0))
def test_pulsed_load_draws_its_share_of_the_pulse(source_v, duty_frac):
    """On a stiff source the mean is the pulse's current times the time it is on."""
    found = working(source_v, 0.0, hot_frac=1.0, duty_frac=duty_frac)
    assert source_v / found == pytest.approx(source_v / 1.0 * duty_frac)


@pytest.mark.parametrize(
    ("frac", "shortest_s", "longest_s"),
    [
        (0.5, math.inf, math.inf),
        (1.09, math.inf, math.inf),
        (1.1, 360_000.0, math.inf),
        (1.35, 0.75, 600.0),
        (1.99, 0.75, 600.0),
        (2.0, 0.15, 5.0),
        (3.5, 0.08, 0.5),
        (6.0, 0.03, 0.1),
        (50.0, 0.03, 0.1),
    ],
)
def test_fuse_opens_between_the_times_of_its_gate(frac, shortest_s, longest_s):
    """Blade fuses (SAE J1284 and ISO 8820-3, from memory)."""
    assert fuse_gate(frac) == (shortest_s, longest_s)


def test_fuse_gates_are_faster_the_larger_the_current():
    """Gates stand in order, and neither time grows from one to the next."""
    gates, times = list(FUSE_GATES), list(FUSE_GATES.values())
    assert gates == sorted(gates)
    assert times == sorted(times, reverse=True)
    assert all(shortest < longest for shortest, longest in times)
