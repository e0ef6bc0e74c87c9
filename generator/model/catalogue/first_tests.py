"""Tests that a search begins with: watch, feel, look at fuses, ask the scan tool."""

from __future__ import annotations

from functools import partial
from operator import attrgetter

from generator.model.catalogue.cautions import BACK, BURNS, DRIVEN_LOAD, MOVES, SECURE
from generator.model.catalogue.conditions import COMMANDED, IDLE, PLUGGED, STILL
from generator.model.complaints import COMPLAINTS
from generator.model.instruments import SENSE
from generator.model.measure import DiagnosticTest, Measure, Setup
from generator.model.scales import CODES

_look_at_fuse = partial(
    DiagnosticTest,
    how="Take the fuse out and look whether its element is whole.",
    before=STILL,
    minutes=1,
    needs=("fuse_box",),
    sorting="state",
)
_read = partial(DiagnosticTest, needs=("scan_tool",), sorting="state")

FIRST_TESTS = (
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
        hazards=(SECURE, MOVES),
        complaints=("does nothing", "works weakly", "comes and goes"),
    ),
    DiagnosticTest(
        id="supply_at_battery",
        title="Voltage at the battery with the headlights on",
        how="Engine as on the sheet; meter on volts across the posts.",
        before=IDLE,
        minutes=1,
        needs=("battery",),
        measure=Measure(kind="voltage", target="battery"),
        sorting="feed voltage",
        setup=Setup(command="off", lamp="headlights", probe="battery"),
        hazards=("No ring or watch near the posts, no hand near belts and fans.",),
        complaints=tuple(each for each in COMPLAINTS if each != "comes and goes"),
    ),
    DiagnosticTest(
        id="feel_relay",
        title="Feel and listen whether {relay} clicks",
        how="A finger rests on it while the output is switched on and off.",
        before=f"{COMMANDED} {PLUGGED}",
        # It is found among its neighbours first, and their clicks told from its own.
        minutes=2,
        needs=("scan_tool", "relay"),
        measure=Measure(kind="click", target="armature"),
        sorting="state",
        words=("clicks", "silent"),
        hazards=(BURNS, *DRIVEN_LOAD),
        applies=attrgetter("has_relay"),
        complaints=("does nothing", "never stops"),
    ),
    _look_at_fuse(
        id="look_control_fuse",
        title="Look at control fuse {control_fuse}",
        measure=Measure(kind="state", target="control_fuse"),
        words=("intact", "open"),
        applies=attrgetter("has_control_fuse"),
    ),
    _look_at_fuse(
        id="look_load_fuse",
        title="Look at load fuse {load_fuse}",
        measure=Measure(kind="state", target="load_fuse"),
        words=("intact", "open", "too large"),
    ),
    _read(
        id="read_enable",
        title="Read the enable inputs with the scan tool",
        how="The {load} is switched on; read whether {module} sees every enable input.",
        before="The scan tool talks to {module}, and the {load} is switched on.",
        minutes=2,
        measure=Measure(kind="state", target="enable"),
        words=("yes", "no"),
    ),
    _read(
        id="read_codes",
        title="Read the fault codes of {module} with the scan tool",
        how="Read the codes that {module} has stored, and the conditions under which "
        "each was set.",
        before="The scan tool talks to {module}, and nobody has cleared a code.",
        minutes=1,
        measure=Measure(kind="state", target="codes"),
        # What was stored while the harness moved stays stored.
        setup=Setup(command="normal", is_stressed=True),
        words=CODES,
        applies=attrgetter("is_smart"),
    ),
    _read(
        id="read_command",
        title="Read the command with the scan tool, with no demand",
        how="Read whether {module} commands its switch on, with no demand for the "
        "{load}.",
        before=f"The scan tool talks to {{module}}. {IDLE}",
        minutes=1,
        measure=Measure(kind="state", target="command"),
        setup=Setup(command="off"),
        words=("no", "yes"),
        applies=attrgetter("is_smart"),
        complaints=("never stops",),
    ),
    _read(
        id="read_sensed_current",
        title="Current as measured by {module}, under an output test",
        how="The scan tool drives the output, and shows what {module} measures there.",
        before=COMMANDED,
        minutes=1,
        measure=Measure(kind="current", target="contacts", sense=SENSE),
        sorting="sensed current",
        hazards=(BACK, *DRIVEN_LOAD),
        applies=attrgetter("is_smart"),
    ),
)
