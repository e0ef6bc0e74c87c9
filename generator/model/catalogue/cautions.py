"""What a test can hurt, and how it is done without: cautions that several tests share.

What one kind of test alone is warned of stands with it.
"""

from __future__ import annotations

LEAD = (
    "Use a fused lead only, with a fuse no larger than that of the circuit. Fit it "
    "with the load off: if the load runs without demand, pull its relay first, and put "
    "it back for the reading."
)
LEAD_AT_SWITCH = (
    "Use a fused lead only, with a fuse no larger than that of the circuit. Fit it "
    "with the load off: if the load runs without demand, unplug {module} first, and "
    "plug it in for the reading."
)
MOVES = (
    "The load can start without warning: fit probes and leads while it is off, then "
    "keep hands, sleeves and tools clear."
)
OVERRIDES = (
    "Output test and jumper override the enable inputs ({enable}): what these guard "
    "against can happen."
)
# What a family must be secured with; nothing for most of them.
SECURE = "{secure}"
DRIVEN_LOAD = (OVERRIDES, SECURE, MOVES)
BRIDGE = "Bridge only 30 and 87, with a fused jumper; never bridge the load itself."
BRIDGE_AT_SWITCH = (
    "Bridge only {pin_in} and {pin_out} in the plug of {module}, with a fused jumper; "
    "never bridge the load itself."
)
BACK = (
    "A switch that has shut off can come back with the next command: hands clear, also "
    "where the {load} seems dead."
)
SPIKE = "A coil that is switched off can give a spike of hundreds of volts."
HAND = (
    "Engine stopped, key out and secured against starting, load fuse out: nothing may "
    "start under your hands. Wait until everything has run down. What runs on with its "
    "fuse out has another feed: hands off until it is unplugged."
)
BURNS = "A bad joint can burn fingers."
