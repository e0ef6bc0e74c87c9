"""The transients that an exercise's circuit shows: its network as coil or motor.

A key record holds what flows steadily. What only a transient shows, such as inductance
and inertia, is that of ordinary parts (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import replace

from answer_keys.keys.whole_record import CoilRecord
from generator.model.inrush import Motor, Source
from generator.model.network import Branch, Network
from generator.model.solving import Solution, solve
from generator.model.transients import CoilCircuit, Suppression, Winding

# A cooler fan of 12 V at work.
_SPEED_RAD_S = 270.0
# A fan turns against air; its bearings take a small part (common practice, no source).
_FRICTION_FRAC = 0.1
# A leak through a meter is a thousandth of this, a coil draws a hundred times more.
_NO_CURRENT_A = 1e-3
# What the coil current flows through before the coil and behind it; one of the two
# drivers is a track of the module.
_FEED = ("control_fuse", "control_tap", "high_driver", "control_feed")
_RETURN = ("control_return", "low_driver", "module_ground")


class NothingMovesError(ValueError):
    """A network in which nothing is switched off or starts."""


def coil_circuit_of(network: Network, coil: CoilRecord) -> CoilCircuit:
    """Return the control circuit of a network as a coil that can be switched off.

    A high-side driver is told as a low-side one: the coil gives the same spike, at its
    other terminal and below ground.

    Parameters
    ----------
    network : Network
        Of the sound circuit or of a test, commanded on.
    coil : CoilRecord
        What only a transient shows of the same circuit, its diode with it.

    Raises
    ------
    NothingMovesError
        Where no coil current flows, or where it does not stop at the driver.
    """
    ohms = {branch.name: branch.resistance_ohm for branch in network.branches}
    # The other one is a track of a milliohm.
    driver = max(("low_driver", "high_driver"), key=lambda name: ohms.get(name, 0.0))
    before, after = _solved(network), _solved(network, without=driver)
    if not before.current_a.get("coil", 0.0) > _NO_CURRENT_A:
        raise NothingMovesError("no current flows in the coil")
    if abs(after.current_a.get("coil", 0.0)) > _NO_CURRENT_A:
        raise NothingMovesError("the coil stays on when the driver opens")
    # Seen from the driver, a high-side circuit is the low-side one mirrored: what lies
    # between the driver and the coil is its feed.
    far, near = (_RETURN, _FEED) if driver == "high_driver" else (_FEED, _RETURN)
    resistor_ohm, share = ohms.get("suppression", math.inf), 1.0
    if coil.is_diode_reversed:
        # It blocks as soon as the driver opens. The coil alone, behind ohms that leave
        # it as little current as it has beside the diode.
        resistor_ohm = math.inf
        share = abs(before.current_a[driver]) / before.current_a["coil"]
    return CoilCircuit(
        supply_v=before.voltage_v["supply"],
        winding=Winding(
            resistance_ohm=ohms["coil"],
            inductance_h=coil.inductance_h,
            loss_ohm=coil.loss_ohm,
            stray_f=coil.stray_f,
        ),
        suppression=_suppression(resistor_ohm, coil),
        feed_ohm=share * sum(ohms.get(name, 0.0) for name in far),
        return_ohm=share * sum(ohms.get(name, 0.0) for name in near),
    )


def _suppression(resistor_ohm: float, coil: CoilRecord) -> Suppression:
    if coil.diode_v is None or coil.diode_ohm is None:
        return Suppression(resistor_ohm=resistor_ohm)
    return Suppression(
        resistor_ohm=resistor_ohm, diode_v=coil.diode_v, diode_ohm=coil.diode_ohm
    )


def motor_start_of(network: Network) -> tuple[Source, Motor]:
    """Return the load circuit of a network as a motor on a source, contacts closing.

    The motor runs, in the end, at the operating point of the network.

    Raises
    ------
    NothingMovesError
        Where the load has no back-EMF: it is no motor, or it stands.
    """
    load = next((b for b in network.branches if b.name == "load"), None)
    if load is None or not load.emf_v < 0:
        raise NothingMovesError("the load is no motor that turns")
    running, without = _solved(network), _solved(network, without="load")
    current = running.current_a["load"]
    open_v, closed_v = (_between(s, load) for s in (without, running))
    # Any speed gives the same current in the end, for k and drag go with it: only how
    # long the start takes hangs on it.
    constant = -load.emf_v / _SPEED_RAD_S
    torque = constant * current
    motor = Motor(
        armature_ohm=load.resistance_ohm,
        constant_vs=constant,
        fan_nms2=torque * (1 - _FRICTION_FRAC) / _SPEED_RAD_S**2,
        friction_nm=torque * _FRICTION_FRAC,
    )
    # Thévenin: open voltage, and what the running current drops of it.
    return Source(emf_v=open_v, resistance_ohm=(open_v - closed_v) / current), motor


def _solved(network: Network, without: str | None = None) -> Solution:
    opened = (
        replace(b, resistance_ohm=math.inf) if b.name == without else b
        for b in network.branches
    )
    return solve(replace(network, branches=tuple(opened)))


def _between(solution: Solution, load: Branch) -> float:
    volts = solution.voltage_v
    return volts[load.node_from] - volts[load.node_to]
