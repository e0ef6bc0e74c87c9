"""A current over time as clamp and scope, or a logging meter, show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from generator.drawing.wording import short_text
from generator.model.trace import Trace
from generator.pictures.scope_screen import Curve, ScopePicture, draw_screen
from workbook.texts import _, decimal

# What a scope's converter tells apart.
_STEPS = 1000
_BEFORE_FRAC = 0.1


def clamped(trace: Trace, scale_v_per_a: float, place: str) -> Curve:
    """A current as a scope shows it behind a clamp, with a stretch before it begins."""
    lead_s = _BEFORE_FRAC * float(trace.time_s[-1])
    label = _("Clamp {place}, {scale} mV/A")
    return Curve(
        time_s=np.concatenate([[-lead_s, 0.0], trace.time_s]),
        values=np.concatenate([[0.0, 0.0], trace.current_a]) * scale_v_per_a,
        label=label.format(place=place, scale=f"{scale_v_per_a * 1000:g}"),
        unit="V",
    )


def recording_picture(
    curve: Curve, title: str, at: Sequence[float], note: str = ""
) -> ScopePicture:
    """Draw a curve and tell it by some of its points.

    Parameters
    ----------
    at : sequence of float
        Times of the points that are told in words: what a reader of the picture can
        take from it, and no more.
    note : str
        What is told besides.
    """
    # A flat line has no span, and a size all the same.
    step = float(np.ptp(curve.values) or np.abs(curve.values).max() or 1.0) / _STEPS
    # A display in steps, and equal bytes wherever sums round otherwise in their last
    # bits.
    shown = replace(curve, values=np.rint(curve.values / step) * step)
    rows = tuple(_row(shown, time) for time in at)
    points = "; ".join(
        _("at {time} {reading}").format(time=time, reading=reading)
        for time, reading, _note in rows
    )
    told = f"{curve.label}: {points}." if points else f"{curve.label}."
    alt = decimal(" ".join(filter(None, (f"{title}. {told}", note))))
    return ScopePicture(svg=draw_screen(shown, title, alt), alt=alt, rows=rows)


def _row(curve: Curve, time: float) -> tuple[str, str, str]:
    value = float(np.interp(time, curve.time_s, curve.values))
    return short_text(time, curve.time_unit), short_text(value, curve.unit), ""
