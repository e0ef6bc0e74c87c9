"""Traces of a scope for a lesson's text: a circuit's coil let go, its load started.

Each is a picture and the same points as a table, in Markdown.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from generator.model.inrush import (
    Filament,
    Motor,
    Source,
    heater_inrush,
    lamp_inrush,
    motor_start,
    winding_rise,
)
from generator.model.transients import (
    CoilCircuit,
    Suppression,
    Trace,
    coil_turn_off,
)
from generator.model.turn_off import coil_of
from generator.writing.markdown import image_markdown, table_markdown
from generator.writing.scope import TABLE_HEAD, View, scope_picture
from workbook.texts import _, later

if TYPE_CHECKING:
    from collections.abc import Mapping

    from generator.model.circuit import RelayCircuit
    from generator.model.parts import LoadKind
    from generator.writing.specification import Named

__all__ = ["SUPPRESSIONS", "inrush_markdown", "turn_off_markdown", "turn_off_peak_v"]

SUPPRESSIONS: Mapping[str, Suppression] = {
    "nothing": Suppression(),
    "resistor": Suppression(resistor_ohm=680.0),
    "diode": Suppression(diode_ohm=0.2),
    "clamping driver": Suppression(),
}
"""What can take the energy of a coil."""
# A driver that clamps does so well above the supply (common practice, no source).
_CLAMP_OVER_SUPPLY_V = 35.0
# What a filament stores per kelvin, for each watt; armature, rotor and blades of a fan
# or pump (common practice, no source).
_HEAT_S_PER_K = 5e-5
_ARMATURE_H, _INERTIA_KGM2 = 2e-4, 2e-3
_NO_FAN_NMS2 = 1e-12
_LAMP_S, _HEATER_S = 0.3, 0.1
# Time constant of a valve or a clutch (common practice, no source).
_WINDING_S = 0.02
_LOAD_PATH = (
    *("supply", "upstream", "load_fuse", "load_feed", "contacts", "load_wire"),
    "load_ground",
)


def turn_off_markdown(circuit: RelayCircuit, names: Named, across: str) -> str:
    """Show the voltage behind the coil when a low-side driver opens.

    Parameters
    ----------
    circuit : RelayCircuit
    names : Named
    across : str
        One of ``SUPPRESSIONS``.
    """
    # Checks also what stands across the coil, which has no title otherwise.
    trace, title = _turn_off(circuit, across), _(_TITLES[across])
    title = title.format(relay=names.relay)
    place = _("terminal {pin}").format(pin=names.coil_return)
    view = View(title=title, quantity="voltage", place=place)
    return _markdown(trace, view)


def turn_off_peak_v(circuit: RelayCircuit, across: str) -> float:
    """Highest voltage behind the coil, as ``turn_off_markdown`` shows it [V]."""
    return _turn_off(circuit, across).peak_v


_TITLES = {
    "nothing": later("Relay {relay} is switched off, nothing across its coil"),
    "resistor": later("Relay {relay} is switched off, a resistor across its coil"),
    "diode": later("Relay {relay} is switched off, a diode across its coil"),
    "clamping driver": later("Relay {relay} is switched off, the driver clamps"),
}


def _turn_off(circuit: RelayCircuit, across: str) -> Trace:
    if across not in SUPPRESSIONS:
        raise ValueError(
            f"{across!r} is nothing across a coil; allowed are "
            f"{', '.join(SUPPRESSIONS)}"
        )
    clamps = across == "clamping driver"
    return coil_turn_off(
        CoilCircuit(
            supply_v=circuit.supply_v,
            winding=coil_of(circuit).winding,
            suppression=SUPPRESSIONS[across],
            feed_ohm=circuit.control_feed_ohm,
            return_ohm=circuit.control_return_ohm + circuit.driver_ohm,
            clamp_v=circuit.supply_v + _CLAMP_OVER_SUPPLY_V if clamps else math.inf,
        )
    )


def inrush_markdown(circuit: RelayCircuit, kind: LoadKind, names: Named) -> str:
    """Show the current of the load when the contacts close."""
    view = View(
        title=_("The {load} is switched on").format(load=names.load),
        quantity="current",
        place=_("the {load}").format(load=names.load),
    )
    return _markdown(_inrush(circuit, kind), view)


def _inrush(circuit: RelayCircuit, kind: LoadKind) -> Trace:
    """Start the load of a circuit from cold and from standstill."""
    source = Source(
        emf_v=circuit.supply_v,
        resistance_ohm=sum(getattr(circuit, f"{name}_ohm") for name in _LOAD_PATH),
    )
    if circuit.motor_constant_vs > 0:
        motor = Motor(
            armature_ohm=circuit.load_ohm,
            inductance_h=_ARMATURE_H,
            constant_vs=circuit.motor_constant_vs,
            inertia_kgm2=_INERTIA_KGM2,
            fan_nms2=max(circuit.fan_nms2, _NO_FAN_NMS2),
            friction_nm=circuit.friction_nm,
        )
        return motor_start(source, motor)
    if circuit.lamp_exponent > 0:
        rated_w = circuit.rated_v * circuit.load_rated_a
        lamp = Filament(
            hot_ohm=circuit.rated_v / circuit.load_rated_a,
            hot_v=circuit.rated_v,
            heat_j_per_k=_HEAT_S_PER_K * rated_w,
        )
        return lamp_inrush(source, lamp, _LAMP_S)
    if kind in ("solenoid valve", "magnetic clutch"):
        inductance_h = _WINDING_S * circuit.load_ohm
        return winding_rise(source, circuit.load_ohm, inductance_h, 6 * _WINDING_S)
    return heater_inrush(source, circuit.load_ohm, _HEATER_S)


def _markdown(trace: Trace, view: View) -> str:
    picture = scope_picture(trace, view)
    table = table_markdown([_(head) for head in TABLE_HEAD], picture.rows)
    return f"{image_markdown(picture.svg, picture.alt)}\n\n{table}"
