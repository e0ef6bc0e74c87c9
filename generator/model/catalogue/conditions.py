"""What must be true before a test is done."""

from __future__ import annotations

ZEROED = "The clamp is zeroed on its scale and closed around one wire only."
COMMANDED = "The output test runs."
IDLE = "There is no demand for the {load}."
STILL = (
    f"{IDLE} If it runs all the same, its relay is out first: a fuse drawn under load "
    "arcs."
)
STILL_AT_SWITCH = (
    f"{IDLE} If it runs all the same, {{module}} is unplugged first: a fuse drawn "
    "under load arcs."
)
PLUGGED = "Relay and plugs are in their places."
PLUGGED_AT_SWITCH = "All plugs are in their places."
RELAY_OUT = "The relay is out before the jumper goes in."
