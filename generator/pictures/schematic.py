"""The wiring diagram of an exercise: an SVG picture and the same circuit in words.

Supply at the top, ground at the bottom; the control circuit runs down on the left, the
load circuit on the right, and the relay is the dashed box that spans both. A low-side
driver is below the relay, a high-side driver above it, as current flows. A smart switch
has one circuit, and its module where the relay would be. Terminals are numbered by DIN
72552.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.pictures.canvas import Canvas
from generator.pictures.labels import DiagramLabels
from generator.pictures.schematic_parts import (
    RELAY_HEIGHT,
    draw_ground_sign,
    draw_load,
    draw_module,
    draw_neighbour,
    draw_relay,
    draw_smart_switch,
    draw_supply,
    draw_wire,
)
from generator.pictures.schematic_words import circuit_rows, circuit_sentence
from generator.pictures.spots import CONTROL_X, LOAD_X, Layout, spots_of
from workbook.record.circuit import Spot
from workbook.texts import _

_WIRE_LENGTH, _STUB_LENGTH = 104, 44
_NEIGHBOUR_HEIGHT = 84


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagram:
    """A wiring diagram, to be seen or read.

    Parameters
    ----------
    svg : str
        The picture, with its title and description inside.
    alt : str
        The circuit in two sentences.
    rows : tuple of tuple of str
        The circuit as a table with the columns part, from, to, note; it tells
        everything that the picture tells.
    spots : tuple of Spot
        What can be pointed at on the picture, in the order of the current.
    """

    svg: str
    alt: str
    rows: tuple[tuple[str, ...], ...]
    spots: tuple[Spot, ...]


def new_diagram(labels: DiagramLabels) -> Diagram:
    """Draw and tell one circuit.

    Parameters
    ----------
    labels : DiagramLabels
        What is written on the diagram.

    Returns
    -------
    Diagram
        The same bytes for the same labels.

    Raises
    ------
    ValueError
        Where a word of the load's or module's name or of an enable input is wider
        than its place on the sheet.

    References
    ----------
    DIN 72552, Terminal markings for motor vehicles: 15, 30, 85, 86, 87,
    87a.
    """
    canvas = Canvas()
    draw = _draw_high_side if labels.is_high_side else _draw_low_side
    layout = (_draw_smart if labels.is_smart else draw)(canvas, labels)
    _draw_load_wires(canvas, labels, layout)
    if labels.is_smart:
        # Drawn after the wires, whose ends the terminals hide.
        draw_smart_switch(canvas, layout.relay, labels)
    else:
        draw_relay(canvas, layout.relay, labels)
    if labels.is_ground_shared:
        draw_neighbour(canvas, labels, layout)
    for x in (LOAD_X,) if labels.is_smart else (CONTROL_X, LOAD_X):
        draw_ground_sign(canvas, (x, layout.ground))
    alt = circuit_sentence(labels)
    title = (
        _("Wiring diagram: {load} switched by a smart switch in {relay}")
        if labels.is_smart
        else _("Wiring diagram: {load} switched by relay {relay}")
    ).format(load=labels.load, relay=labels.relay)
    svg = canvas.svg(layout.ground + 36, title, alt)
    spots = spots_of(labels, layout)
    return Diagram(svg=svg, alt=alt, rows=circuit_rows(labels), spots=spots)


def _draw_low_side(canvas: Canvas, labels: DiagramLabels) -> Layout:
    """Draw fuses and the control circuit, module beside load; tell where they are."""
    wires, fed = labels.wires, draw_supply(canvas, labels)
    relay = fed + _WIRE_LENGTH
    switched = relay + RELAY_HEIGHT
    module = switched + _WIRE_LENGTH
    driven = draw_module(canvas, module, labels)
    used = draw_load(canvas, module, labels)
    joint = driven + _WIRE_LENGTH
    ground = joint + _to_ground(labels)
    draw_wire(canvas, (CONTROL_X, fed), relay, _("control feed"), wires.control_feed)
    below = (CONTROL_X, switched)
    draw_wire(canvas, below, module, _("control return"), wires.control_return)
    below = (CONTROL_X, driven)
    draw_wire(canvas, below, ground, _("module ground"), wires.module_ground)
    return Layout(
        fed=fed,
        module=module,
        driven=driven,
        relay=relay,
        switched=switched,
        load=module,
        used=used,
        joint=joint,
        ground=ground,
    )


def _draw_high_side(canvas: Canvas, labels: DiagramLabels) -> Layout:
    """Draw fuses and the control circuit, module above relay; tell where they are."""
    wires, fed = labels.wires, draw_supply(canvas, labels)
    module = fed + _STUB_LENGTH
    driven = draw_module(canvas, module, labels)
    relay = driven + _WIRE_LENGTH
    switched = relay + RELAY_HEIGHT
    load = switched + _WIRE_LENGTH
    used = draw_load(canvas, load, labels)
    joint = used + _WIRE_LENGTH
    ground = joint + _to_ground(labels)
    canvas.line((CONTROL_X, fed), (CONTROL_X, module))
    below = (CONTROL_X, driven)
    draw_wire(canvas, below, relay, _("control feed"), wires.control_feed)
    below = (CONTROL_X, switched)
    draw_wire(canvas, below, load, _("control return"), wires.control_return)
    canvas.line((CONTROL_X, load), (CONTROL_X, ground))
    return Layout(
        fed=fed,
        module=module,
        driven=driven,
        relay=relay,
        switched=switched,
        load=load,
        used=used,
        joint=joint,
        ground=ground,
    )


def _draw_smart(canvas: Canvas, labels: DiagramLabels) -> Layout:
    """Draw the fuse and the load, as far as the module needs; tell where they are."""
    fed = draw_supply(canvas, labels)
    module = fed + _WIRE_LENGTH
    # Its height alone: it is drawn after the wires.
    driven = draw_smart_switch(Canvas(), module, labels)
    load = driven + _WIRE_LENGTH
    used = draw_load(canvas, load, labels)
    joint = used + _WIRE_LENGTH
    return Layout(
        fed=fed,
        module=module,
        driven=driven,
        relay=module,
        switched=driven,
        load=load,
        used=used,
        joint=joint,
        ground=joint + _to_ground(labels),
    )


def _to_ground(labels: DiagramLabels) -> int:
    """How far the ground signs are below the end of the load's ground wire."""
    return _NEIGHBOUR_HEIGHT if labels.is_ground_shared else 0


def _draw_load_wires(canvas: Canvas, labels: DiagramLabels, at: Layout) -> None:
    wires = labels.wires
    draw_wire(canvas, (LOAD_X, at.fed), at.relay, _("load feed"), wires.load_feed)
    draw_wire(canvas, (LOAD_X, at.switched), at.load, _("load wire"), wires.load_wire)
    draw_wire(canvas, (LOAD_X, at.used), at.joint, _("load ground"), wires.load_ground)
