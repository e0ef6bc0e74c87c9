"""Tests of relay and load by themselves: resistance, looks, hands, the work done."""

from __future__ import annotations

from functools import partial
from operator import attrgetter

from generator.model.catalogue.cautions import BACK, BRIDGE, DRIVEN_LOAD, HAND
from generator.model.catalogue.conditions import COMMANDED, RELAY_OUT
from generator.model.measure import DiagnosticTest, Measure, Setup
from generator.model.scales import CODES

_OUT = "Switch off and unplug before an ohmmeter is put on a part."
_STOPPED = "The engine is stopped and the key is out."
_by_hand = partial(
    DiagnosticTest,
    before=f"{_STOPPED} The load fuse is out.",
    minutes=2,
    needs=("fuse_box", "load"),
    sorting="state",
    setup=Setup(command="off"),
    hazards=(HAND,),
)

LOAD_TESTS = (
    DiagnosticTest(
        id="coil_resistance",
        title="Resistance between 85 and 86, relay out",
        how="The relay is out; meter on ohms between its terminals 85 and 86.",
        before="The circuit is switched off and the relay is out of its socket.",
        minutes=2,
        needs=("relay",),
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
        needs=("load", "scan_tool"),
        measure=Measure(kind="state", target="codes"),
        sorting="state",
        setup=Setup(load_unplugged=True),
        words=CODES,
        hazards=(BACK, *DRIVEN_LOAD),
        applies=attrgetter("is_smart"),
    ),
    DiagnosticTest(
        id="load_resistance",
        title="Resistance of the load, unplugged and cold",
        how="The {load} is unplugged and cold; milliohm meter with its four leads on "
        "its two pins.",
        before=f"{_STOPPED} The {{load}} is unplugged and cold.",
        minutes=4,
        needs=("load",),
        measure=Measure(kind="resistance", target="load"),
        sorting="resistance",
        setup=Setup(command="off"),
        hazards=(_OUT, HAND),
    ),
    _by_hand(
        id="move_by_hand",
        title="Move the {mechanism} by hand",
        how="With the load fuse out, feel how the {mechanism} moves.",
        minutes=3,
        measure=Measure(kind="state", target="mechanism"),
        words=("normal effort", "stuck", "heavy", "free", "wide gap"),
        applies=attrgetter("has_mechanism"),
    ),
    _by_hand(
        id="look_at_connector",
        title="Unplug connector {load_connector} and look at its contacts",
        how="Look whether its contacts are bright and equally deep.",
        measure=Measure(kind="state", target="load_connector"),
        words=("clean", "green", "pushed back"),
        complaints=("does nothing", "works weakly"),
    ),
    _by_hand(
        id="look_at_load",
        title="Look at the {load} and at what it works on",
        how="With the load fuse out, look for dirt, wear and whatever hinders the work "
        "of the {load}.",
        measure=Measure(kind="state", target="surroundings"),
        words=("clear", "hindered"),
    ),
    DiagnosticTest(
        id="load_check",
        title="Check with 30 and 87 bridged whether the work is done",
        how="The relay is out and a fused jumper joins 30 and 87 in its socket. Watch "
        "whether {work}.",
        before=RELAY_OUT,
        minutes=4,
        needs=("relay",),
        measure=Measure(kind="work", target="load"),
        sorting="work",
        setup=Setup(command="off", jumper=True),
        hazards=(BRIDGE, *DRIVEN_LOAD),
        applies=lambda circuit: circuit.has_mechanism and circuit.has_relay,
    ),
    DiagnosticTest(
        id="load_check_driven",
        title="Check under an output test whether the work is done",
        how="The scan tool drives the output; watch whether {work}.",
        before=COMMANDED,
        minutes=3,
        needs=("scan_tool",),
        measure=Measure(kind="work", target="load"),
        sorting="work",
        hazards=(BACK, *DRIVEN_LOAD),
        applies=lambda circuit: circuit.has_mechanism and circuit.is_smart,
    ),
)
