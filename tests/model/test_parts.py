"""Wire and motor follow their laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.parts import running_emf, wire_resistance

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
