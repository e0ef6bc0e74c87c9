"""The parts of a wiring diagram, with what is written beside them.

Each is drawn from a height on the sheet downwards, at ``CONTROL_X`` and ``LOAD_X``; a
number given back is the height where the part ends.
"""

from __future__ import annotations

from generator.pictures.canvas import (
    LINE_HEIGHT,
    SHEET_WIDTH,
    TEXT_SIZE,
    Canvas,
    Point,
    text_width,
    wrapped,
)
from generator.pictures.labels import DiagramLabels, FuseLabel, Suppression, WireLabel
from generator.pictures.spots import (
    BATTERY_X,
    CONTROL_X,
    LOAD_X,
    NEIGHBOUR_X,
    SUPPLY_Y,
    Layout,
)
from generator.pictures.symbols import (
    LOADS,
    draw_battery,
    draw_break_contact,
    draw_coil,
    draw_connector,
    draw_diode,
    draw_driver,
    draw_fuse,
    draw_ground,
    draw_handle,
    draw_joint,
    draw_make_contact,
    draw_resistor,
    draw_terminal,
)
from workbook.texts import _

_MARGIN = 22
RELAY_HEIGHT = 196
_MODULE_RIGHT = 442
_LOGIC_LEFT, _LOGIC_RIGHT = 238, 432
_LOAD_HEIGHT = 80


def draw_supply(canvas: Canvas, labels: DiagramLabels) -> int:
    """Draw battery, what feeds the fuses, and the fuses."""
    canvas.text((_MARGIN, SUPPLY_Y - 24), labels.supply, bold=True)
    after = _MARGIN + int(text_width(labels.supply, bold=True)) + 10
    canvas.text((after, SUPPLY_Y - 24), _(labels.engine))
    draw_battery(canvas, (BATTERY_X, SUPPLY_Y))
    draw_ground_sign(canvas, (BATTERY_X, SUPPLY_Y + 88))
    canvas.line((BATTERY_X, SUPPLY_Y), (CONTROL_X, SUPPLY_Y))
    y = SUPPLY_Y
    if labels.has_switch_upstream:
        y = _draw_upstream(canvas, y, labels)
    if labels.is_fuse_shared:
        y = _draw_fuse(canvas, (CONTROL_X, y), labels.load_fuse)
        canvas.line((CONTROL_X, y), (CONTROL_X, y + 18))
        return _draw_rail(canvas, y + 18)
    if labels.is_smart:
        canvas.line((CONTROL_X, y), (LOAD_X, y))
        return _draw_fuse(canvas, (LOAD_X, y), labels.load_fuse)
    y = _draw_rail(canvas, y)
    _draw_fuse(canvas, (CONTROL_X, y), labels.control_fuse)
    return _draw_fuse(canvas, (LOAD_X, y), labels.load_fuse)


def _draw_rail(canvas: Canvas, y: int) -> int:
    """Draw where the two circuits part."""
    canvas.line((CONTROL_X, y), (LOAD_X, y))
    draw_joint(canvas, (CONTROL_X, y))
    return y


def _draw_fuse(canvas: Canvas, top: Point, fuse: FuseLabel) -> int:
    """Draw a fuse with a bit of its path above."""
    x, y = top
    canvas.line(top, (x, y + 24))
    draw_fuse(canvas, (x, y + 24))
    canvas.text((x + 22, y + 44), fuse.name, bold=True)
    canvas.text((x + 22, y + 44 + LINE_HEIGHT), fuse.rating)
    return y + 72


def _draw_upstream(canvas: Canvas, top: int, labels: DiagramLabels) -> int:
    """Draw the ignition switch, or the main relay with a dashed box around it."""
    x, upper, lower = CONTROL_X, top + 18, top + 98
    left, note = x + 54, _("closed with the ignition on")
    if labels.variant.upstream == "ignition switch":
        draw_handle(canvas, (x + 11, top + 54))
    else:
        right = left + int(text_width(note)) + 12
        canvas.box((x - 42, upper), (right, lower), dashed=True)
    canvas.line((x, top), (x, top + 27))
    draw_make_contact(canvas, (x, top + 27))
    canvas.line((x, top + 81), (x, lower + 18))
    for pin, y, down in zip(
        labels.upstream_pins, (upper, lower), (20, -8), strict=True
    ):
        draw_terminal(canvas, (x, y))
        canvas.text((x - 12, y + down), pin, anchor="end")
    canvas.text((left, top + 50), labels.upstream, bold=True)
    canvas.text((left, top + 50 + LINE_HEIGHT), note)
    return lower + 18


def draw_relay(canvas: Canvas, top: int, labels: DiagramLabels) -> None:
    """Draw coil, suppression, contacts and the dashed box around them.

    Drawn after the wires, whose ends the terminals hide.
    """
    bottom, coil_y = top + RELAY_HEIGHT, top + RELAY_HEIGHT // 2
    has_break_contact = labels.variant.terminals == 5
    # The pin of the break contact stands 60 beside the path, with its number beside
    # that.
    right = LOAD_X + (120 if has_break_contact else 80)
    canvas.box((_MARGIN, top), (right, bottom), dashed=True)
    canvas.text((_MARGIN + 12, top + 28), labels.relay, bold=True)
    canvas.text((_MARGIN + 12, top + 28 + LINE_HEIGHT), _("relay"))
    _draw_coil(canvas, top, labels.suppression)
    canvas.line((CONTROL_X + 30, coil_y), (LOAD_X + 10, coil_y), dashed=True)
    canvas.line((LOAD_X, top), (LOAD_X, coil_y - 27))
    draw_make_contact(canvas, (LOAD_X, coil_y - 27))
    canvas.line((LOAD_X, coil_y + 27), (LOAD_X, bottom))
    if has_break_contact:
        draw_break_contact(canvas, (LOAD_X, coil_y - 27))
        canvas.line((LOAD_X + 60, coil_y + 27), (LOAD_X + 60, bottom))
        _draw_pin(canvas, (LOAD_X + 60, bottom), "87a", -14)
    for x, pins in ((CONTROL_X, labels.coil_pins), (LOAD_X, ("30", "87"))):
        _draw_pin(canvas, (x, top), pins[0], 26)
        _draw_pin(canvas, (x, bottom), pins[1], -14)


def _draw_coil(canvas: Canvas, top: int, suppression: Suppression) -> None:
    """Draw the coil's path, and on its left what lies in parallel to the coil."""
    middle, side = top + RELAY_HEIGHT // 2, CONTROL_X - 62
    canvas.line((CONTROL_X, top), (CONTROL_X, middle - 15))
    draw_coil(canvas, (CONTROL_X, middle))
    canvas.line((CONTROL_X, middle + 15), (CONTROL_X, top + RELAY_HEIGHT))
    for end in (-1, 1):
        joint = (CONTROL_X, middle + 46 * end)
        canvas.line(joint, (side, joint[1]), (side, middle + 22 * end))
        draw_joint(canvas, joint)
    draw = draw_diode if suppression == "diode" else draw_resistor
    draw(canvas, (side, middle))
    canvas.text((side - 18, middle + 6), _(suppression), anchor="end")


def _draw_pin(canvas: Canvas, at: Point, number: str, down: int) -> None:
    """Draw a terminal on the relay's edge with its number inside."""
    draw_terminal(canvas, at)
    canvas.text((at[0] + 14, at[1] + down), number, bold=True)


def draw_module(canvas: Canvas, top: int, labels: DiagramLabels) -> int:
    """Draw the control module with its driver."""
    driver_y = top + 54
    canvas.line((CONTROL_X, top), (CONTROL_X, driver_y))
    bottom = _draw_command(canvas, top, labels.enable_inputs) + 14
    canvas.line((CONTROL_X + 26, driver_y + 30), (_LOGIC_LEFT, driver_y + 30))
    canvas.box((_MARGIN, top), (_MODULE_RIGHT, bottom))
    name = wrapped(labels.module, CONTROL_X - _MARGIN - 24, bold=True)
    canvas.text((_MARGIN + 12, top + 28), *name, bold=True)
    draw_driver(canvas, (CONTROL_X, driver_y))
    canvas.line((CONTROL_X, driver_y + 60), (CONTROL_X, bottom))
    side = _("high-side") if labels.is_high_side else _("low-side")
    canvas.text((CONTROL_X - 14, driver_y + 36), side, _("driver"), anchor="end")
    return bottom


def _draw_command(
    canvas: Canvas, module_top: int, enable_inputs: tuple[str, ...]
) -> int:
    """Draw the box that gives the command."""
    left, gate_y = _LOGIC_LEFT + 10, module_top + 84
    items = [wrapped(text, _LOGIC_RIGHT - left - 20) for text in enable_inputs]
    height = 20 + LINE_HEIGHT * (1 + sum(map(len, items)))
    # Beside the driver's gate, unless so many inputs would go past the module's top.
    top = max(module_top + 14, gate_y - height // 2)
    canvas.box((_LOGIC_LEFT, top), (_LOGIC_RIGHT, top + height))
    baseline = top + 24
    canvas.text((left, baseline), _("command on when:") if items else _("command on"))
    for lines in items:
        canvas.text((left, baseline + LINE_HEIGHT), "–")
        canvas.text((left + 14, baseline + LINE_HEIGHT), *lines)
        baseline += LINE_HEIGHT * len(lines)
    # The driver needs that much, however few the inputs.
    return max(top + height, module_top + 124)


def draw_smart_switch(canvas: Canvas, top: int, labels: DiagramLabels) -> int:
    """Draw the module that switches the load itself, and measures its current."""
    driver_y = top + 54
    bottom = _draw_command(canvas, top, labels.enable_inputs) + 14
    canvas.box((_MARGIN, top), (SHEET_WIDTH - 6, bottom))
    name = wrapped(labels.module, _LOGIC_LEFT - _MARGIN - 24, bold=True)
    canvas.text((_MARGIN + 12, top + 28), *name, bold=True)
    canvas.line((_LOGIC_RIGHT, driver_y + 30), (LOAD_X - 26, driver_y + 30))
    canvas.line((LOAD_X, top), (LOAD_X, driver_y))
    draw_driver(canvas, (LOAD_X, driver_y), -1)
    canvas.line((LOAD_X, driver_y + 60), (LOAD_X, bottom))
    told = wrapped(_("smart switch, measures its current"), 166)
    canvas.text((LOAD_X + 14, driver_y + 14), *told)
    for y, pin, down in zip((top, bottom), labels.load_pins, (26, -14), strict=True):
        _draw_pin(canvas, (LOAD_X, y), pin, down)
    return bottom


def draw_load(canvas: Canvas, top: int, labels: DiagramLabels) -> int:
    """Draw the load's symbol, its name on the right, and above it its connector."""
    draw_connector(canvas, (LOAD_X, top - 24))
    canvas.text((LOAD_X + 22, top - 14), labels.load_connector, bold=True)
    draw, reach = LOADS[labels.load_kind]
    draw(canvas, (LOAD_X, top))
    left = LOAD_X + reach + 12
    name = wrapped(labels.load, SHEET_WIDTH - left - 8, bold=True)
    first_line = top + 46 - LINE_HEIGHT * (len(name) - 1) // 2
    canvas.text((left, first_line), *name, bold=True)
    return top + _LOAD_HEIGHT


def draw_neighbour(canvas: Canvas, labels: DiagramLabels, at: Layout) -> None:
    """Draw what has its ground at the load's ground point, and its other way to ground.

    What hangs at its supply lead is in the box with it.
    """
    x, left, top, bottom = NEIGHBOUR_X, LOAD_X + 16, at.joint + 16, at.joint + 66
    canvas.line((LOAD_X, at.joint), (LOAD_X, at.ground))
    canvas.line((LOAD_X, at.joint), (x, at.joint), (x, top))
    draw_joint(canvas, (LOAD_X, at.joint))
    canvas.box((left, top), (SHEET_WIDTH - 6, bottom))
    canvas.text((left + 8, top + 20), labels.neighbour, bold=True)
    canvas.text((left + 8, top + 20 + LINE_HEIGHT), _("and the right ones"))
    canvas.line((x, bottom), (x, at.ground))
    draw_ground(canvas, (x, at.ground))


def draw_ground_sign(canvas: Canvas, top: Point) -> None:
    """Draw the ground sign and its name."""
    draw_ground(canvas, top)
    canvas.text((top[0] + 26, top[1] + TEXT_SIZE - 2), _("ground"))


def draw_wire(
    canvas: Canvas, start: Point, end_y: int, name: str, wire: WireLabel
) -> None:
    """Draw a wire downwards with name, colour and cross-section near its end."""
    x, _ = start
    canvas.line(start, (x, end_y))
    canvas.text((x + 14, end_y - 60), name, wire.text)
