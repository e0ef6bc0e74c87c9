"""Netlists of transients: a relay coil switched off, a motor that starts.

``ngspice -b FILE`` prints the peak, the time constant and what they start from. Unlike
our own solution these have a diode with an exponential law, a switch that takes
nanoseconds, and steps in time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from generator.model.inrush import Motor, Source
from generator.model.transients import CoilCircuit

# Trapezoidal steps ring behind a switch; Gear's do not.
_OPTIONS = ".options method=gear reltol=1e-4"
# When the switch opens, and how long its control takes.
_OPENS_S = 1e-6
# Steep beside every time constant of a coil, and not so steep that a solver stops.
_EDGE_S = 1e-8
_THERMAL_V = 0.02585  # of a diode at 27 °C
# Steps while the fastest part of an oscillation turns by one radian.
_STEPS_PER_RADIAN = 20
# Points of the printed trace; as many as a screen has.
_STEPS = 2000


def turn_off_netlist_text(circuit: CoilCircuit, heading: Sequence[str] = ()) -> str:
    """Write the turn-off of a coil as a netlist.

    Parameters
    ----------
    heading : sequence of str
        Comment lines, each beginning with ``*``; the first becomes the title.

    Returns
    -------
    str
        ngspice prints ``initial_a`` [A], ``peak_v`` [V] at node ``t85``, how far that
        is above the closed switch as ``reading`` [V], and ``time_constant_s`` [s].
    """
    coil = circuit.winding
    end_s = 6 * coil.inductance_h / coil.resistance_ohm
    parts = [
        *(heading or ["* coil turn-off"]),
        "* t85 is the switched terminal; the switch opens after 1 us",
        f"V_supply supply 0 DC {circuit.supply_v:.12g}",
        _resistor("feed", "supply t86", circuit.feed_ohm),
        f"R_coil t86 inside {coil.resistance_ohm:.12g}",
        f"L_coil inside t85 {coil.inductance_h:.12g}",
        f"C_stray t86 t85 {coil.stray_f:.12g}",
        *_optional_parts(circuit),
        _resistor("return", "t85 driver", circuit.return_ohm),
        "S_driver driver 0 command 0 driver",
        # From 1 mΩ to 1 TΩ: so open that the coil's stray capacitance takes all
        # current.
        ".model driver SW(vt=0.5 vh=0 ron=1m roff=1e12)",
        f"V_command command 0 PULSE(1 0 {_OPENS_S:g} {_EDGE_S:g} {_EDGE_S:g} 1 2)",
    ]
    commands = [
        f"tran {end_s / _STEPS:.6g} {end_s:.6g} 0 {_step_s(circuit, end_s):.6g}",
        f"meas tran initial_a FIND i(L_coil) AT={_OPENS_S / 2:g}",
        f"meas tran peak_v MAX v(t85) FROM={_OPENS_S:g}",
        f"meas tran before_v FIND v(t85) AT={_OPENS_S / 2:g}",
        "let reading = peak_v - before_v",
        "print reading",
        f"let level = initial_a/{math.e:.9f}",
        "meas tran falls WHEN i(L_coil)=level FALL=1",
        f"let time_constant_s = falls - {_OPENS_S + _EDGE_S / 2:g}",
        "print time_constant_s",
    ]
    return _netlist(parts, commands)


def _netlist(parts: Sequence[str], commands: Sequence[str]) -> str:
    """A circuit, and what is to be done with it."""
    control = [".control", "set numdgt=7", *commands, "quit 0", ".endc", ".end"]
    return "\n".join([*parts, _OPTIONS, *control]) + "\n"


def _optional_parts(circuit: CoilCircuit) -> Iterator[str]:
    """Core loss, suppression and clamp, as far as there are any."""
    across = circuit.suppression
    if math.isfinite(circuit.winding.loss_ohm):
        yield f"R_loss inside t85 {circuit.winding.loss_ohm:.12g}"
    if math.isfinite(across.resistor_ohm):
        yield f"R_suppression t86 t85 {across.resistor_ohm:.12g}"
    if math.isfinite(across.diode_ohm):
        # The saturation current that gives the stated voltage at the first current.
        leak_a = circuit.initial_a * math.exp(-across.diode_v / _THERMAL_V)
        yield "D_suppression t85 t86 diode"
        yield f".model diode D(is={leak_a:.6g} n=1 rs={across.diode_ohm:.12g})"
    if math.isfinite(circuit.clamp_v):
        yield "D_clamp t85 clamp ideal"
        # So steep that it conducts within some ten millivolts of the clamp's voltage.
        yield f".model ideal D(is=1e-12 n=0.02 rs={circuit.clamp_ohm:.12g})"
        yield f"V_clamp clamp 0 DC {circuit.clamp_v:.12g}"


def _resistor(name: str, ends: str, ohm: float) -> str:
    """A resistor, or a source of no voltage where there is none."""
    return f"R_{name} {ends} {ohm:.12g}" if ohm else f"V_{name} {ends} DC 0"


def _step_s(circuit: CoilCircuit, end_s: float) -> float:
    """Longest step: short enough for the oscillation of an undamped coil."""
    coil = circuit.winding
    radian_s = math.sqrt(coil.inductance_h * coil.stray_f)
    across_s = 1 / coil.loss_ohm + 1 / circuit.suppression.resistor_ohm
    # By the quality of a parallel circuit: below 1 it hardly rings.
    is_damped = across_s * math.sqrt(coil.inductance_h / coil.stray_f) > 1
    step_s = end_s / _STEPS
    return step_s if is_damped else min(step_s, radian_s / _STEPS_PER_RADIAN)


def motor_start_netlist_text(
    source: Source, motor: Motor, heading: Sequence[str] = ()
) -> str:
    """Write the start of a motor as a netlist.

    The mechanics are a circuit of their own: the voltage of node ``speed`` is the speed
    in rad/s, a capacitor is the inertia, and currents are torques.

    Parameters
    ----------
    heading : sequence of str
        Comment lines, each beginning with ``*``; the first becomes the title.

    Returns
    -------
    str
        ngspice prints ``peak_a`` [A], ``final_a`` [A] and ``time_constant_s`` [s]
        from the peak on.
    """
    total_ohm = source.resistance_ohm + motor.armature_ohm
    end_s = 8 * motor.inertia_kgm2 * total_ohm / motor.constant_vs**2
    parts = [
        *(heading or ["* motor start"]),
        "* node speed: 1 V is 1 rad/s; currents into it are torques in Nm",
        f"V_supply supply 0 PULSE(0 {source.emf_v:.12g} 0 1n 1n 1e6 2e6)",
        _resistor("source", "supply terminal", source.resistance_ohm),
        "V_meter terminal brush DC 0",
        f"R_armature brush winding {motor.armature_ohm:.12g}",
        f"L_armature winding back {motor.inductance_h:.12g} IC=0",
        f"B_back back 0 V={motor.constant_vs:.12g}*v(speed)",
        f"C_inertia speed 0 {motor.inertia_kgm2:.12g} IC=0",
        f"B_torque 0 speed I={motor.constant_vs:.12g}*i(V_meter)",
        f"B_fan speed 0 I={motor.fan_nms2:.12g}*v(speed)*abs(v(speed))",
        *_friction(motor),
    ]
    commands = [
        f"tran {end_s / _STEPS:.6g} {end_s:.6g} 0 {end_s / _STEPS:.6g} uic",
        "meas tran peak_a MAX i(V_meter)",
        "meas tran peak_s MAX_AT i(V_meter)",
        f"meas tran final_a FIND i(V_meter) AT={end_s:.6g}",
        f"let level = final_a + (peak_a - final_a)/{math.e:.9f}",
        "meas tran falls WHEN i(V_meter)=level FALL=1",
        "let time_constant_s = falls - peak_s",
        "print time_constant_s",
    ]
    return _netlist(parts, commands)


def _friction(motor: Motor) -> Iterator[str]:
    """Friction takes all torque up to its own: it holds, and never drives."""
    if motor.friction_nm:
        drive = f"{motor.constant_vs:.12g}*i(V_meter)"
        # Up to its own torque it takes what the motor gives, and less than nothing
        # never.
        friction = f"min({motor.friction_nm:.12g}, max(0, {drive}))"
        yield f"B_friction speed 0 I={friction}"
