"""The screen of a scope behind the coil while the driver of one circuit opens."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from generator.model.turn_off_trace import turn_off_trace
from generator.writing.scope import ScopePicture, View, scope_picture
from workbook.texts import _

if TYPE_CHECKING:
    from generator.writing.turn_off import TurnOff

__all__ = ["turn_off_picture"]

# What moves less than this is a flat line on any scope, and what is smaller none.
_STILL_V, _DIGITS = 0.1, 2


def turn_off_picture(shown: TurnOff) -> ScopePicture:
    """Draw the terminal on the driver's side of the coil, in the language spoken."""
    names, is_high_side = shown.names, shown.circuit.is_high_side
    trace = turn_off_trace(shown.circuit, "86" if is_high_side else "85")
    terminal = names.coil_supply if is_high_side else names.coil_return
    before_v, height_v = trace.voltage_v[0], float(np.ptp(trace.voltage_v))
    error_frac = shown.shown_v / height_v if height_v > _STILL_V else 1.0
    voltage_v = before_v + (trace.voltage_v - before_v) * error_frac
    view = View(
        title=_("Relay {relay} is switched off").format(relay=names.relay),
        quantity="voltage",
        place=_("terminal {pin}").format(pin=terminal),
        is_asked=shown.is_asked,
    )
    return scope_picture(replace(trace, voltage_v=voltage_v.round(_DIGITS)), view)
