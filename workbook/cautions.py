"""The cautions that every workbook, report and handout carries."""

from __future__ import annotations

CAUTIONS = (
    "Use fused jumpers and fused leads only, with a fuse never larger than that of the "
    "circuit. Never bridge a load.",
    "Fit a relay of the specified part only: its suppression keeps turn-off spikes of "
    "hundreds of volts away from the control module.",
    "Fans and belts can start without warning, and heaters and coils get hot: keep "
    "hands, sleeves and leads clear.",
    "No flame and no sparks near fuel vapour or a charging battery.",
    "Keep out of airbag and other restraint circuits, and out of high-voltage systems.",
    "The vehicle maker's service information, local rules and licensed practice come "
    "first. These exercises are invented and replace none of them.",
)
