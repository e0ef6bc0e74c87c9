"""Tests of the currents at the fuses, and of what stops a load that runs."""

from __future__ import annotations

from functools import partial
from operator import attrgetter

from generator.model.catalogue.cautions import (
    BRIDGE,
    BRIDGE_AT_SWITCH,
    DRIVEN_LOAD,
    HAND,
    LEAD,
    MOVES,
    SECURE,
    SPIKE,
)
from generator.model.catalogue.conditions import COMMANDED, IDLE, RELAY_OUT, ZEROED
from generator.model.instruments import CLAMP_10, CLAMP_100
from generator.model.measure import DiagnosticTest, Measure, Setup
from generator.model.places import PlaceId

AT_CONTROL = "A fused lead with the clamp around it takes the place of {control_fuse}"
_AT_LOAD = "A fused lead with the clamp around it takes the place of {load_fuse}"
_DRIVEN = "and the scan tool drives the output."
_QUIET = "with no demand for the {load}."
_RUNS_ON = "There is no demand for the {load}, and it runs all the same."
_SLEEPS = "Ignition off and {module} asleep, then"

_ASLEEP = (
    "Unplug a module only with the ignition off, once it sleeps: unplugged awake it "
    "stores fault codes, and its plug arcs."
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
# One section moved plug by plug, or one part warmed through and left to cool.
_MOVING_MINUTES, _WARMING_MINUTES = 2, 3

_control_current = partial(
    DiagnosticTest,
    minutes=2,
    measure=Measure(kind="current", target="control_fuse", clamp=CLAMP_100),
    sorting="control current",
    setup=Setup(control_lead=True),
    applies=attrgetter("has_relay"),
)
_load_current = partial(
    DiagnosticTest,
    minutes=2,
    measure=Measure(kind="current", target="load_fuse", clamp=CLAMP_10),
    sorting="load current",
    setup=Setup(load_lead=True),
)
_what_stops_it = partial(
    DiagnosticTest,
    minutes=1,
    sorting="state",
    setup=Setup(command="off"),
    words=("stops", "runs on"),
    complaints=("never stops",),
)


def _recorded(
    id_: str, what: str, how: str, alone: tuple[str, ...], *places: PlaceId
) -> DiagnosticTest:
    """Record the load current while some parts alone are moved, or warmed."""
    is_warmed = "coil_ohm" in alone
    is_of_relay = is_warmed or "control_return_ohm" in alone
    return _load_current(
        id=id_,
        title=f"Recorded minimum current at {{load_fuse}}: {what}",
        how=f"{_AT_LOAD}, {_DRIVEN} The meter behind the clamp keeps its lowest "
        f"reading, and waits while the output test pauses. {how}",
        before=f"{ZEROED} {COMMANDED} The load runs, and nothing has been moved or "
        "warmed, when recording begins.",
        minutes=2 + (_WARMING_MINUTES if is_warmed else _MOVING_MINUTES),
        needs=("fuse_box", *places, "scan_tool"),
        sorting="recorded current",
        setup=Setup(load_lead=True, alone=alone),
        hazards=(_HOT_AIR if is_warmed else _TIED, LEAD, *DRIVEN_LOAD),
        applies=lambda circuit: circuit.has_relay or not is_of_relay,
        complaints=("comes and goes",),
    )


FUSE_TESTS = (
    _control_current(
        id="control_current",
        title="Control current at its fuse, commanded normally",
        how=f"{AT_CONTROL}, and the {{load}} is switched on in the normal way.",
        before=f"{ZEROED} The {{load}} is switched on.",
        needs=("fuse_box",),
        setup=Setup(command="normal", control_lead=True),
        hazards=(LEAD, SECURE, MOVES),
    ),
    _control_current(
        id="control_current_output_test",
        title="Control current at its fuse, under an output test",
        how=f"{AT_CONTROL}, {_DRIVEN}",
        before=f"{ZEROED} {COMMANDED}",
        needs=("fuse_box", "scan_tool"),
        hazards=(LEAD, *DRIVEN_LOAD),
    ),
    _control_current(
        id="control_current_off",
        title="Control current at its fuse with the command off",
        how=f"{AT_CONTROL}, {_QUIET}",
        before=f"{ZEROED} {IDLE}",
        needs=("fuse_box",),
        sorting="presence",
        setup=Setup(command="off", control_lead=True),
        hazards=(LEAD,),
    ),
    _control_current(
        id="control_current_unplugged",
        title="Control current with the control module unplugged",
        how=f"{AT_CONTROL}, and {{module}} is unplugged.",
        before=f"{ZEROED} {_SLEEPS} it is unplugged. For the reading the ignition is "
        "on again.",
        minutes=3,
        needs=("fuse_box", "module"),
        sorting="presence",
        setup=Setup(command="off", control_lead=True, module_unplugged=True),
        hazards=(LEAD, _ASLEEP, SPIKE),
    ),
    _load_current(
        id="load_current",
        title="Load current at its fuse, under an output test",
        how=f"{_AT_LOAD}, {_DRIVEN}",
        before=f"{ZEROED} {COMMANDED}",
        needs=("fuse_box", "scan_tool"),
        hazards=(LEAD, *DRIVEN_LOAD),
    ),
    _load_current(
        id="load_current_off",
        title="Load current at its fuse with the command off",
        how=f"{_AT_LOAD}, {_QUIET}",
        before=f"{ZEROED} {IDLE}",
        needs=("fuse_box",),
        sorting="presence",
        setup=Setup(command="off", load_lead=True),
        hazards=(LEAD, MOVES),
    ),
    _what_stops_it(
        id="pull_relay",
        title="Pull {relay}: does the {load} stop?",
        how="The {load} runs without demand; the relay is pulled, and nothing else.",
        before=_RUNS_ON,
        needs=("relay",),
        measure=Measure(kind="state", target="relay_out"),
        hazards=(
            "A relay pulled under load arcs at its blades: pull it in one move, and "
            "not where there may be fuel vapour.",
            SECURE,
            MOVES,
        ),
        applies=attrgetter("has_relay"),
    ),
    _what_stops_it(
        id="unplug_switch",
        title="Unplug {module}: does the {load} stop?",
        how="The {load} runs without demand; {module} is unplugged, and nothing else.",
        before=f"{_RUNS_ON} The ignition is off, unless the {{load}} stops by that.",
        needs=("module",),
        measure=Measure(kind="state", target="switch_out"),
        hazards=(
            "A plug pulled under load arcs: pull it in one move, and not where there "
            "may be fuel vapour.",
            SECURE,
            MOVES,
        ),
        applies=attrgetter("is_smart"),
    ),
    _load_current(
        id="load_current_bridged",
        title="Load current with 30 and 87 bridged by a fused jumper",
        how=f"{_AT_LOAD}, and a fused jumper joins 30 and 87 in the socket, relay out.",
        before=f"{ZEROED} {RELAY_OUT}",
        minutes=3,
        needs=("fuse_box", "relay"),
        setup=Setup(command="off", jumper=True, load_lead=True),
        hazards=(BRIDGE, LEAD, *DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
    ),
    _load_current(
        id="load_current_past_switch",
        title="Load current past the switch, by a fused jumper from {pin_in} to "
        "{pin_out}",
        how=f"{_AT_LOAD}, and a fused jumper joins {{pin_in}} and {{pin_out}} in the "
        "plug of {module}, which is off.",
        before=f"{ZEROED} {_SLEEPS} its plug comes off, and only then the jumper goes "
        "in.",
        minutes=4,
        needs=("fuse_box", "module"),
        setup=Setup(command="off", jumper=True, load_lead=True),
        hazards=(
            BRIDGE_AT_SWITCH,
            _ASLEEP,
            LEAD,
            *DRIVEN_LOAD,
        ),
        applies=attrgetter("is_smart"),
    ),
    _load_current(
        id="load_current_new_relay",
        title="Load current with a new relay of the same part",
        how=f"{_AT_LOAD}, a new relay of the same part is fitted, {_DRIVEN}",
        before=f"{ZEROED} The new relay has the part number of the old one.",
        minutes=9,
        needs=("fuse_box", "relay", "scan_tool"),
        setup=Setup(load_lead=True, new_relay=True),
        hazards=(
            "Fit a relay of the specified part only: suppression and rating matter.",
            LEAD,
            *DRIVEN_LOAD,
        ),
        applies=attrgetter("has_relay"),
    ),
    _recorded(
        "recorded_fuses_to_relay",
        "harness from fuse box to {relay} moved",
        "Only the harness between the fuse box and {relay} is moved, plug by plug.",
        ("control_feed_ohm", "load_feed_ohm"),
        "relay",
    ),
    _recorded(
        "recorded_module_to_relay",
        "wire from {module} to {relay} moved",
        "Only the wire between {module} and {relay} is moved, from plug to socket.",
        ("control_return_ohm",),
        "relay",
        "module",
    ),
    _recorded(
        "recorded_relay_to_load",
        "harness from {relay} to the {load} moved",
        "Only the harness between {relay} and the {load} is moved, "
        "{load_connector} last.",
        ("load_wire_ohm", "load_connector_ohm"),
        "load",
    ),
    _recorded(
        "recorded_ground",
        "ground wire of the {load} moved",
        "Only the ground wire of the {load} is moved, up to its ground point.",
        ("load_ground_ohm",),
        "ground",
    ),
    _recorded(
        "recorded_relay_warmed",
        "{relay} warmed",
        "Only {relay} is warmed, and left to cool; nothing is moved.",
        ("coil_ohm", "contacts_ohm"),
        "relay",
    ),
    _load_current(
        id="load_current_neighbour_out",
        title="Load current with the {neighbour} unplugged",
        how=f"{_AT_LOAD}, the plug of the {{neighbour}} is off, {_DRIVEN}",
        before=f"{ZEROED} The {{neighbour}} are switched off, and their plug comes "
        "off before the output is driven.",
        minutes=3,
        needs=("fuse_box", "load", "scan_tool"),
        setup=Setup(load_lead=True, neighbour_unplugged=True),
        hazards=(HAND, LEAD, *DRIVEN_LOAD),
        applies=attrgetter("is_ground_shared"),
    ),
)
