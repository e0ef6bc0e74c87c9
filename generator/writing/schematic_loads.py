"""Drawing symbols of the loads, each 80 high, current flowing downwards.

References
----------
IEC 60617, Graphical symbols for diagrams: heating element, lamp, motor, operating
device, clutch; ISO 1219-1 for pump and valve. Redrawn from common practice, not traced.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.writing.schematic_symbols import draw_joint

if TYPE_CHECKING:
    from collections.abc import Callable

    from generator.model.parts import LoadKind
    from generator.writing.schematic_canvas import Canvas, Point


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
