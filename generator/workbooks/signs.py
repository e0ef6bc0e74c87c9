"""Where a test is done, as the wiring diagram shows it.

All of it follows from how the test is done, nothing from what it reads: a wrong state
is shown as it is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from generator.model.instruments import (
    OHMMETER,
    THERMOMETER,
    VOLTMETER,
    Meter,
    ohmmeter_for,
)
from generator.model.measure import DiagnosticTest
from generator.model.topology import PROBES
from workbook.record.circuit import Sign
from workbook.texts import figure

# Nodes of the network that are terminals under another name on the diagram.
_SPOTS = {
    "module_ground": "module_ground_pin",
    "plug": "load_connector",
    "blade_30": "30",
}
# Where a reading has room, if not at its terminal: beside the wire that ends there.
_BESIDE = {"30": "load_feed", "87": "load_wire", "supply": "fed"}
# Branches, and what is looked at, that are wires or parts under another name.
_PARTS = {
    "control_tap": "control_feed",
    "mechanism": "load",
    "surroundings": "load",
    "relay_out": "coil",
    "armature": "coil",
    "relay": "coil",
    "codes": "module",
    "command": "enable",
    "switch_out": "module",
}
# What a scan tool tells, besides the current that a switch senses.
_SCANNED = ("enable", "codes", "command")
# What is not moved but warmed, where it is alone.
_OF_RELAY = ("coil", "contacts")
# A drop is read between two terminals, and belongs to what lies between them.
_DROPS = {
    "supply-30": "load_feed",
    "30-87": "contacts",
    "87-load": "load_wire",
    "load connector": "load_connector",
    "load-ground": "load_ground",
    "coil": "coil",
    "load": "load",
}


_TOOLS: Mapping[str, str] = {
    "spike": "scope",
    "resistance": "ohms",
    "warmth": "thermometer",
}


def tool_of(test: DiagnosticTest) -> str:
    """Name the kind of instrument, as the page sorts tests by it."""
    measure = test.measure
    if measure.target in _SCANNED or measure.sense:
        return "scan tool"
    if test.is_by_eye:
        return "eye"
    if measure.clamp:
        return "clamp"
    return _TOOLS.get(measure.kind, "volts")


def spot_of(test: DiagnosticTest, *, is_shared: bool) -> str:
    """Name the spot where a reading belongs."""
    measure, probe = test.measure, test.setup.probe
    if probe in _DROPS:
        return _DROPS[probe]
    if probe is not None:
        terminal = _terminal(PROBES[probe][0])
        return _BESIDE.get(terminal, terminal)
    return _part(measure.target, is_shared=is_shared)


def signs_of(test: DiagnosticTest, *, is_shared: bool) -> tuple[Sign, ...]:
    """List what a test puts where, and what is switched, pulled or looked at."""
    return tuple(
        Sign(kind=kind, at=at) for kind, at in _signs(test, is_shared=is_shared)
    )


def _signs(test: DiagnosticTest, *, is_shared: bool) -> Iterator[tuple[str, str]]:
    measure, setup = test.measure, test.setup
    if setup.control_lead or setup.load_lead:
        fuse = "control_fuse" if setup.control_lead else "load_fuse"
        yield "lead", _part(fuse, is_shared=is_shared)
    if measure.clamp:
        yield "clamp", _part(measure.target, is_shared=is_shared)
    if measure.back:
        yield "clamp", measure.back
    yield from _probes(test)
    for part in (name.removesuffix("_ohm") for name in setup.alone):
        yield "warmed" if part in _OF_RELAY else "hand", part
    if test.is_by_eye or measure.sense:
        sign = {"mechanism": "hand", "armature": "felt"}.get(measure.target, "eye")
        yield sign, spot_of(test, is_shared=is_shared)
    if measure.kind == "warmth":
        yield "thermometer", spot_of(test, is_shared=is_shared)
    is_past = setup.jumper and "module" in test.needs
    if setup.jumper:
        # Of a smart switch the plug is off, where a relay would be out.
        kind = "past" if is_past else "jumper"
        yield from ((kind, "30"), (kind, "87"))
    if setup.new_relay:
        yield "new", "coil"
    is_relay_out = measure.target in ("coil", "relay_out") and not measure.is_live
    if is_past or measure.target == "switch_out":
        yield "out", "module"
    elif setup.jumper or setup.relay_out or is_relay_out:
        yield "out", "coil"
    if setup.load_unplugged:
        yield "out", "load_connector"
    if setup.module_unplugged:
        yield "out", "module"
    if setup.neighbour_unplugged:
        yield "out", "neighbour"
    if measure.kind == "resistance" and measure.target == "load":
        if not measure.is_live:
            yield "out", "load_connector"
    # What is measured past the relay, or out of its socket, no command moves.
    elif _is_driven(test) and not (setup.jumper or is_relay_out):
        yield setup.command, "enable"


def _is_driven(test: DiagnosticTest) -> bool:
    """Whether a command belongs to what is done: with codes it is given anew."""
    return test.measure.kind != "state" or test.setup.load_unplugged


def _probes(test: DiagnosticTest) -> Iterator[tuple[str, str]]:
    kind, target = test.measure.kind, test.measure.target
    probe = target if kind == "resistance" else test.setup.probe
    if probe is None:
        return
    plus, minus = PROBES[probe]
    yield "scope" if kind == "spike" else "plus", _terminal(plus)
    yield "minus", _terminal(minus)


def _terminal(node: str) -> str:
    return _SPOTS.get(node, node)


def _part(branch: str, *, is_shared: bool) -> str:
    if is_shared and branch in ("load_fuse", "control_fuse"):
        return "shared_fuse"
    return _PARTS.get(branch, branch)


def range_of(test: DiagnosticTest, display: str) -> str:
    """Name the range that a meter shows a reading in, such as ``60 V``.

    Examples
    --------
    >>> from generator.model.catalogue.tests import TESTS
    >>> range_of(TESTS["voltage_86"], "12.58 V")
    '60 V'
    """
    meter = _meter(test)
    if meter is None:
        return ""
    # By the digits alone: a range is known by its unit and where its point stands.
    shown = next((r for r in meter.ranges if _is_alike(r.text(0.0), display)), None)
    # What no range shows is OL, and stands in the last one.
    chosen = shown or meter.ranges[-1]
    return f"{figure(chosen.end / chosen.unit_si)} {chosen.unit}"


def _meter(test: DiagnosticTest) -> Meter | None:
    measure = test.measure
    # A scope fills its own screen, and a scan tool has no ranges.
    if test.is_by_eye or measure.kind == "spike" or measure.sense:
        return None
    if measure.kind == "warmth":
        return THERMOMETER
    if measure.kind == "resistance":
        return OHMMETER if measure.target == "coil" else ohmmeter_for(measure.target)
    return VOLTMETER


def _is_alike(zero: str, display: str) -> bool:
    """Whether two readings have the same unit and as many decimals."""
    (one, unit), (other, _, other_unit) = zero.split(" "), display.partition(" ")
    return unit == other_unit and _decimals(one) == _decimals(other)


def _decimals(number: str) -> int:
    return len(number.partition(".")[2])
