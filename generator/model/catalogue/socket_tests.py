"""Tests at the terminals of the relay's empty socket, by themselves or under a lamp."""

from __future__ import annotations

from functools import partial
from operator import attrgetter

from generator.model.catalogue.cautions import DRIVEN_LOAD, MOVES
from generator.model.catalogue.conditions import COMMANDED
from generator.model.measure import DiagnosticTest, Measure, Setup

_FREE = "The ignition is on, and the relay is out of its socket."
_TERMINALS = (
    "Touch terminals of the socket from the side or with a matching blade: a thick "
    "probe spreads them."
)


_at_socket = partial(
    DiagnosticTest,
    minutes=3,
    sorting="feed voltage",
    applies=attrgetter("has_relay"),
)

SOCKET_TESTS = (
    _at_socket(
        id="socket_30",
        title="Voltage at terminal 30 of the empty socket, meter alone",
        how="The relay is out; meter on volts: plus on terminal 30 of its socket, "
        "minus on the battery.",
        before=_FREE,
        minutes=2,
        needs=("relay",),
        measure=Measure(kind="voltage", target="socket 30"),
        setup=Setup(command="off", relay_out=True, probe="socket 30"),
        hazards=(_TERMINALS,),
    ),
    _at_socket(
        id="socket_30_lamp",
        title="Voltage at terminal 30 of the empty socket, under a lamp of 10 W",
        how="The relay is out. A test lamp of 10 W joins terminal 30 of its socket to "
        "the battery's minus. Meter on volts across it.",
        before=_FREE,
        needs=("relay",),
        measure=Measure(kind="voltage", target="socket 30"),
        setup=Setup(command="off", relay_out=True, lamp="lamp_30", probe="socket 30"),
        hazards=(_TERMINALS,),
    ),
    _at_socket(
        id="socket_86_lamp",
        title="Voltage at terminal {coil_supply} of the empty socket, under a lamp of "
        "5 W",
        how="The relay is out, and the scan tool drives the output. A test lamp of 5 W "
        "joins terminal {coil_supply} of its socket to the battery's minus. Meter on "
        "volts across it.",
        before=f"{COMMANDED} {_FREE}",
        needs=("relay", "scan_tool"),
        measure=Measure(kind="voltage", target="86"),
        setup=Setup(relay_out=True, lamp="lamp_86", probe="86"),
        hazards=(_TERMINALS, *DRIVEN_LOAD),
    ),
    _at_socket(
        id="socket_85_lamp",
        title="Voltage at terminal {coil_return} of the empty socket, under a lamp of "
        "5 W",
        how="The relay is out, and the scan tool drives the output. A test lamp of 5 W "
        "joins the battery's plus to terminal {coil_return} of its socket. Meter on "
        "volts: plus on that terminal, minus on the battery.",
        before=f"{COMMANDED} {_FREE}",
        needs=("relay", "battery", "scan_tool"),
        measure=Measure(kind="voltage", target="85"),
        sorting="pulled down",
        setup=Setup(relay_out=True, lamp="lamp_85", probe="85"),
        hazards=(_TERMINALS, *DRIVEN_LOAD),
    ),
    _at_socket(
        id="socket_87_lamp",
        title="Voltage at terminal 87 of the empty socket, fed by a lamp of 5 W",
        how="The relay is out. A test lamp of 5 W joins the battery's plus to terminal "
        "87 of its socket. Meter on volts: plus on terminal 87, minus on the battery.",
        before=_FREE,
        needs=("relay", "battery"),
        measure=Measure(kind="voltage", target="socket 87"),
        sorting="to ground",
        setup=Setup(command="off", relay_out=True, lamp="lamp_87", probe="socket 87"),
        hazards=(_TERMINALS, MOVES),
    ),
)
