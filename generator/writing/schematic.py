"""The wiring diagram of an exercise: an SVG picture and the same circuit in words.

Supply at the top, ground at the bottom; the control circuit runs down on the left, the
load circuit on the right, and the relay is the dashed box that spans both. Terminals
are numbered by DIN 72552.
"""

import base64
from collections.abc import Callable
from dataclasses import dataclass

from generator.writing.schematic_canvas import (
    LINE_HEIGHT,
    SHEET_WIDTH,
    TEXT_SIZE,
    Canvas,
    Point,
    wrapped,
)
from generator.writing.schematic_labels import (
    DiagramLabels,
    FuseLabel,
    LoadKind,
    Suppression,
    WireLabel,
    WireLabels,
)
from generator.writing.schematic_symbols import (
    draw_battery,
    draw_coil,
    draw_diode,
    draw_fan_motor,
    draw_fuse,
    draw_ground,
    draw_heater,
    draw_joint,
    draw_low_side_driver,
    draw_make_contact,
    draw_resistor,
    draw_solenoid_valve,
    draw_terminal,
)
from generator.writing.schematic_words import circuit_rows, circuit_sentence

__all__ = [
    "Diagram",
    "DiagramLabels",
    "FuseLabel",
    "LoadKind",
    "Suppression",
    "WireLabel",
    "WireLabels",
    "data_uri",
    "new_diagram",
]

_BATTERY_X, _CONTROL_X, _LOAD_X = 70, 200, 485
_MARGIN = 22
_SUPPLY_Y = 60
_FUSE_Y = 84
_RELAY_TOP, _COIL_Y, _RELAY_BOTTOM = 236, 334, 432
_MODULE_TOP = 536
_MODULE_RIGHT = 442
_DRIVER_Y = 590
_LOGIC_LEFT, _LOGIC_RIGHT = 238, 432
_WIRE_LENGTH = 104

_LOADS: dict[LoadKind, tuple[Callable[[Canvas, Point], None], int]] = {
    "heater": (draw_heater, 14),
    "fan motor": (draw_fan_motor, 57),
    "solenoid valve": (draw_solenoid_valve, 64),
}
"""Each load's symbol, and how far it reaches to the right of the path."""


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
    DIN 72552, Terminal markings for motor vehicles: 30, 85, 86, 87.
    """
    canvas = Canvas()
    _draw_supply(canvas, labels)
    _draw_fuse_and_feed(canvas, _CONTROL_X, labels.control_fuse)
    _draw_fuse_and_feed(canvas, _LOAD_X, labels.load_fuse)
    _draw_relay(canvas, labels)
    module_bottom = _draw_module(canvas, labels)
    _draw_load(canvas, labels)
    ground_y = module_bottom + _WIRE_LENGTH
    _draw_grounds(canvas, module_bottom, ground_y)
    _draw_terminals(canvas, _CONTROL_X, "86", "85")
    _draw_terminals(canvas, _LOAD_X, "30", "87")
    _write_wires(canvas, labels.wires, module_bottom)
    alt = circuit_sentence(labels)
    title = f"Wiring diagram: {labels.load} switched by relay {labels.relay}"
    svg = canvas.svg(ground_y + 36, title, alt)
    return Diagram(svg=svg, alt=alt, rows=circuit_rows(labels))


def data_uri(svg: str) -> str:
    """Give a picture as the address of an image that needs no file.

    Parameters
    ----------
    svg : str
        SVG text.

    Returns
    -------
    str
        A ``data:`` address in base64.

    Examples
    --------
    >>> data_uri("<svg/>")
    'data:image/svg+xml;base64,PHN2Zy8+'
    """
    encoded = base64.b64encode(svg.encode()).decode("ascii")
    return f"data:image/svg+xml;base64,{encoded}"


def _draw_supply(canvas: Canvas, labels: DiagramLabels) -> None:
    """Draw the battery and the line from which both circuits branch."""
    canvas.line((_BATTERY_X, _SUPPLY_Y), (_LOAD_X, _SUPPLY_Y))
    draw_joint(canvas, (_CONTROL_X, _SUPPLY_Y))
    draw_battery(canvas, (_BATTERY_X, _SUPPLY_Y))
    draw_ground(canvas, (_BATTERY_X, _SUPPLY_Y + 88))
    canvas.text((_BATTERY_X + 26, _SUPPLY_Y + 88 + TEXT_SIZE - 2), "ground")
    canvas.text((_MARGIN, _SUPPLY_Y - 24), labels.supply, bold=True)


def _draw_fuse_and_feed(canvas: Canvas, x: int, fuse: FuseLabel) -> None:
    """Draw the path from the supply through a fuse to the relay."""
    canvas.line((x, _SUPPLY_Y), (x, _FUSE_Y))
    draw_fuse(canvas, (x, _FUSE_Y))
    canvas.line((x, _FUSE_Y + 48), (x, _RELAY_TOP))
    canvas.text((x + 22, _FUSE_Y + 20), fuse.name, bold=True)
    canvas.text((x + 22, _FUSE_Y + 20 + LINE_HEIGHT), fuse.rating)


def _draw_relay(canvas: Canvas, labels: DiagramLabels) -> None:
    """Draw coil, suppression, contacts and the dashed box around them."""
    corner = (_LOAD_X + 80, _RELAY_BOTTOM)
    canvas.box((_MARGIN, _RELAY_TOP), corner, dashed=True)
    canvas.text((_MARGIN + 12, _RELAY_TOP + 28), labels.relay, bold=True)
    canvas.text((_MARGIN + 12, _RELAY_TOP + 28 + LINE_HEIGHT), "relay")
    _draw_suppression(canvas, labels.suppression)
    canvas.line((_CONTROL_X, _RELAY_TOP), (_CONTROL_X, _COIL_Y - 15))
    draw_coil(canvas, (_CONTROL_X, _COIL_Y))
    canvas.line((_CONTROL_X, _COIL_Y + 15), (_CONTROL_X, _RELAY_BOTTOM))
    canvas.line((_LOAD_X, _RELAY_TOP), (_LOAD_X, _COIL_Y - 27))
    draw_make_contact(canvas, (_LOAD_X, _COIL_Y - 27))
    canvas.line((_LOAD_X, _COIL_Y + 27), (_LOAD_X, _RELAY_BOTTOM))
    canvas.line((_CONTROL_X + 30, _COIL_Y), (_LOAD_X - 10, _COIL_Y), dashed=True)


def _draw_suppression(canvas: Canvas, suppression: Suppression) -> None:
    """Draw what lies in parallel to the coil, on its left."""
    if suppression == "none":
        return
    x, top, bottom = _CONTROL_X - 70, _COIL_Y - 46, _COIL_Y + 46
    canvas.line((_CONTROL_X, top), (x, top), (x, _COIL_Y - 22))
    canvas.line((x, _COIL_Y + 22), (x, bottom), (_CONTROL_X, bottom))
    draw_joint(canvas, (_CONTROL_X, top))
    draw_joint(canvas, (_CONTROL_X, bottom))
    draw = draw_diode if suppression == "diode" else draw_resistor
    draw(canvas, (x, _COIL_Y))
    canvas.text((x - 18, _COIL_Y + 6), suppression, anchor="end")


def _draw_terminals(canvas: Canvas, x: int, upper: str, lower: str) -> None:
    """Draw two terminals on the relay's edge with their numbers inside."""
    draw_terminal(canvas, (x, _RELAY_TOP))
    draw_terminal(canvas, (x, _RELAY_BOTTOM))
    canvas.text((x + 14, _RELAY_TOP + 26), upper, bold=True)
    canvas.text((x + 14, _RELAY_BOTTOM - 14), lower, bold=True)


def _draw_module(canvas: Canvas, labels: DiagramLabels) -> int:
    """Draw the control module with its driver; give the y of its lower edge."""
    canvas.line((_CONTROL_X, _RELAY_BOTTOM), (_CONTROL_X, _DRIVER_Y))
    bottom = _draw_command(canvas, labels.enable_inputs) + 14
    canvas.box((_MARGIN, _MODULE_TOP), (_MODULE_RIGHT, bottom))
    name = wrapped(labels.module, _CONTROL_X - _MARGIN - 24, bold=True)
    canvas.text((_MARGIN + 12, _MODULE_TOP + 28), *name, bold=True)
    draw_low_side_driver(canvas, (_CONTROL_X, _DRIVER_Y))
    canvas.line((_CONTROL_X, _DRIVER_Y + 60), (_CONTROL_X, bottom))
    driver_name = (_CONTROL_X - 14, _DRIVER_Y + 36)
    canvas.text(driver_name, "low-side", "driver", anchor="end")
    return bottom


def _draw_command(canvas: Canvas, enable_inputs: tuple[str, ...]) -> int:
    """Draw the box that gives the command; give the y of its lower edge."""
    left, gate_y = _LOGIC_LEFT + 10, _DRIVER_Y + 30
    items = [wrapped(text, _LOGIC_RIGHT - left - 20) for text in enable_inputs]
    height = 20 + LINE_HEIGHT * (1 + sum(map(len, items)))
    top = max(_MODULE_TOP + 14, gate_y - height // 2)
    canvas.box((_LOGIC_LEFT, top), (_LOGIC_RIGHT, top + height))
    canvas.line((_CONTROL_X + 26, gate_y), (_LOGIC_LEFT, gate_y))
    baseline = top + 24
    canvas.text((left, baseline), "command on when:" if items else "command on")
    for lines in items:
        canvas.text((left, baseline + LINE_HEIGHT), "–")
        canvas.text((left + 14, baseline + LINE_HEIGHT), *lines)
        baseline += LINE_HEIGHT * len(lines)
    return max(top + height, _DRIVER_Y + 70)


def _draw_load(canvas: Canvas, labels: DiagramLabels) -> None:
    """Draw the load's symbol level with the module, its name on the right."""
    draw, reach = _LOADS[labels.load_kind]
    canvas.line((_LOAD_X, _RELAY_BOTTOM), (_LOAD_X, _MODULE_TOP))
    draw(canvas, (_LOAD_X, _MODULE_TOP))
    left = _LOAD_X + reach + 12
    name = wrapped(labels.load, SHEET_WIDTH - left - 8, bold=True)
    first_line = _MODULE_TOP + 46 - LINE_HEIGHT * (len(name) - 1) // 2
    canvas.text((left, first_line), *name, bold=True)


def _draw_grounds(canvas: Canvas, module_bottom: int, ground_y: int) -> None:
    """Draw the two wires to ground and their signs."""
    for x, start in ((_CONTROL_X, module_bottom), (_LOAD_X, _MODULE_TOP + 80)):
        canvas.line((x, start), (x, ground_y))
        draw_ground(canvas, (x, ground_y))
        canvas.text((x + 26, ground_y + TEXT_SIZE - 2), "ground")


def _write_wires(canvas: Canvas, wires: WireLabels, module_bottom: int) -> None:
    """Write name, colour and cross-section along each wire."""
    feed_y, switched_y = _RELAY_TOP - 58, _RELAY_BOTTOM + 44
    ground_y = module_bottom + 44
    for x, y, name, wire in (
        (_CONTROL_X, feed_y, "control feed", wires.control_feed),
        (_CONTROL_X, switched_y, "control return", wires.control_return),
        (_CONTROL_X, ground_y, "module ground", wires.module_ground),
        (_LOAD_X, feed_y, "load feed", wires.load_feed),
        (_LOAD_X, switched_y, "load wire", wires.load_wire),
        (_LOAD_X, ground_y, "load ground", wires.load_ground),
    ):
        canvas.text((x + 14, y), name, wire.text)
