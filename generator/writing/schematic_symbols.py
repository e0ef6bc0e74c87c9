"""Drawing symbols of a vehicle's wiring diagram, current flowing downwards.

Every symbol takes the canvas and the point at which its path enters or, where the
docstring says so, its centre. Shapes follow the common symbols for diagrams.

References
----------
IEC 60617, Graphical symbols for diagrams: fuse, resistor, operating device (coil),
make and break contact, diode, field-effect transistor. Redrawn from common practice,
not traced.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from generator.writing.schematic_canvas import Canvas, Point


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


def draw_driver(canvas: Canvas, top: Point) -> None:
    """Draw a field-effect transistor, 60 high, its gate 26 to the right at 30."""
    x, y = top
    canvas.line(top, (x, y + 8), (x + 18, y + 8))
    canvas.line((x + 18, y), (x + 18, y + 60))
    canvas.line((x + 18, y + 52), (x, y + 52), (x, y + 60))
    canvas.solid((x + 1, y + 52), (x + 11, y + 47), (x + 11, y + 57))
    canvas.line((x + 26, y + 6), (x + 26, y + 54))
