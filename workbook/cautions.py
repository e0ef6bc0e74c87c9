"""The cautions that every workbook, report and handout carries."""

from __future__ import annotations

CAUTIONS = (
    "Before hands go near a load, a belt or a fan: engine stopped, key out, secured "
    "against starting, load fuse out. Wait until everything has run down.",
    "Output tests and jumpers override interlocks. Secure boom, rope, tiller, cab and "
    "whatever else can move or fall, keep everybody out of its reach, and never go "
    "under what oil alone holds up.",
    "Use fused jumpers and fused leads only, with a fuse never larger than that of the "
    "circuit. Never bridge a load, nor a relay that frees a brake, a winch, a boom or "
    "a raised cab.",
    "Draw no fuse and no plug under load, and unplug a control module only with the "
    "ignition off and the module asleep.",
    "Fit a relay of the specified part only: its suppression keeps turn-off spikes of "
    "hundreds of volts away from the control module.",
    "Fans and belts can start without warning, and heaters and coils get hot: keep "
    "hands, sleeves and leads clear.",
    "Rings, watches and chains come off before you work on a battery: what joins its "
    "plus to the body glows at once. Minus comes off first and goes on last.",
    "No flame and no sparks near fuel vapour or a charging battery.",
    "Keep out of airbag and other restraint circuits, and out of high-voltage systems.",
    "The vehicle maker's service information, local rules and licensed practice come "
    "first. These exercises are invented and replace none of them.",
)
