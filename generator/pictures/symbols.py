"""Drawing symbols of parts and loads, current flowing downwards.

Every symbol takes the canvas and the point at which its path enters or, where the
docstring says so, its centre. Loads are each 80 high.

References
----------
IEC 60617, Graphical symbols for diagrams: fuse, resistor, operating device (coil),
make and break contact, diode, field-effect transistor, heating element, lamp, motor,
clutch; ISO 1219-1 for pump and valve. Redrawn from common practice, not traced.
"""

from __future__ import annotations

from collections.abc import Callable

from generator.model.variant import LoadKind
from generator.pictures.canvas import Canvas, Point


def draw_battery(canvas: Canvas, top: Point) -> None:
    """Draw two cells, positive at the top, 88 high."""
    x, y = top
    canvas.line(top, (x, y + 26))
    for plate in (26, 42):
        canvas.line((x - 18, y + plate), (x + 18, y + plate))
        canvas.line((x - 9, y + plate + 8), (x + 9, y + plate + 8))
    canvas.line((x, y + 34), (x, y + 42))
    canvas.line((x, y + 50), (x, y + 88))
    canvas.text((x + 10, y + 20), "+")


def draw_ground(canvas: Canvas, top: Point) -> None:
    """Draw the ground sign, three bars that shorten downwards, 14 high."""
    x, y = top
    for row, half in enumerate((18, 12, 6)):
        canvas.line((x - half, y + 7 * row), (x + half, y + 7 * row))


def draw_fuse(canvas: Canvas, top: Point) -> None:
    """Draw a fuse, a box with the path straight through, 48 high."""
    x, y = top
    canvas.box((x - 10, y), (x + 10, y + 48))
    canvas.line(top, (x, y + 48))


def draw_terminal(canvas: Canvas, centre: Point) -> None:
    """Draw a terminal as a small open circle around its centre."""
    canvas.circle(centre, 5)


def draw_joint(canvas: Canvas, centre: Point) -> None:
    """Draw a joint of wires as a dot around its centre."""
    canvas.circle(centre, 4, fill="black")


def draw_connector(canvas: Canvas, top: Point) -> None:
    """Draw a pin in the cup of its socket, 16 high."""
    x, y = top
    canvas.line((x - 10, y), (x - 10, y + 6), (x, y + 12), (x + 10, y + 6), (x + 10, y))
    canvas.line((x, y), (x, y + 16))


def draw_coil(canvas: Canvas, centre: Point) -> None:
    """Draw a relay coil, a box across the path, 30 high, around its centre."""
    x, y = centre
    canvas.box((x - 30, y - 15), (x + 30, y + 15))


def draw_resistor(canvas: Canvas, centre: Point) -> None:
    """Draw a resistor, a box along the path, 44 high, around its centre."""
    x, y = centre
    canvas.box((x - 9, y - 22), (x + 9, y + 22))


def draw_diode(canvas: Canvas, centre: Point) -> None:
    """Draw a diode with its cathode upwards, 24 high, around its centre."""
    x, y = centre
    canvas.line((x, y - 22), (x, y + 22))
    canvas.solid((x - 13, y + 12), (x + 13, y + 12), (x, y - 12))
    canvas.line((x - 13, y - 12), (x + 13, y - 12))


def draw_make_contact(canvas: Canvas, top: Point) -> None:
    """Draw a contact open at rest, 54 high; its blade hangs out to the right."""
    x, y = top
    canvas.line(top, (x + 20, y + 50))


def draw_break_contact(canvas: Canvas, top: Point) -> None:
    """Draw what the blade of a make contact rests on, and its path down at 60."""
    x, y = top
    canvas.line((x + 18, y + 46), (x + 60, y + 46), (x + 60, y + 54))


def draw_handle(canvas: Canvas, blade: Point) -> None:
    """Draw how a hand moves a contact's blade, 26 to the right."""
    x, y = blade
    canvas.line(blade, (x + 26, y), dashed=True)
    canvas.line((x + 26, y - 9), (x + 26, y + 9))


def draw_driver(canvas: Canvas, top: Point, side: int = 1) -> None:
    """Draw a field-effect transistor, 60 high, its gate 26 to one side at 30.

    A ``side`` of 1 is to the right, one of -1 to the left.
    """
    (x, y), away = top, 18 * side
    canvas.line(top, (x, y + 8), (x + away, y + 8))
    canvas.line((x + away, y), (x + away, y + 60))
    canvas.line((x + away, y + 52), (x, y + 52), (x, y + 60))
    canvas.solid((x + side, y + 52), (x + 11 * side, y + 47), (x + 11 * side, y + 57))
    canvas.line((x + 26 * side, y + 6), (x + 26 * side, y + 54))


def _draw_heater(canvas: Canvas, top: Point) -> None:
    """Draw a heating element, a box with bars across the path, 80 high."""
    x, y = top
    canvas.box((x - 14, y), (x + 14, y + 80))
    for bar in (20, 40, 60):
        canvas.line((x - 14, y + bar), (x + 14, y + bar))


def _draw_fan_motor(canvas: Canvas, top: Point) -> None:
    """Draw a motor with a fan on its shaft, 80 high, 57 to the right."""
    _draw_motor(canvas, top, 50)
    x, axis = top[0], top[1] + 40
    for side in (-1, 1):
        canvas.solid(
            (x + 50, axis),
            (x + 43, axis + 12 * side),
            (x + 46, axis + 28 * side),
            (x + 54, axis + 28 * side),
            (x + 57, axis + 12 * side),
        )


def _draw_solenoid_valve(canvas: Canvas, top: Point) -> None:
    """Draw a solenoid that moves a valve, 80 high, 56 to the right."""
    _draw_winding(canvas, top, 44)
    x, axis = top[0], top[1] + 40
    canvas.line(
        (x + 32, axis - 22),
        (x + 56, axis - 22),
        (x + 32, axis + 22),
        (x + 56, axis + 22),
        (x + 32, axis - 22),
    )


def _draw_pulsed_heater(canvas: Canvas, top: Point) -> None:
    """Draw a heating element behind a box that switches it fast."""
    x, y = top
    canvas.box((x - 24, y), (x + 24, y + 32))
    wave = [(-16, 22), (-8, 22), (-8, 10), (0, 10), (0, 22), (8, 22), (8, 10), (16, 10)]
    canvas.line(*((x + right, y + down) for right, down in wave))
    canvas.box((x - 14, y + 32), (x + 14, y + 80))
    for bar in (44, 56, 68):
        canvas.line((x - 14, y + bar), (x + 14, y + bar))


def _draw_lamp_bank(canvas: Canvas, top: Point) -> None:
    """Draw two lamps in parallel, 58 to the right."""
    x, y = top
    canvas.line(top, (x, y + 80))
    canvas.line((x, y + 12), (x + 42, y + 12), (x + 42, y + 68), (x, y + 68))
    draw_joint(canvas, (x, y + 12))
    draw_joint(canvas, (x, y + 68))
    for centre in (x, x + 42):
        canvas.circle((centre, y + 40), 16)
        for side in (-11, 11):
            canvas.line((centre - side, y + 29), (centre + side, y + 51))


def _draw_pump_motor(canvas: Canvas, top: Point) -> None:
    """Draw a motor that drives a pump, 62 to the right."""
    _draw_motor(canvas, top, 32)
    x, axis = top[0] + 47, top[1] + 40
    canvas.circle((x, axis), 15)
    canvas.solid((x, axis - 15), (x - 10, axis), (x + 10, axis))


def _draw_magnetic_clutch(canvas: Canvas, top: Point) -> None:
    """Draw a winding that moves the two discs of a clutch, 60 to the right."""
    _draw_winding(canvas, top, 34)
    x, axis = top[0], top[1] + 40
    for disc in (x + 34, x + 46):
        ends = (disc, axis - 18), (disc + 5, axis - 18)
        canvas.solid(*ends, (disc + 5, axis + 18), (disc, axis + 18))
    canvas.line((x + 51, axis), (x + 60, axis))


def _draw_motor(canvas: Canvas, top: Point, shaft: int) -> None:
    """Draw a motor, its shaft ending so far to the right of the path."""
    x, y = top
    canvas.line(top, (x, y + 80))
    canvas.line((x + 28, y + 40), (x + shaft, y + 40))
    canvas.circle((x, y + 40), 28)
    canvas.text((x, y + 46), "M", anchor="middle", bold=True)


def _draw_winding(canvas: Canvas, top: Point, link: int) -> None:
    """Draw a winding that moves something, its link ending so far to the right."""
    x, y = top
    canvas.line(top, (x, y + 22))
    canvas.line((x, y + 58), (x, y + 80))
    canvas.box((x - 24, y + 22), (x + 24, y + 58))
    canvas.line((x + 24, y + 40), (x + link, y + 40), dashed=True)


LOADS: dict[LoadKind, tuple[Callable[[Canvas, Point], None], int]] = {
    "heater": (_draw_heater, 14),
    "pulsed heater": (_draw_pulsed_heater, 24),
    "lamp bank": (_draw_lamp_bank, 58),
    "fan motor": (_draw_fan_motor, 57),
    "pump motor": (_draw_pump_motor, 62),
    "solenoid valve": (_draw_solenoid_valve, 56),
    "magnetic clutch": (_draw_magnetic_clutch, 60),
}
"""Each load's symbol, and how far it reaches to the right of the path."""
