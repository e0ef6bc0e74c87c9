"""The wiring diagram of an exercise: an SVG picture and the same circuit in words.

Supply at the top, ground at the bottom; the control circuit runs down on the left, the
load circuit on the right, and the relay is the dashed box that spans both. A low-side
driver is below the relay, a high-side driver above it, as current flows. Terminals are
numbered by DIN 72552.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.model.parts import LoadKind
from generator.writing.schematic_canvas import Canvas, Point
from generator.writing.schematic_labels import (
    DiagramLabels,
    FuseLabel,
    Suppression,
    WireLabel,
    WireLabels,
)
from generator.writing.schematic_parts import (
    CONTROL_X,
    LOAD_X,
    RELAY_HEIGHT,
    draw_ground_sign,
    draw_load,
    draw_module,
    draw_relay,
    draw_supply,
)
from generator.writing.schematic_words import circuit_rows, circuit_sentence
from workbook.texts import _

__all__ = [
    "Diagram",
    "DiagramLabels",
    "FuseLabel",
    "LoadKind",
    "Suppression",
    "WireLabel",
    "WireLabels",
    "new_diagram",
]

_WIRE_LENGTH, _STUB_LENGTH = 104, 44


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
    """

    svg: str
    alt: str
    rows: tuple[tuple[str, ...], ...]


def new_diagram(labels: DiagramLabels) -> Diagram:
    """Draw and tell one relay circuit.

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
    ground_y = draw(canvas, labels)
    for x in (CONTROL_X, LOAD_X):
        draw_ground_sign(canvas, (x, ground_y))
    alt = circuit_sentence(labels)
    title = _("Wiring diagram: {load} switched by relay {relay}")
    title = title.format(load=labels.load, relay=labels.relay)
    svg = canvas.svg(ground_y + 36, title, alt)
    return Diagram(svg=svg, alt=alt, rows=circuit_rows(labels))


def _draw_low_side(canvas: Canvas, labels: DiagramLabels) -> int:
    """Draw fuses, relay, then module beside load; give the height of ground."""
    wires, fed = labels.wires, draw_supply(canvas, labels)
    relay = fed + _WIRE_LENGTH
    switched = relay + RELAY_HEIGHT
    module = switched + _WIRE_LENGTH
    driven = draw_module(canvas, module, labels)
    used = draw_load(canvas, module, labels)
    ground = driven + _WIRE_LENGTH
    _draw_wire(canvas, (CONTROL_X, fed), relay, _("control feed"), wires.control_feed)
    below = (CONTROL_X, switched)
    _draw_wire(canvas, below, module, _("control return"), wires.control_return)
    below = (CONTROL_X, driven)
    _draw_wire(canvas, below, ground, _("module ground"), wires.module_ground)
    _draw_wire(canvas, (LOAD_X, fed), relay, _("load feed"), wires.load_feed)
    _draw_wire(canvas, (LOAD_X, switched), module, _("load wire"), wires.load_wire)
    _draw_wire(canvas, (LOAD_X, used), ground, _("load ground"), wires.load_ground)
    draw_relay(canvas, relay, labels)
    return ground


def _draw_high_side(canvas: Canvas, labels: DiagramLabels) -> int:
    """Draw fuses, module, relay, then the load; give the height of ground."""
    wires, fed = labels.wires, draw_supply(canvas, labels)
    driven = draw_module(canvas, fed + _STUB_LENGTH, labels)
    relay = driven + _WIRE_LENGTH
    switched = relay + RELAY_HEIGHT
    load = switched + _WIRE_LENGTH
    used = draw_load(canvas, load, labels)
    ground = used + _WIRE_LENGTH
    canvas.line((CONTROL_X, fed), (CONTROL_X, fed + _STUB_LENGTH))
    _draw_wire(
        canvas, (CONTROL_X, driven), relay, _("control feed"), wires.control_feed
    )
    below = (CONTROL_X, switched)
    _draw_wire(canvas, below, load, _("control return"), wires.control_return)
    canvas.line((CONTROL_X, load), (CONTROL_X, ground))
    _draw_wire(canvas, (LOAD_X, fed), relay, _("load feed"), wires.load_feed)
    _draw_wire(canvas, (LOAD_X, switched), load, _("load wire"), wires.load_wire)
    _draw_wire(canvas, (LOAD_X, used), ground, _("load ground"), wires.load_ground)
    draw_relay(canvas, relay, labels)
    return ground


def _draw_wire(
    canvas: Canvas, start: Point, end_y: int, name: str, wire: WireLabel
) -> None:
    """Draw a wire downwards with name, colour and cross-section near its end."""
    x, _ = start
    canvas.line(start, (x, end_y))
    canvas.text((x + 14, end_y - 60), name, wire.text)
