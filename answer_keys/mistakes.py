"""Which misconception a test done in a wrong state shows."""

from __future__ import annotations

from types import MappingProxyType

MISTAKES = MappingProxyType(
    {
        "control_current_from_case": "clamp_not_zeroed",
        "control_current_1_mv": "scale_too_coarse",
        "load_current_from_case": "clamp_not_zeroed",
        "load_current_held_against": "jaw_not_closed",
        "load_current_at_plug": "both_wires_in_jaw",
        "drop_30_87_off": "drop_while_off",
        "drop_87_load_off": "drop_while_off",
        "drop_load_ground_off": "drop_while_off",
        "coil_resistance_in_socket": "ohmmeter_on_live_part",
        "load_resistance_plugged_in": "ohmmeter_on_live_part",
    }
)
"""The misconception that each test done in a wrong state shows."""
