"""Inrush of heaters, windings, motors and filaments."""

import math
from dataclasses import replace

import numpy as np
import pytest

from generator.model.inrush import (
    Filament,
    Motor,
    Source,
    _integrated,
    heater_inrush,
    lamp_inrush,
    motor_start,
    winding_rise,
)

SUPPLY = Source(emf_v=14.0, resistance_ohm=0.05)
FAN = Motor(
    armature_ohm=0.17,
    inductance_h=2e-4,
    constant_vs=0.0459,
    inertia_kgm2=2e-3,
    fan_nms2=7.93e-6,
    friction_nm=0.055,
)
HEADLIGHT = Filament(hot_ohm=4.8, hot_v=12.0, hot_degc=2850.0, heat_j_per_k=1.5e-3)


def test_winding_rises_as_in_the_worked_example():
    """2.0 V, 4.0 Ω, 4.0 H: τ 1.0 s, 0.43 A and 0.27 V at 2τ, 0.50 A in the end.

    OpenStax, "University Physics Volume 2", example 14.4.
    """
    trace = winding_rise(Source(emf_v=2.0), 4.0, 4.0, 12.0)
    current = np.interp(2.0, trace.time_s, trace.current_a)
    assert trace.time_constant_s == pytest.approx(1.0, rel=1e-3)
    assert current == pytest.approx(0.43, abs=0.005)
    assert 2.0 - 4.0 * current == pytest.approx(0.27, abs=0.005)
    assert trace.final_a == pytest.approx(0.50)
    assert trace.peak_a == pytest.approx(0.50, rel=1e-4)


def test_winding_rises_as_in_the_printed_table():
    """15 V, 1 Ω, 1 H (T. R. Kuphaldt, "Lessons In Electric Circuits", vol. I, ch. 16).

    Current and voltage across the inductance at 0.5, 1, 2, 3, 4 and 5 s.
    """
    trace = winding_rise(Source(emf_v=15.0), 1.0, 1.0, 5.0)
    current = np.interp([0.5, 1, 2, 3, 4, 5], trace.time_s, trace.current_a)
    assert current == pytest.approx(
        [5.902, 9.482, 12.97, 14.25, 14.73, 14.90], rel=4e-4
    )
    table_v = [9.098, 5.518, 2.030, 0.747, 0.275, 0.101]
    assert 15.0 - current == pytest.approx(table_v, abs=6e-4)


def test_energy_of_a_source_goes_into_heat_and_field():
    """What the source gives is R·i² over time and ½·L·I²."""
    trace = winding_rise(SUPPLY, 4.5, 0.03, 0.02)
    given = np.trapezoid(14.0 * trace.current_a, trace.time_s)
    heat = np.trapezoid(4.55 * trace.current_a**2, trace.time_s)
    assert given == pytest.approx(heat + 0.03 * trace.current_a[-1] ** 2 / 2, rel=1e-4)


def test_heater_draws_at_once_what_it_stays():
    """The current is flat, from none before switching."""
    trace = heater_inrush(SUPPLY, 0.95, 0.5)
    assert trace.current_a.tolist() == [0.0, 14.0, 14.0]
    assert trace.voltage_v.tolist() == pytest.approx([14.0, 13.3, 13.3])
    assert trace.time_constant_s == 0.0


def test_motor_starts_near_stall_and_settles():
    """It peaks below the stall current and ends where torque meets drag."""
    trace = motor_start(SUPPLY, FAN)
    stall_a = 14.0 / 0.22
    assert 0.9 * stall_a < trace.peak_a < stall_a
    assert trace.current_a[-1] == pytest.approx(trace.final_a, rel=1e-3)
    speed = (14.0 - 0.22 * trace.final_a) / FAN.constant_vs
    torque = FAN.fan_nms2 * speed**2 + FAN.friction_nm
    assert FAN.constant_vs * trace.final_a == pytest.approx(torque, rel=1e-6)


def test_motor_without_drag_has_its_mechanical_time_constant():
    """With a negligible fan and inductance the current falls with J·R/k²."""
    free = replace(FAN, fan_nms2=1e-12, friction_nm=0.0, inductance_h=1e-7)
    trace = motor_start(SUPPLY, free)
    expected = FAN.inertia_kgm2 * 0.22 / FAN.constant_vs**2
    assert trace.time_constant_s == pytest.approx(expected, rel=2e-3)


def test_motor_under_constant_torque_settles_where_it_is_met():
    """Friction of 0.5 Nm needs 0.5 Nm over k."""
    trace = motor_start(SUPPLY, replace(FAN, fan_nms2=1e-12, friction_nm=0.5), 3.0)
    assert trace.final_a == pytest.approx(0.5 / FAN.constant_vs, rel=1e-3)
    assert trace.current_a[-1] == pytest.approx(trace.final_a, rel=1e-3)


def test_seized_motor_stays_at_stall():
    """Friction without end: only the armature's inductance delays the current."""
    trace = motor_start(SUPPLY, replace(FAN, friction_nm=math.inf))
    assert trace.current_a[-1] == pytest.approx(14.0 / 0.22, rel=1e-6)
    assert trace.time_constant_s == pytest.approx(2e-4 / 0.22, rel=1e-3)


def test_motor_energy_goes_into_heat_motion_and_drag():
    """Source energy is R·i², ½·J·ω², ½·L·i² and the work of drag."""
    trace = motor_start(SUPPLY, FAN, 0.5)
    time, current = trace.time_s, trace.current_a
    emf = 14.0 - 0.22 * current - FAN.inductance_h * np.gradient(current, time)
    speed = np.maximum(emf / FAN.constant_vs, 0.0)
    drag = (FAN.fan_nms2 * speed**2 + FAN.friction_nm) * speed
    given = np.trapezoid(14.0 * current - 0.22 * current**2 - drag, time)
    stored = FAN.inertia_kgm2 * speed[-1] ** 2 / 2
    assert given == pytest.approx(stored, rel=0.01)


def test_filament_is_cold_a_tenth_of_hot():
    """0.350 Ω at 20 °C, 4.8 Ω at 2850 °C (OpenStax, "UP2", example 9.6)."""
    assert HEADLIGHT.resistance(np.array(20.0)) == pytest.approx(0.350, rel=2e-3)
    assert HEADLIGHT.resistance(np.array(2850.0)) == pytest.approx(4.8)
    assert HEADLIGHT.radiated(np.array(2850.0)) == pytest.approx(30.0)
    assert HEADLIGHT.radiated(np.array(20.0)) == 0.0


def test_lamp_starts_with_the_current_of_its_cold_filament():
    """34.3 A at 12.0 V, then 2.50 A (OpenStax, "College Physics 2e", example 20.7)."""
    trace = lamp_inrush(Source(emf_v=12.0), HEADLIGHT, 1.0)
    assert trace.peak_a == pytest.approx(34.3, rel=2e-3)
    assert trace.current_a[-1] == pytest.approx(2.50, rel=1e-3)
    assert trace.final_a == pytest.approx(2.50, rel=1e-6)
    assert (np.diff(trace.current_a[1:]) <= 1e-9).all()


def test_bank_of_lamps_is_one_with_the_sum_of_currents():
    """Four lamps: a fourth of the resistance, four times the heat."""
    bank = replace(HEADLIGHT, hot_ohm=1.2, heat_j_per_k=6e-3)
    one = lamp_inrush(Source(emf_v=12.0), HEADLIGHT, 0.2)
    four = lamp_inrush(Source(emf_v=12.0), bank, 0.2)
    assert four.peak_a == pytest.approx(4 * one.peak_a)
    assert four.time_constant_s == pytest.approx(one.time_constant_s, rel=1e-3)


def test_lamp_energy_goes_into_heat_of_the_filament_and_radiation():
    """From the trace alone: resistance gives temperature, and that the radiation."""
    trace = lamp_inrush(Source(emf_v=12.0), HEADLIGHT, 0.05)
    time, current = trace.time_s[1:], trace.current_a[1:]
    warmth = (12.0 / current / HEADLIGHT.resistance(np.array(20.0)) - 1) / 4.5e-3
    given = np.trapezoid(12.0 * current - HEADLIGHT.radiated(warmth + 20.0), time)
    assert given == pytest.approx(HEADLIGHT.heat_j_per_k * warmth[-1], rel=2e-3)


def test_integration_that_fails_is_told():
    """No trace is better than a wrong one."""
    with pytest.raises(ArithmeticError, match="cannot be integrated"):
        _integrated(lambda *_: [math.nan], [1.0], np.linspace(0.0, 2.0, 5))


@pytest.mark.parametrize(
    "make",
    [
        lambda: Source(emf_v=0.0),
        lambda: Source(emf_v=12.0, resistance_ohm=-0.1),
        lambda: replace(FAN, inductance_h=0.0),
        lambda: replace(FAN, friction_nm=-1.0),
        lambda: replace(HEADLIGHT, hot_ohm=0.0),
        lambda: replace(HEADLIGHT, hot_degc=10.0),
    ],
)
def test_values_that_make_no_load_are_refused(make):
    """Nothing negative, and a lamp hotter than its surroundings."""
    with pytest.raises(ValueError, match="above"):
        make()
