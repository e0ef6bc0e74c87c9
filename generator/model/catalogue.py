"""The tests that a student can choose from, in the order of a fault search.

Minutes are those of the reading, by a practised technician at its places with the tools
at hand (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from operator import attrgetter
from types import MappingProxyType

from generator.model.circuit import RelayCircuit
from generator.model.complaints import COMPLAINTS
from generator.model.instruments import CLAMP_10, CLAMP_100, SENSE
from generator.model.measure import DiagnosticTest, Measure, Setup
from generator.model.places import PlaceId
from generator.model.scales import CODES

_STRESS_MINUTES = 3
# One section moved plug by plug, or one part warmed through and left to cool.
_MOVING_MINUTES, _WARMING_MINUTES = 2, 3

_LEAD = (
    "Use a fused lead only, with a fuse no larger than that of the circuit. Fit it "
    "with the load off: if the load runs without demand, pull its relay first, and put "
    "it back for the reading."
)
_MOVES = (
    "The load can start without warning: fit probes and leads while it is off, then "
    "keep hands, sleeves and tools clear."
)
OVERRIDES = (
    "Output test and jumper override the enable inputs ({enable}): what these guard "
    "against can happen."
)
# What a family must be secured with; nothing for most of them.
SECURE = "{secure}"
_BRIDGE = "Bridge only 30 and 87, with a fused jumper; never bridge the load itself."
PAST = (
    "Bridge only {pin_in} and {pin_out} in the plug of {module}, with a fused jumper; "
    "never bridge the load itself."
)
_RELAY = "Fit a relay of the specified part only: suppression and rating matter."
_ARC = (
    "A relay pulled under load arcs at its blades: pull it in one move, and not where "
    "there may be fuel vapour."
)
_PLUG_ARC = (
    "A plug pulled under load arcs: pull it in one move, and not where there may be "
    "fuel vapour."
)
BACK = (
    "A switch that has shut off can come back with the next command: hands clear, also "
    "where the {load} seems dead."
)
_SPIKE = "A coil that is switched off can give a spike of hundreds of volts."
_ASLEEP = (
    "Unplug a module only with the ignition off, once it sleeps: unplugged awake it "
    "stores fault codes, and its plug arcs."
)
_OUT = "Switch off and unplug before an ohmmeter is put on a part."
_PROBE = "Use a scope and a probe rated for it, 100:1; never the scope's bare input."
_HAND = (
    "Engine stopped, key out and secured against starting, load fuse out: nothing may "
    "start under your hands. Wait until everything has run down. What runs on with its "
    "fuse out has another feed: hands off until it is unplugged."
)
_DRIVEN_LOAD = (OVERRIDES, SECURE, _MOVES)
_POSTS = "No ring or watch near the posts, no hand near belts and fans."
_BURNS = "A bad joint can burn fingers."
_SHINES = (
    "An infrared thermometer reads bare metal far too cold: aim at plastic or at dull "
    "tape, from near enough that its spot is no larger than the part."
)
_TIED = (
    "Tie up the harness before it is moved: no wire may get at what turns or is hot. "
    "Hands stay off whatever turns; where one would come near it, move the wires with "
    "a rod that does not conduct."
)
_HOT_AIR = (
    "Warm a relay with hot air from a hand's width away, never with a flame and no "
    "hotter than it may get at work. What has been warmed burns fingers."
)

_AT_CONTROL = "A fused lead with the clamp around it takes the place of {control_fuse}"
_AT_LOAD = "A fused lead with the clamp around it takes the place of {load_fuse}"
_ON = "and the {load} is switched on in the normal way."
_DRIVEN = "and the scan tool drives the output."
_QUIET = "with no demand for the {load}."
_VOLTS = "Under an output test, meter on volts:"

# What must be true before a test is done.
_ZEROED = "The clamp is zeroed on its scale and closed around one wire only."
_COMMANDED = "The output test runs."
_IDLE = "There is no demand for the {load}."
_STILL = (
    f"{_IDLE} If it runs all the same, its relay is out first: a fuse drawn under load "
    "arcs."
)
LEAD_AT_SWITCH = (
    "Use a fused lead only, with a fuse no larger than that of the circuit. Fit it "
    "with the load off: if the load runs without demand, unplug {module} first, and "
    "plug it in for the reading."
)
_STILL_AT_SWITCH = (
    f"{_IDLE} If it runs all the same, {{module}} is unplugged first: a fuse drawn "
    "under load arcs."
)
_SLEEPS = (
    "Ignition off and {module} asleep, then it is unplugged. For the reading the "
    "ignition is on again."
)
_STOPPED = "The engine is stopped and the key is out."
_LOADED = "The output test runs: without current there is no drop."
_PLUGGED = "Relay and plugs are in their places."
_PLUGGED_AT_SWITCH = "All plugs are in their places."
_UNPLUGGED = (
    "Ignition off and {module} asleep, then its plug comes off, and only then the "
    "jumper goes in."
)
_RELAY_OUT = "The relay is out before the jumper goes in."
_SOCKET_FREE = "The ignition is on, and the relay is out of its socket."
_TERMINALS = (
    "Touch terminals of the socket from the side or with a matching blade: a thick "
    "probe spreads them."
)

_RUNS_A_MINUTE = (
    "Under an output test the {load} has run for a minute. A thermometer is held to"
)
_BEGINS = "The load runs, and nothing has been moved or warmed, when recording begins."

# Where a test is done.
_FUSES: tuple[PlaceId, ...] = ("fuse_box",)
_SCAN: tuple[PlaceId, ...] = ("scan_tool",)
_SOCKET: tuple[PlaceId, ...] = ("relay",)
_BATTERY: tuple[PlaceId, ...] = ("battery",)
_PINS: tuple[PlaceId, ...] = ("relay_pins",)
_MODULE: tuple[PlaceId, ...] = ("module",)
_AT_THE_LOAD: tuple[PlaceId, ...] = ("load",)
_GROUND: tuple[PlaceId, ...] = ("ground",)


# Under several amperes a bad joint is hot; what draws less hardly warms it [A].
_WARMS_A = 4.0


def _carries_amperes(circuit: RelayCircuit) -> bool:
    """Whether a load draws enough for a bad joint to be found by its heat."""
    return circuit.load_rated_a >= _WARMS_A


def _recorded(
    id_: str, what: str, how: str, alone: tuple[str, ...], places: tuple[PlaceId, ...]
) -> DiagnosticTest:
    """Record the load current while some parts alone are moved, or warmed."""
    is_warmed = "coil_ohm" in alone
    is_of_relay = is_warmed or "control_return_ohm" in alone
    return DiagnosticTest(
        id=f"recorded_{id_}",
        title=f"Recorded minimum current at {{load_fuse}}: {what}",
        how=f"{_AT_LOAD}, {_DRIVEN} The meter behind the clamp keeps its lowest "
        f"reading. {how}",
        before=f"{_ZEROED} {_COMMANDED} {_BEGINS}",
        minutes=2 + (_WARMING_MINUTES if is_warmed else _MOVING_MINUTES),
        needs=(*_FUSES, *places, *_SCAN),
        measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
        sorting="recorded current",
        setup=Setup(load_lead=True, alone=alone),
        hazards=(_HOT_AIR if is_warmed else _TIED, _LEAD, *_DRIVEN_LOAD),
        applies=lambda circuit: circuit.has_relay or not is_of_relay,
        complaints=("comes and goes",),
    )


_CATALOGUE = (
    DiagnosticTest(
        id="watch_load",
        title="Switch the {load} on in the normal way and watch it",
        how="Watch whether {work}.",
        before="The {load} is switched on.",
        minutes=1,
        needs=(),
        measure=Measure(kind="work", target="load"),
        sorting="complaint",
        setup=Setup(command="normal"),
        hazards=(SECURE, _MOVES),
        complaints=("does nothing", "works weakly", "comes and goes"),
    ),
    DiagnosticTest(
        id="supply_at_battery",
        title="Voltage at the battery with the headlights on",
        how="Engine as on the sheet; meter on volts across the posts.",
        before=_IDLE,
        minutes=1,
        needs=_BATTERY,
        measure=Measure(kind="voltage", target="battery"),
        sorting="feed voltage",
        setup=Setup(command="off", lamp="headlights", probe="battery"),
        hazards=(_POSTS,),
        complaints=tuple(each for each in COMPLAINTS if each != "comes and goes"),
    ),
    DiagnosticTest(
        id="feel_relay",
        title="Feel and listen whether {relay} clicks",
        how="A finger rests on it while the output is switched on and off.",
        before=f"{_COMMANDED} {_PLUGGED}",
        # It is found among its neighbours first, and their clicks told from its own.
        minutes=2,
        needs=(*_SCAN, *_SOCKET),
        measure=Measure(kind="click", target="armature"),
        sorting="state",
        words=("clicks", "silent"),
        hazards=(_BURNS, *_DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
        complaints=("does nothing", "never stops"),
    ),
    DiagnosticTest(
        id="look_control_fuse",
        title="Look at control fuse {control_fuse}",
        how="Take the fuse out and look whether its element is whole.",
        before=_STILL,
        minutes=1,
        needs=_FUSES,
        measure=Measure(kind="state", target="control_fuse"),
        sorting="state",
        words=("intact", "open"),
        applies=attrgetter("has_control_fuse"),
    ),
    DiagnosticTest(
        id="look_load_fuse",
        title="Look at load fuse {load_fuse}",
        how="Take the fuse out and look whether its element is whole.",
        before=_STILL,
        minutes=1,
        needs=_FUSES,
        measure=Measure(kind="state", target="load_fuse"),
        sorting="state",
        words=("intact", "open", "too large"),
    ),
    DiagnosticTest(
        id="read_enable",
        title="Read the enable inputs with the scan tool",
        how="The {load} is switched on; read whether {module} sees every enable input.",
        before="The scan tool talks to {module}, and the {load} is switched on.",
        minutes=2,
        needs=_SCAN,
        measure=Measure(kind="state", target="enable"),
        sorting="state",
        words=("yes", "no"),
    ),
    DiagnosticTest(
        id="read_codes",
        title="Read the fault codes of {module} with the scan tool",
        how="Read the codes that {module} has stored, and the conditions under which "
        "each was set.",
        before="The scan tool talks to {module}, and nobody has cleared a code.",
        minutes=1,
        needs=_SCAN,
        measure=Measure(kind="state", target="codes"),
        sorting="state",
        # What was stored while the harness moved stays stored.
        setup=Setup(command="normal", is_stressed=True),
        words=CODES,
        applies=attrgetter("is_smart"),
    ),
    DiagnosticTest(
        id="read_command",
        title="Read the command with the scan tool, with no demand",
        how="Read whether {module} commands its switch on, with no demand for the "
        "{load}.",
        before=f"The scan tool talks to {{module}}. {_IDLE}",
        minutes=1,
        needs=_SCAN,
        measure=Measure(kind="state", target="command"),
        sorting="state",
        setup=Setup(command="off"),
        words=("no", "yes"),
        applies=attrgetter("is_smart"),
        complaints=("never stops",),
    ),
    DiagnosticTest(
        id="read_sensed_current",
        title="Current as measured by {module}, under an output test",
        how="The scan tool drives the output, and shows what {module} measures there.",
        before=_COMMANDED,
        minutes=1,
        needs=_SCAN,
        measure=Measure(kind="current", target="contacts", sense=SENSE),
        sorting="sensed current",
        hazards=(BACK, *_DRIVEN_LOAD),
        applies=attrgetter("is_smart"),
    ),
    DiagnosticTest(
        id="control_current",
        title="Control current at its fuse, commanded normally",
        how=f"{_AT_CONTROL}, {_ON}",
        before=f"{_ZEROED} The {{load}} is switched on.",
        minutes=2,
        needs=_FUSES,
        measure=Measure(kind="current", target="control_fuse", clamp=CLAMP_100),
        sorting="control current",
        setup=Setup(command="normal", control_lead=True),
        hazards=(_LEAD, SECURE, _MOVES),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="control_current_output_test",
        title="Control current at its fuse, under an output test",
        how=f"{_AT_CONTROL}, {_DRIVEN}",
        before=f"{_ZEROED} {_COMMANDED}",
        minutes=2,
        needs=(*_FUSES, *_SCAN),
        measure=Measure(kind="current", target="control_fuse", clamp=CLAMP_100),
        sorting="control current",
        setup=Setup(control_lead=True),
        hazards=(_LEAD, *_DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="control_current_off",
        title="Control current at its fuse with the command off",
        how=f"{_AT_CONTROL}, {_QUIET}",
        before=f"{_ZEROED} {_IDLE}",
        minutes=2,
        needs=_FUSES,
        measure=Measure(kind="current", target="control_fuse", clamp=CLAMP_100),
        sorting="presence",
        setup=Setup(command="off", control_lead=True),
        hazards=(_LEAD,),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="control_current_unplugged",
        title="Control current with the control module unplugged",
        how=f"{_AT_CONTROL}, and {{module}} is unplugged.",
        before=f"{_ZEROED} {_SLEEPS}",
        minutes=3,
        needs=(*_FUSES, *_MODULE),
        measure=Measure(kind="current", target="control_fuse", clamp=CLAMP_100),
        sorting="presence",
        setup=Setup(command="off", control_lead=True, module_unplugged=True),
        hazards=(_LEAD, _ASLEEP, _SPIKE),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="load_current",
        title="Load current at its fuse, under an output test",
        how=f"{_AT_LOAD}, {_DRIVEN}",
        before=f"{_ZEROED} {_COMMANDED}",
        minutes=2,
        needs=(*_FUSES, *_SCAN),
        measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
        sorting="load current",
        setup=Setup(load_lead=True),
        hazards=(_LEAD, *_DRIVEN_LOAD),
    ),
    DiagnosticTest(
        id="load_current_off",
        title="Load current at its fuse with the command off",
        how=f"{_AT_LOAD}, {_QUIET}",
        before=f"{_ZEROED} {_IDLE}",
        minutes=2,
        needs=_FUSES,
        measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
        sorting="presence",
        setup=Setup(command="off", load_lead=True),
        hazards=(_LEAD, _MOVES),
    ),
    DiagnosticTest(
        id="pull_relay",
        title="Pull {relay}: does the {load} stop?",
        how="The {load} runs without demand; the relay is pulled, and nothing else.",
        before="There is no demand for the {load}, and it runs all the same.",
        minutes=1,
        needs=_SOCKET,
        measure=Measure(kind="state", target="relay_out"),
        sorting="state",
        setup=Setup(command="off"),
        words=("stops", "runs on"),
        hazards=(_ARC, SECURE, _MOVES),
        complaints=("never stops",),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="unplug_switch",
        title="Unplug {module}: does the {load} stop?",
        how="The {load} runs without demand; {module} is unplugged, and nothing else.",
        before="There is no demand for the {load}, and it runs all the same. The "
        "ignition is off, unless the {load} stops by that.",
        minutes=1,
        needs=_MODULE,
        measure=Measure(kind="state", target="switch_out"),
        sorting="state",
        setup=Setup(command="off"),
        words=("stops", "runs on"),
        hazards=(_PLUG_ARC, SECURE, _MOVES),
        applies=attrgetter("is_smart"),
        complaints=("never stops",),
    ),
    DiagnosticTest(
        id="load_current_bridged",
        title="Load current with 30 and 87 bridged by a fused jumper",
        how=f"{_AT_LOAD}, and a fused jumper joins 30 and 87 in the socket, relay out.",
        before=f"{_ZEROED} {_RELAY_OUT}",
        minutes=3,
        needs=(*_FUSES, *_SOCKET),
        measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
        sorting="load current",
        setup=Setup(command="off", jumper=True, load_lead=True),
        hazards=(_BRIDGE, _LEAD, *_DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="load_current_past_switch",
        title="Load current past the switch, by a fused jumper from {pin_in} to "
        "{pin_out}",
        how=f"{_AT_LOAD}, and a fused jumper joins {{pin_in}} and {{pin_out}} in the "
        "plug of {module}, which is off.",
        before=f"{_ZEROED} {_UNPLUGGED}",
        minutes=4,
        needs=(*_FUSES, *_MODULE),
        measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
        sorting="load current",
        setup=Setup(command="off", jumper=True, load_lead=True),
        hazards=(PAST, _ASLEEP, _LEAD, *_DRIVEN_LOAD),
        applies=attrgetter("is_smart"),
    ),
    DiagnosticTest(
        id="load_current_new_relay",
        title="Load current with a new relay of the same part",
        how=f"{_AT_LOAD}, a new relay of the same part is fitted, {_DRIVEN}",
        before=f"{_ZEROED} The new relay has the part number of the old one.",
        minutes=9,
        needs=(*_FUSES, *_SOCKET, *_SCAN),
        measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
        sorting="load current",
        setup=Setup(load_lead=True, new_relay=True),
        hazards=(_RELAY, _LEAD, *_DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
    ),
    _recorded(
        "fuses_to_relay",
        "harness from fuse box to {relay} moved",
        "Only the harness between the fuse box and {relay} is moved, plug by plug.",
        ("control_feed_ohm", "load_feed_ohm"),
        _SOCKET,
    ),
    _recorded(
        "module_to_relay",
        "wire from {module} to {relay} moved",
        "Only the wire between {module} and {relay} is moved, from plug to socket.",
        ("control_return_ohm",),
        (*_SOCKET, *_MODULE),
    ),
    _recorded(
        "relay_to_load",
        "harness from {relay} to the {load} moved",
        "Only the harness between {relay} and the {load} is moved, "
        "{load_connector} last.",
        ("load_wire_ohm", "load_connector_ohm"),
        _AT_THE_LOAD,
    ),
    _recorded(
        "ground",
        "ground wire of the {load} moved",
        "Only the ground wire of the {load} is moved, up to its ground point.",
        ("load_ground_ohm",),
        _GROUND,
    ),
    _recorded(
        "relay_warmed",
        "{relay} warmed",
        "Only {relay} is warmed, and left to cool; nothing is moved.",
        ("coil_ohm", "contacts_ohm"),
        _SOCKET,
    ),
    DiagnosticTest(
        id="load_current_neighbour_out",
        title="Load current with the {neighbour} unplugged",
        how=f"{_AT_LOAD}, the plug of the {{neighbour}} is off, {_DRIVEN}",
        before=f"{_ZEROED} The {{neighbour}} are switched off, and their plug comes "
        "off before the output is driven.",
        minutes=3,
        needs=(*_FUSES, *_AT_THE_LOAD, *_SCAN),
        measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
        sorting="load current",
        setup=Setup(load_lead=True, neighbour_unplugged=True),
        hazards=(_HAND, _LEAD, *_DRIVEN_LOAD),
        applies=attrgetter("is_ground_shared"),
    ),
    DiagnosticTest(
        id="socket_30",
        title="Voltage at terminal 30 of the empty socket, meter alone",
        how="The relay is out; meter on volts: plus on terminal 30 of its socket, "
        "minus on the battery.",
        before=_SOCKET_FREE,
        minutes=2,
        needs=_SOCKET,
        measure=Measure(kind="voltage", target="socket 30"),
        sorting="feed voltage",
        setup=Setup(command="off", relay_out=True, probe="socket 30"),
        hazards=(_TERMINALS,),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="socket_30_lamp",
        title="Voltage at terminal 30 of the empty socket, under a lamp of 10 W",
        how="The relay is out. A test lamp of 10 W joins terminal 30 of its socket to "
        "the battery's minus. Meter on volts across it.",
        before=_SOCKET_FREE,
        minutes=3,
        needs=_SOCKET,
        measure=Measure(kind="voltage", target="socket 30"),
        sorting="feed voltage",
        setup=Setup(command="off", relay_out=True, lamp="lamp_30", probe="socket 30"),
        hazards=(_TERMINALS,),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="socket_86_lamp",
        title="Voltage at terminal {coil_supply} of the empty socket, under a lamp of "
        "5 W",
        how="The relay is out, and the scan tool drives the output. A test lamp of 5 W "
        "joins terminal {coil_supply} of its socket to the battery's minus. Meter on "
        "volts across it.",
        before=f"{_COMMANDED} {_SOCKET_FREE}",
        minutes=3,
        needs=(*_SOCKET, *_SCAN),
        measure=Measure(kind="voltage", target="86"),
        sorting="feed voltage",
        setup=Setup(relay_out=True, lamp="lamp_86", probe="86"),
        hazards=(_TERMINALS, *_DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="socket_85_lamp",
        title="Voltage at terminal {coil_return} of the empty socket, under a lamp of "
        "5 W",
        how="The relay is out, and the scan tool drives the output. A test lamp of 5 W "
        "joins the battery's plus to terminal {coil_return} of its socket. Meter on "
        "volts: plus on that terminal, minus on the battery.",
        before=f"{_COMMANDED} {_SOCKET_FREE}",
        minutes=3,
        needs=(*_SOCKET, *_BATTERY, *_SCAN),
        measure=Measure(kind="voltage", target="85"),
        sorting="pulled down",
        setup=Setup(relay_out=True, lamp="lamp_85", probe="85"),
        hazards=(_TERMINALS, *_DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="socket_87_lamp",
        title="Voltage at terminal 87 of the empty socket, fed by a lamp of 5 W",
        how="The relay is out. A test lamp of 5 W joins the battery's plus to terminal "
        "87 of its socket. Meter on volts: plus on terminal 87, minus on the battery.",
        before=_SOCKET_FREE,
        minutes=3,
        needs=(*_SOCKET, *_BATTERY),
        measure=Measure(kind="voltage", target="socket 87"),
        sorting="to ground",
        setup=Setup(command="off", relay_out=True, lamp="lamp_87", probe="socket 87"),
        hazards=(_TERMINALS, _MOVES),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="warmth_relay",
        title="Temperature of {relay} above what lies beside it",
        how=f"{_RUNS_A_MINUTE} {{relay}} and its socket, then to a part beside them "
        "that carries nothing.",
        before=f"{_COMMANDED} {_PLUGGED}",
        # A minute of current, then two temperatures, each until the display rests.
        minutes=3,
        needs=(*_SOCKET, *_SCAN),
        measure=Measure(kind="warmth", target="relay"),
        sorting="warmth",
        hazards=(_BURNS, _SHINES, *_DRIVEN_LOAD),
        applies=lambda circuit: circuit.has_relay and _carries_amperes(circuit),
        complaints=("works weakly",),
    ),
    DiagnosticTest(
        id="warmth_ground",
        title="Temperature of the ground point of the {load} above the metal beside it",
        how=f"{_RUNS_A_MINUTE} the ground point of the {{load}}, then to the metal a "
        "hand's width beside it.",
        before=_COMMANDED,
        minutes=3,
        needs=(*_GROUND, *_SCAN),
        measure=Measure(kind="warmth", target="load_ground"),
        sorting="warmth",
        hazards=(_BURNS, _SHINES, *_DRIVEN_LOAD),
        applies=_carries_amperes,
        complaints=("works weakly",),
    ),
    DiagnosticTest(
        id="drop_supply_30",
        title="Voltage drop from supply to terminal {pin_in}",
        how=f"{_VOLTS} plus on the battery, minus on terminal {{pin_in}}.",
        before=_LOADED,
        minutes=2,
        needs=(*_PINS, *_BATTERY, *_SCAN),
        measure=Measure(kind="voltage", target="supply-30"),
        sorting="drop",
        setup=Setup(probe="supply-30"),
        hazards=_DRIVEN_LOAD,
    ),
    DiagnosticTest(
        id="drop_30_87",
        title="Voltage drop across the contacts, 30 to 87",
        how=f"{_VOLTS} plus on terminal 30, minus on terminal 87.",
        before=_LOADED,
        minutes=2,
        needs=(*_PINS, *_SCAN),
        measure=Measure(kind="voltage", target="30-87"),
        sorting="drop",
        setup=Setup(probe="30-87"),
        hazards=_DRIVEN_LOAD,
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="drop_switch",
        title="Voltage drop across the switch, {pin_in} to {pin_out}",
        how=f"{_VOLTS} plus on terminal {{pin_in}}, minus on terminal {{pin_out}}.",
        before=_LOADED,
        minutes=2,
        needs=(*_MODULE, *_SCAN),
        measure=Measure(kind="voltage", target="30-87"),
        sorting="drop",
        setup=Setup(probe="30-87"),
        hazards=(BACK, *_DRIVEN_LOAD),
        applies=attrgetter("is_smart"),
    ),
    DiagnosticTest(
        id="drop_87_load",
        title="Voltage drop from terminal {pin_out} to the load",
        how=f"{_VOLTS} plus on terminal {{pin_out}}, minus on the supply pin of the "
        "{load}.",
        before=_LOADED,
        minutes=2,
        needs=(*_PINS, *_AT_THE_LOAD, *_SCAN),
        measure=Measure(kind="voltage", target="87-load"),
        sorting="drop",
        setup=Setup(probe="87-load"),
        hazards=_DRIVEN_LOAD,
    ),
    DiagnosticTest(
        id="drop_load_connector",
        title="Voltage drop across connector {load_connector} of the load",
        how=f"{_VOLTS} both probes at the back of {{load_connector}}, plus on the wire "
        "side, minus on the supply pin of the {load}.",
        before=_LOADED,
        minutes=3,
        needs=(*_AT_THE_LOAD, *_SCAN),
        measure=Measure(kind="voltage", target="load connector"),
        sorting="drop",
        setup=Setup(probe="load connector"),
        hazards=_DRIVEN_LOAD,
    ),
    DiagnosticTest(
        id="drop_load_ground",
        title="Voltage drop from the load to ground",
        how=f"{_VOLTS} plus on the ground pin of the {{load}}, minus on the battery.",
        before=_LOADED,
        minutes=2,
        needs=(*_AT_THE_LOAD, *_SCAN),
        measure=Measure(kind="voltage", target="load-ground"),
        sorting="drop",
        setup=Setup(probe="load-ground"),
        hazards=_DRIVEN_LOAD,
    ),
    DiagnosticTest(
        id="voltage_86",
        title="Voltage at terminal {coil_supply}",
        how=f"{_VOLTS} plus on terminal {{coil_supply}}, minus on the battery.",
        before=f"{_COMMANDED} {_PLUGGED}",
        minutes=2,
        needs=(*_PINS, *_SCAN),
        measure=Measure(kind="voltage", target="86"),
        sorting="feed voltage",
        setup=Setup(probe="86"),
        hazards=_DRIVEN_LOAD,
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="voltage_85",
        title="Voltage at terminal {coil_return}",
        how=f"{_VOLTS} plus on terminal {{coil_return}}, minus on the battery.",
        before=f"{_COMMANDED} {_PLUGGED}",
        minutes=2,
        needs=(*_PINS, *_SCAN),
        measure=Measure(kind="voltage", target="85"),
        sorting="pulled down",
        setup=Setup(probe="85"),
        hazards=(*_DRIVEN_LOAD, _SPIKE),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="voltage_low_driver",
        title="Voltage at the driver pin of the control module",
        how=f"{_VOLTS} plus on the {{module}} pin of the wire from {{coil_return}}, "
        "minus on the battery.",
        before=f"{_COMMANDED} {_PLUGGED}",
        minutes=2,
        needs=(*_MODULE, *_SCAN),
        measure=Measure(kind="voltage", target="low driver"),
        sorting="pulled down",
        setup=Setup(probe="low driver"),
        hazards=(*_DRIVEN_LOAD, _SPIKE),
        applies=attrgetter("is_low_side"),
    ),
    DiagnosticTest(
        id="voltage_high_driver",
        title="Voltage at the driver pin of the control module",
        how=f"{_VOLTS} plus on the {{module}} pin of the wire to {{coil_supply}}, "
        "minus on the battery.",
        before=f"{_COMMANDED} {_PLUGGED}",
        minutes=2,
        needs=(*_MODULE, *_SCAN),
        measure=Measure(kind="voltage", target="high driver"),
        sorting="feed voltage",
        setup=Setup(probe="high driver"),
        hazards=(*_DRIVEN_LOAD, _SPIKE),
        applies=attrgetter("is_high_side"),
    ),
    DiagnosticTest(
        id="voltage_module_ground",
        title="Voltage at the driver's ground pin of the control module",
        how=f"{_VOLTS} plus on the ground pin of the driver in {{module}}, minus on "
        "the battery.",
        before=f"{_COMMANDED} {_PLUGGED}",
        minutes=2,
        needs=(*_MODULE, *_SCAN),
        measure=Measure(kind="voltage", target="module ground"),
        sorting="pulled down",
        setup=Setup(probe="module ground"),
        hazards=_DRIVEN_LOAD,
        applies=attrgetter("is_low_side"),
    ),
    DiagnosticTest(
        id="voltage_fuse_box",
        title="Voltage at the fuse box, behind the {upstream}",
        how="Meter on volts: plus on the feed of the fuses, minus on the battery.",
        before=f"The {{upstream}} is switched on. {_IDLE}",
        minutes=2,
        needs=_FUSES,
        measure=Measure(kind="voltage", target="fuse box"),
        sorting="feed voltage",
        setup=Setup(command="off", probe="fuse box"),
        applies=attrgetter("has_switch_upstream"),
    ),
    DiagnosticTest(
        id="voltage_87a_off",
        title="Voltage at terminal 87a with the command off",
        how="With no demand for the {load}, meter on volts: plus on terminal 87a, "
        "minus on the battery.",
        before=f"{_IDLE} {_PLUGGED}",
        minutes=2,
        needs=_PINS,
        measure=Measure(kind="voltage", target="87a"),
        sorting="feed voltage",
        setup=Setup(command="off", probe="87a"),
        applies=attrgetter("has_break_contact"),
    ),
    DiagnosticTest(
        id="scope_turn_off",
        title="Scope the coil turn-off at terminal {coil_return}",
        how="Probe on terminal {coil_return}, its clip on the battery's minus. The "
        "scan tool drives the output and lets it go; that edge triggers the scope.",
        before=f"The scope stands behind a 100:1 probe. {_PLUGGED}",
        minutes=5,
        needs=(*_PINS, *_SCAN),
        measure=Measure(kind="spike", target="85"),
        sorting="turn-off",
        setup=Setup(probe="85"),
        hazards=(_SPIKE, _PROBE, *_DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="coil_resistance",
        title="Resistance between 85 and 86, relay out",
        how="The relay is out; meter on ohms between its terminals 85 and 86.",
        before="The circuit is switched off and the relay is out of its socket.",
        minutes=2,
        needs=_SOCKET,
        measure=Measure(kind="resistance", target="coil"),
        sorting="resistance",
        setup=Setup(command="off"),
        hazards=(_OUT,),
        applies=attrgetter("has_relay"),
    ),
    DiagnosticTest(
        id="codes_unplugged",
        title="Fault codes with the {load} unplugged and its output driven anew",
        how="{load_connector} is unplugged. Codes are cleared, the key is turned off "
        "and on again, the scan tool drives the output and reads the codes.",
        before=f"{_STOPPED} {{load_connector}} is unplugged. Only then the key is "
        "turned on.",
        minutes=3,
        needs=(*_AT_THE_LOAD, *_SCAN),
        measure=Measure(kind="state", target="codes"),
        sorting="state",
        setup=Setup(load_unplugged=True),
        words=CODES,
        hazards=(BACK, *_DRIVEN_LOAD),
        applies=attrgetter("is_smart"),
    ),
    DiagnosticTest(
        id="load_resistance",
        title="Resistance of the load, unplugged and cold",
        how="The {load} is unplugged and cold; milliohm meter with its four leads on "
        "its two pins.",
        before=f"{_STOPPED} The {{load}} is unplugged and cold.",
        minutes=4,
        needs=_AT_THE_LOAD,
        measure=Measure(kind="resistance", target="load"),
        sorting="resistance",
        setup=Setup(command="off"),
        hazards=(_OUT, _HAND),
    ),
    DiagnosticTest(
        id="move_by_hand",
        title="Move the {mechanism} by hand",
        how="With the load fuse out, feel how the {mechanism} moves.",
        before=f"{_STOPPED} The load fuse is out.",
        minutes=3,
        needs=(*_FUSES, *_AT_THE_LOAD),
        measure=Measure(kind="state", target="mechanism"),
        sorting="state",
        setup=Setup(command="off"),
        words=("normal effort", "stuck", "heavy", "free", "wide gap"),
        hazards=(_HAND,),
        applies=attrgetter("has_mechanism"),
    ),
    DiagnosticTest(
        id="look_at_connector",
        title="Unplug connector {load_connector} and look at its contacts",
        how="Look whether its contacts are bright and equally deep.",
        before=f"{_STOPPED} The load fuse is out.",
        minutes=2,
        needs=(*_FUSES, *_AT_THE_LOAD),
        measure=Measure(kind="state", target="load_connector"),
        sorting="state",
        setup=Setup(command="off"),
        words=("clean", "green", "pushed back"),
        hazards=(_HAND,),
        complaints=("does nothing", "works weakly"),
    ),
    DiagnosticTest(
        id="look_at_load",
        title="Look at the {load} and at what it works on",
        how="With the load fuse out, look for dirt, wear and whatever hinders the work "
        "of the {load}.",
        before=f"{_STOPPED} The load fuse is out.",
        minutes=2,
        needs=(*_FUSES, *_AT_THE_LOAD),
        measure=Measure(kind="state", target="surroundings"),
        sorting="state",
        setup=Setup(command="off"),
        words=("clear", "hindered"),
        hazards=(_HAND,),
    ),
    DiagnosticTest(
        id="load_check",
        title="Check with 30 and 87 bridged whether the work is done",
        how="The relay is out and a fused jumper joins 30 and 87 in its socket. Watch "
        "whether {work}.",
        before=_RELAY_OUT,
        minutes=4,
        needs=_SOCKET,
        measure=Measure(kind="work", target="load"),
        sorting="work",
        setup=Setup(command="off", jumper=True),
        hazards=(_BRIDGE, *_DRIVEN_LOAD),
        applies=lambda circuit: circuit.has_mechanism and circuit.has_relay,
    ),
    DiagnosticTest(
        id="load_check_driven",
        title="Check under an output test whether the work is done",
        how="The scan tool drives the output; watch whether {work}.",
        before=_COMMANDED,
        minutes=3,
        needs=_SCAN,
        measure=Measure(kind="work", target="load"),
        sorting="work",
        hazards=(BACK, *_DRIVEN_LOAD),
        applies=lambda circuit: circuit.has_mechanism and circuit.is_smart,
    ),
)
TESTS: Mapping[str, DiagnosticTest] = MappingProxyType(
    {test.id: test for test in _CATALOGUE}
)


def tests_for(
    circuit: RelayCircuit, names: Collection[str], *, is_stressed: bool
) -> tuple[DiagnosticTest, ...]:
    """Tests of the catalogue as they are done on one circuit.

    Parameters
    ----------
    circuit : RelayCircuit
        Tells its variant.
    names : collection of str
        Ids of the tests that may be offered.
    is_stressed : bool
        Whether the harness is wiggled and warm during electrical tests, because the
        complaint comes and goes.
    """
    return tuple(
        as_done_on(circuit, test, is_stressed=is_stressed)
        for test in _CATALOGUE
        if test.id in names and test.applies(circuit)
    )


def as_done_on(
    circuit: RelayCircuit, test: DiagnosticTest, *, is_stressed: bool
) -> DiagnosticTest:
    """One test as it is done on one circuit, calm or under stress."""
    # The wiring first: what is wiggled is the test as it is done on this circuit.
    if circuit.is_fuse_shared:
        test = _at_shared_fuse(test)
    if circuit.is_high_side:
        test = _at_high_side(test)
    if circuit.is_smart:
        test = _at_smart_switch(test)
    return _stressed(test) if is_stressed else test


def _at_shared_fuse(test: DiagnosticTest) -> DiagnosticTest:
    """Take the control current in its wire, for the fuse carries both."""
    wire = "the wire to terminal {coil_supply}"
    if test.measure.target == "control_fuse":
        return replace(
            test,
            title=test.title.replace("at its fuse", f"in {wire}"),
            how=test.how.replace(_AT_CONTROL, f"The clamp goes around {wire}"),
            # Behind the shared fuse only this wire has the coil's current alone;
            # nothing is plugged in place of a fuse, so that cautions of the lead do not
            # belong.
            measure=replace(test.measure, target="control_tap"),
            setup=replace(test.setup, control_lead=False),
            needs=(*_PINS, *(place for place in test.needs if place != "fuse_box")),
            hazards=tuple(hazard for hazard in test.hazards if hazard != _LEAD),
        )
    title = test.title.replace("Load current at its fuse", "Both currents at the fuse")
    return replace(test, title=title)


# What is said of a relay's circuit, and what of one with a smart switch.
_OF_SWITCH = {
    _LEAD: LEAD_AT_SWITCH,
    _STILL: _STILL_AT_SWITCH,
    _PLUGGED: _PLUGGED_AT_SWITCH,
}


def _of_switch(text: str) -> str:
    for of_relay, own in _OF_SWITCH.items():
        text = text.replace(of_relay, own)
    return text


def _at_smart_switch(test: DiagnosticTest) -> DiagnosticTest:
    """Reach at the plug of the module what is at the socket of a relay."""
    at_relay: tuple[PlaceId, ...] = ("relay", "relay_pins")
    needs = ("module" if place in at_relay else place for place in test.needs)
    alone = (name for name in test.setup.alone if name != "control_feed_ohm")
    return replace(
        test,
        before=_of_switch(test.before),
        needs=tuple(dict.fromkeys(needs)),
        setup=replace(test.setup, alone=tuple(alone)),
        hazards=tuple(map(_of_switch, test.hazards)),
    )


_FROM_MODULE = {"control_return_ohm": "control_feed_ohm"}


def _at_high_side(test: DiagnosticTest) -> DiagnosticTest:
    """Find wires and coil where the driver is: before the coil, which it feeds."""
    if test.setup.alone:
        # The wire to the coil comes from the module, and not from the fuses; that back
        # from it leads to ground.
        own = (name for name in test.setup.alone if name != "control_feed_ohm")
        alone = (_FROM_MODULE.get(name, name) for name in own)
        return replace(test, setup=replace(test.setup, alone=tuple(alone)))
    if test.measure.kind != "spike":
        return test
    return replace(
        test,
        title=test.title.replace("{coil_return}", "{coil_supply}"),
        how=test.how.replace("{coil_return}", "{coil_supply}"),
        measure=replace(test.measure, target="86"),
        setup=replace(test.setup, probe="86"),
    )


def _stressed(test: DiagnosticTest) -> DiagnosticTest:
    # A part out of its circuit, or one that is looked at, has no harness to be wiggled;
    # and where one section is moved, the others are not.
    if test.measure.kind not in ("current", "voltage", "work") or test.setup.alone:
        return test
    return replace(
        test,
        title=f"{test.title}, harness wiggled and warm",
        how=f"{test.how} Meanwhile the harness is wiggled, and all of it is warm.",
        minutes=test.minutes + _STRESS_MINUTES,
        setup=replace(test.setup, is_stressed=True),
    )
