"""The screen of a scope, drawn and in words, also behind a coil that is cut off.

One drawing style, black on white, with the grid of a scope's screen: it stays legible
in print and without colours.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from generator.drawing.turn_off import TurnOff
from generator.drawing.wording import short_text
from generator.model.measure import UNITS
from generator.model.trace import Trace
from generator.model.turn_off import turn_off_trace
from generator.pictures.scope_screen import Curve, ScopePicture, draw_screen
from workbook.texts import _, decimal, later

Floats = NDArray[np.float64]

TABLE_HEAD = (later("time"), later("reading"), later("note"))
"""Columns of the table of points."""

_LABELS = {
    "voltage": later("Voltage at {place}"),
    "current": later("Current of {place}"),
}
_NOTHING_FRAC = 1e-4
_SETTLED_FRAC = 0.02
_ROOM_FRAC = 1.4
_LEAD_FRAC = 0.1
_TABLE_STEPS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """How a trace is looked at.

    ``place`` completes "Voltage at" or "Current of", such as ``terminal 85``.
    ``window_s`` is the time shown after switching; left out, until all is settled.
    Where the height ``is_asked``, no number is at the peak; words count divisions.
    """

    title: str
    quantity: Literal["voltage", "current"]
    place: str
    window_s: float | None = None
    is_asked: bool = False

    @property
    def unit(self) -> str:
        """Unit of the quantity."""
        return UNITS[self.quantity]

    @property
    def label(self) -> str:
        """The quantity and where it is taken."""
        return _(_LABELS[self.quantity]).format(place=self.place)


def scope_picture(trace: Trace, view: View) -> ScopePicture:
    """Draw and tell one quantity of a trace.

    Returns
    -------
    ScopePicture
        The same bytes for the same trace and view.
    """
    curve = _curve(trace, view)
    alt = decimal(_alt(curve, view))
    svg = draw_screen(curve, view.title, alt, "" if view.is_asked else _peak(curve))
    return ScopePicture(svg=svg, alt=alt, rows=_rows(curve))


def _curve(trace: Trace, view: View) -> Curve:
    values = trace.voltage_v if view.quantity == "voltage" else trace.current_a
    # What is left of a decay after many time constants reads as nothing.
    values = np.where(np.abs(values) < _NOTHING_FRAC * np.ptp(values), 0.0, values)
    window = view.window_s or _settled_s(trace.time_s, values)
    inside = trace.time_s < window
    end = np.interp(window, trace.time_s, values)
    return Curve(
        time_s=np.array([-_LEAD_FRAC * window, *trace.time_s[inside], window]),
        values=np.array([values[0], *values[inside], end]),
        label=view.label,
        unit=view.unit,
    )


def _settled_s(time_s: Floats, values: Floats) -> float:
    """Time shown where none is asked for: settled, and some room behind it [s]."""
    away = np.abs(values - values[-1])
    moving = np.flatnonzero(away > _SETTLED_FRAC * np.ptp(values))
    settled = float(time_s[moving[-1]]) if moving.size else 0.0
    end = float(time_s[-1])
    # A flat line never moves: then all of it is shown.
    return min(_ROOM_FRAC * settled, end) or end


def _peak(curve: Curve) -> str:
    name = _("peak") if curve.has_peak else _("highest")
    amount = short_text(float(curve.values[curve.peak]), curve.unit)
    return decimal(f"{name} {amount}")


def _alt(curve: Curve, view: View) -> str:
    first, peak, last = (curve.values[place] for place in (0, curve.peak, -1))
    before, end = (short_text(float(v), curve.unit) for v in (first, last))
    in_numbers = short_text(float(peak), curve.unit)
    highest = _in_divisions(float(peak), curve) if view.is_asked else in_numbers
    peak_s, window = float(curve.time_s[curve.peak]), float(curve.time_s[-1])
    told = _("before switching {before}, at the end of {window} {end}")
    if curve.has_peak and peak_s > 0:
        told = _(
            "before switching {before}, peak {highest} after {time}, at the end of "
            "{window} {end}"
        )
    elif curve.has_peak:
        told = _(
            "before switching {before}, peak {highest} at once, at the end of {window} "
            "{end}"
        )
    words = told.format(
        before=before,
        highest=highest,
        time=short_text(peak_s, "s"),
        window=short_text(window, "s"),
        end=end,
    )
    return f"{view.title}. {view.label}: {words}."


def _in_divisions(value: float, curve: Curve) -> str:
    text = (
        _("{count} divisions of {size} above zero")
        if value > 0
        else _("{count} divisions of {size} below zero")
    )
    size = short_text(curve.division, curve.unit)
    return text.format(count=f"{abs(value) / curve.division:.1f}", size=size)


def _rows(curve: Curve) -> tuple[tuple[str, str, str], ...]:
    """Points at even steps, with the start, the peak and the way back from it."""
    steps = np.linspace(0.0, curve.time_s[-1], _TABLE_STEPS + 1)[1:]
    values = np.interp(steps, curve.time_s, curve.values)
    even = [(t, v, "") for t, v in zip(steps.tolist(), values.tolist(), strict=True)]
    return tuple(
        (short_text(time, "s"), short_text(value, curve.unit), note)
        for time, value, note in sorted([*_marks(curve), *even], key=lambda p: p[0])
    )


def _marks(curve: Curve) -> list[tuple[float, float, str]]:
    """Points that mean something: time, value, note."""
    first, peak, last = (float(curve.values[p]) for p in (0, curve.peak, -1))
    marks = [(0.0, first, _("before switching"))]
    if not curve.has_peak:
        return marks
    marks.append((float(curve.time_s[curve.peak]), peak, _("peak")))
    # By how far it still is from where it ends: a peak may lie below that.
    away = np.abs(curve.values[curve.peak :] - last)
    back = curve.peak + int((away <= abs(peak - last) / 2).argmax())
    half = (peak + last) / 2
    return [*marks, (float(curve.time_s[back]), half, _("halfway back from the peak"))]


# What moves less than this is a flat line on any scope, and what is smaller none.
_STILL_V, _DIGITS = 0.1, 2


def turn_off_picture(shown: TurnOff) -> ScopePicture:
    """Draw the terminal on the driver's side of the coil, in the language spoken."""
    names, is_high_side = shown.names, shown.circuit.is_high_side
    trace = turn_off_trace(shown.circuit, "86" if is_high_side else "85")
    terminal = names.coil_supply if is_high_side else names.coil_return
    before_v, height_v = trace.voltage_v[0], float(np.ptp(trace.voltage_v))
    # The error of the scope is in the trace itself: a ruler on the screen and the
    # number under it say the same.
    error_frac = shown.shown_v / height_v if height_v > _STILL_V else 1.0
    voltage_v = before_v + (trace.voltage_v - before_v) * error_frac
    view = View(
        title=_("Relay {relay} is switched off").format(relay=names.relay),
        quantity="voltage",
        place=_("terminal {pin}").format(pin=terminal),
        is_asked=shown.is_asked,
    )
    return scope_picture(replace(trace, voltage_v=voltage_v.round(_DIGITS)), view)
