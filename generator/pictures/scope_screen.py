"""The screen of an oscilloscope as SVG: grid, axes with units, one curve, its peak.

Drawn on the sheet of the wiring diagrams in whole numbers, so that equal traces give
equal bytes wherever they are drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from generator.pictures.canvas import SHEET_WIDTH, Canvas, Point, text_width
from workbook.texts import _, decimal, later

Floats = NDArray[np.float64]

_LEFT, _RIGHT, _TOP, _BOTTOM = 78, SHEET_WIDTH - 24, 44, 344
_HEIGHT = 412
_PREFIXES = ((1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"))
_INTERVALS = 7
_ROOM_ABOVE_FRAC = 0.16
_ROOM_BELOW_FRAC = 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """What a screen shows.

    Parameters
    ----------
    time_s, values : array, shape (n_points,)
        From before switching to the end of the window, in ``time_unit``; values in
        ``unit``.
    label : str
        The quantity and where it is taken.
    unit : str
        ``V`` or ``A``.
    time_label : str
        What the time is counted from, its unit in braces.
    is_zoomed : bool
        Whether the screen begins at the lowest value, and not at nothing.
    """

    time_s: Floats
    values: Floats
    label: str
    unit: str
    time_label: str = later("Time after switching ({unit})")
    time_unit: str = "s"
    is_zoomed: bool = False

    @property
    def peak(self) -> int:
        """Place, from switching on, of what lies farthest beyond start and end."""
        ends = self.values[[0, -1]]
        over, under = self.values - ends.max(), ends.min() - self.values
        beyond = over if over.max() >= under.max() else under
        # Never before switching: what lies there belongs to no turn-off.
        return int(np.where(self.time_s < 0, -np.inf, beyond).argmax())

    @property
    def has_peak(self) -> bool:
        """Whether anything lies beyond both where it began and where it ends."""
        first, last = float(self.values[0]), float(self.values[-1])
        # A millionth of room: last bits of a sum are no peak.
        value, room = float(self.values[self.peak]), 1e-6 * max(abs(first), abs(last))
        return not min(first, last) - room <= value <= max(first, last) + room

    @property
    def division(self) -> float:
        """What lies between two lines of the grid, upwards, in ``unit``."""
        _, up = _axes(self)
        return up.step


@dataclass(frozen=True, slots=True, kw_only=True)
class ScopePicture:
    """A trace to be seen or read.

    Parameters
    ----------
    svg : str
        The picture, with its title and description inside.
    alt : str
        What the picture shows, in two or three sentences.
    rows : tuple of tuple of str
        Points of the trace: time, reading and a note.
    """

    svg: str
    alt: str
    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class _Axis:
    """From numbers to places on the sheet, and the numbers that are written."""

    low: float
    high: float
    first: int
    last: int
    unit: str

    def place(self, values: Floats) -> NDArray[np.int64]:
        """Places on the sheet, whole numbers."""
        share = (values - self.low) / (self.high - self.low)
        return np.rint(self.first + share * (self.last - self.first)).astype(np.int64)

    @property
    def prefix(self) -> tuple[float, str]:
        """Power of ten and letter that make the numbers short."""
        size = max(abs(self.low), abs(self.high))
        return next((p for p in _PREFIXES if size >= p[0]), _PREFIXES[-1])

    @property
    def step(self) -> float:
        """From one round number that is written to the next."""
        return _round_step((self.high - self.low) / _INTERVALS)

    def ticks(self) -> list[tuple[int, str]]:
        """Place and text of round numbers along the axis."""
        step = self.step
        numbers = range(math.ceil(self.low / step), math.floor(self.high / step) + 1)
        values = np.array([n * step for n in numbers])
        # Six digits drop the last bits that a multiple of 0.1 has.
        texts = [decimal(f"{n * step / self.prefix[0]:.6g}") for n in numbers]
        return list(zip(self.place(values).tolist(), texts, strict=True))

    def unit_text(self) -> str:
        """Unit with its prefix."""
        return f"{self.prefix[1]}{self.unit}"


def _round_step(least: float) -> float:
    """The smallest of 1, 2, 5, 10 … that is not below a number.

    >>> [_round_step(x) for x in (0.7, 12.0, 31.0)]
    [1.0, 20.0, 50.0]
    """
    decade = 10.0 ** math.floor(math.log10(least))
    return next(f * decade for f in (1.0, 2.0, 5.0, 10.0) if f * decade >= least)


def draw_screen(curve: Curve, title: str, description: str, peak: str = "") -> str:
    """Draw a curve as SVG text, in black and grey on white.

    What is said of the ``peak`` stands beside it.

    Examples
    --------
    >>> time, values = np.array([-1.0, 0.0, 9.0]), np.array([0.0, 0.0, 12.0])
    >>> step = Curve(time_s=time, values=values, label="Voltage", unit="V")
    >>> "Time after switching (s)" in draw_screen(step, "", "")
    True
    """
    canvas = Canvas()
    across, up = _axes(curve)
    _draw_grid(canvas, across, up)
    _write_numbers(canvas, across, up)
    canvas.text((_LEFT - 62, 26), f"{curve.label} ({up.unit_text()})")
    below = _(curve.time_label).format(unit=across.unit_text())
    canvas.text(((_LEFT + _RIGHT) // 2, 400), below, anchor="middle")
    canvas.line(*_points(curve, across, up))
    if peak:
        _mark_peak(canvas, curve, (across, up), peak)
    return canvas.svg(_HEIGHT, title, description)


def _axes(curve: Curve) -> tuple[_Axis, _Axis]:
    low, high = float(curve.values.min()), float(curve.values.max())
    if not curve.is_zoomed:
        # From nothing upwards, so that heights can be compared.
        low = min(0.0, low)
    # A current that never flows still needs a scale.
    span = (high - low) or 1.0
    start, end = float(curve.time_s[0]), float(curve.time_s[-1])
    bottom, top = low - _ROOM_BELOW_FRAC * span, low + (1 + _ROOM_ABOVE_FRAC) * span
    across = _Axis(start, end, _LEFT, _RIGHT, curve.time_unit)
    return across, _Axis(bottom, top, _BOTTOM, _TOP, curve.unit)


def _draw_grid(canvas: Canvas, across: _Axis, up: _Axis) -> None:
    lines = [f"M{x} {_TOP} V{_BOTTOM}" for x, _ in across.ticks()]
    lines += [f"M{_LEFT} {y} H{_RIGHT}" for y, _ in up.ticks()]
    grid = f'<path d="{" ".join(lines)}" stroke="#a8a8a8" stroke-width="1"/>'
    canvas.shapes.append(grid)
    # A screen that begins above nothing has no line for it.
    if up.low <= 0:
        zero = int(up.place(np.zeros(1))[0])
        canvas.shapes.append(f'<path d="M{_LEFT} {zero} H{_RIGHT}" stroke-width="1"/>')
    canvas.box((_LEFT, _TOP), (_RIGHT, _BOTTOM))


def _write_numbers(canvas: Canvas, across: _Axis, up: _Axis) -> None:
    for x, text in across.ticks():
        canvas.text((x, _BOTTOM + 24), text, anchor="middle")
    for y, text in up.ticks():
        canvas.text((_LEFT - 10, y + 6), text, anchor="end")


def _points(curve: Curve, across: _Axis, up: _Axis) -> list[Point]:
    """The curve on the sheet: of each column first, lowest, highest and last point."""
    columns, rows = across.place(curve.time_s), up.place(curve.values)
    # A column of the sheet may hold hundreds of points: these four draw the same.
    starts = np.flatnonzero(np.diff(columns, prepend=-1))
    points: list[Point] = []
    for stretch in np.split(np.arange(len(columns)), starts[1:]):
        ys = rows[stretch]
        kept = sorted({0, int(ys.argmin()), int(ys.argmax()), len(ys) - 1})
        column = int(columns[stretch[0]])
        # A point that comes twice would hide a corner.
        heights = [int(ys[place]) for place in kept]
        points += [(column, y) for y, _same in groupby(heights)]
    # What lies within a level stretch changes no pixel, and would only make the file
    # longer.
    turns = [
        b
        for a, b, c in zip(points, points[1:], points[2:], strict=False)
        if b != a and not (a[1] == b[1] == c[1])
    ]
    return [points[0], *turns, points[-1]]


def _mark_peak(
    canvas: Canvas, curve: Curve, axes: tuple[_Axis, _Axis], words: str
) -> None:
    """Put a dot on the peak and words beside it, where there is room."""
    across, up = axes
    at = slice(curve.peak, curve.peak + 1)
    x, y = int(across.place(curve.time_s[at])[0]), int(up.place(curve.values[at])[0])
    width = round(text_width(words, bold=True))
    left = x + 12 if x + 12 + width < _RIGHT else x - 12 - width
    canvas.shapes.append(
        f'<rect x="{left - 3}" y="{y - 28}" width="{width + 6}" height="22" '
        'fill="white" stroke="none"/>'
    )
    canvas.circle((x, y), 5, fill="black")
    canvas.text((left, y - 11), words, bold=True)
