"""How faults change a circuit: functions from circuit and severity to circuit."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from generator.model.circuit import RelayCircuit

Edit = Callable[[RelayCircuit, float], RelayCircuit]


def set_values(**changes: object) -> Edit:
    """Set values of a circuit, whatever the severity."""
    return lambda circuit, _: circuit.with_values(**changes)


# A fan that slows lets go of some of its own torque, a pump of none.
_PUMP_DRAG_SHARE = 0.7


def _is_pump(circuit: RelayCircuit) -> bool:
    return circuit.motor_constant_vs > 0 and circuit.fan_nms2 == 0


def joint_share(circuit: RelayCircuit) -> float:
    """How bad a joint is until another load works as weakly as a heater."""
    if _is_pump(circuit):
        # Its current does not fall with its voltage, so that less slows it as much.
        return 0.75
    if circuit.motor_constant_vs > 0:
        # A fan that slows draws much less, which lets the joint drop less.
        return 1.45
    if circuit.lamp_exponent > 0:
        # The current of a filament falls with about the root of its voltage.
        return 1.1
    # A winding that is less warm has fewer ohms.
    return 1.2 if circuit.has_mechanism else 1.0


def add_load_resistance(name: str) -> Edit:
    """Add a share of the load's working resistance to a part of the load circuit."""
    worsen = corrode(name)
    return lambda circuit, severity: worsen(circuit, severity * joint_share(circuit))


def corrode(name: str) -> Edit:
    """Leave a few strands of a wire: many times the ohms of the load."""

    def edit(circuit: RelayCircuit, severity: float) -> RelayCircuit:
        extra = severity * circuit.supply_v / circuit.load_rated_a
        values = {name: getattr(circuit, name) + extra}
        return circuit.with_values(**values)

    return edit


def weaken_supply(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave a share of the supply's voltage."""
    return circuit.with_values(supply_v=circuit.supply_v * severity)


def leave_share(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave a share of equal parts of the load, side by side."""
    return circuit.with_values(load_ohm=circuit.load_ohm / severity)


def resist_control_feed(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Let the feed take a share of the coil's voltage."""
    extra = severity * circuit.sheet_coil_ohm
    return circuit.with_values(control_feed_ohm=circuit.control_feed_ohm + extra)


def short_coil_turns(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave so few turns that the driver's limit drops a share of the supply.

    Resistance falls with the turns, ampere-turns per ampere too.
    """
    # By the driver's limit and not by turns: so every family's coil is past it,
    # whatever its ohms, and reads as a driver that limits.
    left_ohm = severity * circuit.supply_v / circuit.driver_limit_a
    share = left_ohm / circuit.coil_ohm
    return circuit.with_values(coil_ohm=left_ohm, pull_in_a=circuit.pull_in_a / share)


def fit_wrong_relay(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Fit a relay made for twice the voltage: four times the coil resistance."""
    return circuit.with_values(
        coil_ohm=circuit.coil_ohm * severity,
        # More than the turns alone would have it: by the ohms it were 0.47, which
        # leaves the coil at its very pull-in, where a tolerance decides. So it is sure
        # to stay open, on a cold morning with its larger current, too.
        pull_in_a=circuit.pull_in_a * 0.74,
    )


def fit_plain_relay(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Fit a relay with nothing across its coil, a share of the ohms at 85 and 86.

    Thicker wire fills the same bobbin: ohms go with the square of the turns.
    """
    together = 1 / (1 / circuit.coil_ohm + 1 / circuit.suppression_ohm)
    coil_ohm = severity * together
    return circuit.with_values(
        coil_ohm=coil_ohm,
        # The frame needs the same ampere-turns as before (`turn_off.coil_of`).
        pull_in_a=circuit.pull_in_a * math.sqrt(circuit.coil_ohm / coil_ohm),
        suppression_ohm=np.inf,
        has_diode=False,
    )


def fit_diode_relay(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Fit a relay whose diode conducts as soon as the coil is fed."""
    plain = fit_plain_relay(circuit, severity)
    return plain.with_values(is_diode_reversed=True)


def lift_module(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Let the module's ground take a share of the coil's voltage."""
    extra = severity * circuit.sheet_coil_ohm
    return circuit.with_values(module_ground_ohm=circuit.module_ground_ohm + extra)


def misjudge_current(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Let a smart switch report a multiple of the current that flows."""
    return circuit.with_values(sense_frac=severity)


def short_load_turns(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave a share of the load's turns."""
    return circuit.with_values(
        load_ohm=circuit.load_ohm * severity,
        motor_constant_vs=circuit.motor_constant_vs * severity,
    )


def bind(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Add friction: a share of the torque at rated current."""
    torque = circuit.motor_constant_vs * circuit.load_rated_a
    friction = circuit.friction_nm + severity * torque
    return circuit.with_values(friction_nm=friction, mechanism="heavy")


def drag(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Add as much friction as lets the current rise alike in a fan and in a pump."""
    return bind(circuit, severity * (_PUMP_DRAG_SHARE if _is_pump(circuit) else 1.0))


def let_spin(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave a share of the drag: the work no longer loads the motor."""
    return circuit.with_values(
        fan_nms2=circuit.fan_nms2 * severity,
        friction_nm=circuit.friction_nm * severity,
        work_frac=0.0,
        mechanism="free",
    )


def widen_gap(circuit: RelayCircuit, _: float) -> RelayCircuit:
    """Let a clutch's plates stand apart: same current, too little force."""
    return circuit.with_values(work_frac=0.0, mechanism="wide gap")


def hinder(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Let a share of the work come through: the load itself runs as it should."""
    return circuit.with_values(work_frac=severity)


def spread_fuse_holder(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Let the holder of the load fuse drop some volts at the rated current."""
    return circuit.with_values(fuse_holder_ohm=severity / circuit.load_rated_a)


def double_fuse(circuit: RelayCircuit) -> RelayCircuit:
    """Fit a load fuse of twice the rating."""
    return circuit.with_values(
        load_fuse_rating_a=2 * circuit.load_fuse_rating_a,
        is_load_fuse_large=True,
    )


def short_turns_behind_large_fuse(
    circuit: RelayCircuit, severity: float
) -> RelayCircuit:
    """Short turns so that the load draws its current over the severity."""
    # A fan with fewer turns is faster too, and its drag grows with the square of that.
    left = math.sqrt(severity) if circuit.fan_nms2 > 0 else severity
    return double_fuse(short_load_turns(circuit, left))


def leak_behind_large_fuse(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Let as much as the load draws, over the severity, go to ground before it."""
    leak_ohm = severity * circuit.supply_v / circuit.load_rated_a
    return double_fuse(circuit.with_values(load_to_ground_ohm=leak_ohm))


def strong_load_behind_large_fuse(
    circuit: RelayCircuit, severity: float
) -> RelayCircuit:
    """Fit a load of fewer ohms and, of course, more power."""
    return double_fuse(circuit.with_values(load_ohm=circuit.load_ohm * severity))
