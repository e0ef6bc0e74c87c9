"""Values of a sound circuit: nominal, at a temperature, and how far they may be off."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from generator.drawing.stream import Stream
from generator.model.circuit import (
    COPPER_PER_K,
    SHEET_DEGC,
    RelayCircuit,
    copper_factor,
    rounded,
)
from generator.model.edits import joint_share
from generator.model.inrush import TUNGSTEN_PER_K
from generator.model.parts import CONTROL_FUSE_A, RATED_V, fuse_for, wire_resistance
from generator.model.variant import LoadKind, Variant
from lessons.family import Family

# Battery alone, in a 12 V vehicle (common practice, no source).
BATTERY_V = (12.3, 12.7)
# What contacts before the fuses have, and by what battery and generator sag (common
# practice, no source).
_UPSTREAM_OHM = {"bus bar": 0.0002, "ignition switch": 0.008, "main relay": 0.004}
_SUPPLY_OHM = {"charging": (0.008, 0.015), "battery only": (0.015, 0.030)}
# A new connector: its contact pair with both crimps, or a ground point (from
# memory of trade pages: 2 to 5 mΩ new, 50 to 200 mΩ corroded).
_JOINT_OHM = (0.002, 0.005)
# Change of a load's cold ohms about 20 °C [1/K]; those of heating wire hardly change.
_LOAD_PER_K: Mapping[LoadKind, float] = {
    "fan motor": COPPER_PER_K,
    "pump motor": COPPER_PER_K,
    "solenoid valve": COPPER_PER_K,
    "magnetic clutch": COPPER_PER_K,
    "lamp bank": TUNGSTEN_PER_K,
}
# Of a new relay, within what is drawn for the contact to 87.
_BREAK_CONTACT_OHM = 0.005
_LAMP_EXPONENT = 0.45
# A fuse drops about this much at its rating (common practice, no source).
_FUSE_DROP_V = 0.09
# What sets the current of a motor: the fan's drag, or a pump's torque, whatever the
# supply.
_DRIVEN = {"fan motor": "fan_nms2", "pump motor": "friction_nm"}
_CONTROL_OHM = (
    *("control_fuse_ohm", "control_feed_ohm", "coil_ohm", "suppression_ohm"),
    *("control_return_ohm", "module_ground_ohm", "break_contact_ohm"),
)
# Above what inrush leaves within its delay, and far below what a wire that touches
# ground draws (common practice, no source).
_SHUT_OFF_FRAC = 1.8
# Share of the load's working resistance, as of a bad joint. It is that of two filaments
# in a row at a seventh of their voltage, where they have some 0.4 of their hot ohms and
# glow dimly: beside a valve of 3 A at 12 V two lamps of 45 W on either side (reckoned
# with `_LAMP_EXPONENT`).
_WAY_BACK = (0.27, 0.34)


def new_nominal(
    family: Family, variant: Variant, charging_v: tuple[float, float], stream: Stream
) -> RelayCircuit:
    """Draw the values of a sound circuit at 20 °C.

    Parameters
    ----------
    charging_v : tuple of float
        Range of the supply in a 12 V vehicle whose engine runs [V].
    """
    ranges = family.ranges
    volts = charging_v if variant.supply == "charging" else BATTERY_V
    supply = round(stream.uniform(*volts) * family.system_v / 12, 1)
    # As the sheet prints them: what a student reckons with is the value itself.
    rated = rounded(stream.uniform(*ranges.rated_a), 2)
    coil = rounded(stream.uniform(*ranges.coil_ohm), 2)
    # A diode conducts where its relay is fed at 85: such a circuit has a resistor.
    is_diode = stream.choice(ranges.suppression) == "diode"
    has_diode = is_diode and variant.coil_supply == "86"
    suppression = stream.choice(ranges.suppression_ohm)
    duty = stream.uniform(*ranges.duty_frac)
    fuse_a = ranges.fuse_a or fuse_for(rated, duty)
    area = ranges.wire_area_mm2[0]
    # Control wires: the current of a coil asks for no thicker ones.
    thin = [wire_resistance(stream.uniform(1.0, 3.0), 0.75) for _ in range(3)]
    short_m, long_m = ranges.wire_length_m, ranges.load_wire_m or ranges.wire_length_m
    wires = [
        wire_resistance(stream.uniform(*length_m), area)
        for length_m in (short_m, long_m, short_m)
    ]
    socket, connector, ground_point = (stream.uniform(*_JOINT_OHM) for _ in range(3))
    circuit = RelayCircuit(
        supply_v=supply,
        supply_ohm=stream.uniform(*_SUPPLY_OHM[variant.supply]),
        upstream_ohm=_UPSTREAM_OHM[variant.upstream],
        control_fuse_ohm=_FUSE_DROP_V / CONTROL_FUSE_A,
        control_feed_ohm=thin[0],
        coil_ohm=coil,
        suppression_ohm=math.inf if has_diode else suppression,
        has_diode=has_diode,
        is_fed_at_85=variant.coil_supply == "85",
        # At 52 to 60 % of the nominal voltage (common practice, no source).
        pull_in_a=stream.uniform(0.52, 0.60) * family.system_v / coil,
        control_return_ohm=thin[1],
        driver_ohm=stream.uniform(0.4, 1.0),
        driver_limit_a=1.0,
        module_ground_ohm=thin[2],
        load_fuse_ohm=_FUSE_DROP_V / fuse_a,
        load_fuse_rating_a=fuse_a,
        load_feed_ohm=wires[0],
        socket_ohm=socket,
        contacts_ohm=stream.uniform(0.003, 0.006),
        load_wire_ohm=wires[1],
        load_connector_ohm=connector,
        rated_v=RATED_V * family.system_v / 12,
        load_rated_a=rated,
        # Until `_with_load` gives it the ohms of its kind.
        load_ohm=1.0,
        hot_frac=stream.uniform(*ranges.hot_frac),
        duty_frac=duty,
        motor_constant_vs=0.0,
        fan_nms2=0.0,
        friction_nm=0.0,
        load_ground_ohm=wires[2],
        ground_point_ohm=ground_point,
        is_fuse_shared=variant.fuses == "shared",
        is_high_side=variant.drive == "high side",
        break_contact_ohm=_BREAK_CONTACT_OHM if variant.terminals == 5 else math.inf,
        does_driver_shut_off=variant.overload == "shuts off",
        has_mechanism=family.mechanism is not None,
    )
    return _with_load(circuit, family, stream)


def _with_load(circuit: RelayCircuit, family: Family, stream: Stream) -> RelayCircuit:
    """Return the circuit the load of its family."""
    if family.kind in _DRIVEN:
        return _with_motor(circuit, family, stream)
    # The rated current is the mean of a pulsed load, which draws more while it is on.
    hot = circuit.rated_v / circuit.load_rated_a * circuit.duty_frac
    return replace(
        circuit,
        load_ohm=hot / circuit.hot_frac,
        lamp_exponent=_LAMP_EXPONENT if family.kind == "lamp bank" else 0.0,
    )


def _with_motor(circuit: RelayCircuit, family: Family, stream: Stream) -> RelayCircuit:
    """Return a motor its armature and constant, and a fan's drag or a pump's torque."""
    ranges = family.ranges
    rated, drop = circuit.load_rated_a, stream.uniform(*ranges.armature_frac)
    speed = stream.uniform(*ranges.speed_rad_s)
    # What does not fall on the hot armature is back-EMF.
    constant = circuit.rated_v * (1 - drop) / speed
    # Friction and fan take all of it at rated current; what is no friction goes with
    # ω².
    torque = constant * rated
    is_pump = family.kind == "pump motor"
    friction = torque * (1.0 if is_pump else stream.uniform(*ranges.friction_frac))
    return replace(
        circuit,
        load_ohm=circuit.rated_v * drop / rated / circuit.hot_frac,
        motor_constant_vs=constant,
        fan_nms2=(torque - friction) / speed**2,
        friction_nm=friction,
    )


def tolerances_of(family: Family) -> dict[str, float]:
    """Limits of what values of a circuit may be off, as fractions of each."""
    percent = family.tolerance_percent
    tolerances = {
        "supply_v": 0.01,
        "supply_ohm": 0.3,
        "coil_ohm": percent.coil / 100,
        "suppression_ohm": 0.05,
        "driver_ohm": 0.3,
        "control_feed_ohm": 0.2,
        "control_return_ohm": 0.2,
        "load_feed_ohm": 0.2,
        "load_wire_ohm": 0.2,
        "load_ground_ohm": 0.2,
        "contacts_ohm": 0.3,
        "socket_ohm": 0.3,
        "load_connector_ohm": 0.3,
    }
    if family.kind in _DRIVEN:
        # Of a fan the current falls with nearly the cube of the constant: that has a
        # quarter of the tolerance, so that both together stay near it.
        return tolerances | {
            _DRIVEN[family.kind]: percent.rated / 100,
            "motor_constant_vs": percent.rated / 400,
            "load_ohm": percent.resistance / 100,
        }
    return tolerances | {"load_ohm": percent.rated / 100}


def at_temperature(circuit: RelayCircuit, kind: LoadKind, degc: float) -> RelayCircuit:
    """Warm or cool the coil; the current that pulls it in stays what it is.

    A night outside leaves the load as cold. One that has worked has cooled since: its
    own heat goes within minutes, that of a relay box stays.
    """
    tempered = replace(
        circuit, coil_ohm=circuit.coil_ohm * copper_factor(degc), coil_degc=degc
    )
    if degc >= SHEET_DEGC or kind not in _LOAD_PER_K:
        return tempered
    frac = 1 + _LOAD_PER_K[kind] * (degc - SHEET_DEGC)
    hot = circuit.hot_frac
    return replace(
        tempered,
        load_ohm=circuit.load_ohm * frac,
        load_cold_frac=frac,
        # A filament glows as hot as ever; a winding gains as many ohms as ever.
        hot_frac=hot / frac if kind == "lamp bank" else 1 + (hot - 1) / frac,
    )


def with_smart_switch(circuit: RelayCircuit) -> RelayCircuit:
    """Let a switch without contacts take the place of relay and control circuit."""
    opened: Mapping[str, Any] = dict.fromkeys(_CONTROL_OHM, math.inf)
    return replace(
        circuit,
        **opened,
        has_diode=False,
        is_fed_at_85=False,
        is_high_side=False,
        is_smart=True,
        shut_off_a=rounded(_SHUT_OFF_FRAC * circuit.load_rated_a, 2),
    )


def beside_neighbour(circuit: RelayCircuit, stream: Stream) -> RelayCircuit:
    """Let lamps share the ground point, as many as let the load work weakly."""
    share = stream.uniform(*_WAY_BACK) * joint_share(circuit)
    way_ohm = share * circuit.supply_v / circuit.load_rated_a
    return replace(circuit, neighbour_ohm=rounded(way_ohm, 2))
