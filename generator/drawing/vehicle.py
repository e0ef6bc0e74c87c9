"""What tests read on a vehicle: true values, displays, and the networks measured on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from generator.drawing.names import Named
from generator.drawing.reading import Reading
from generator.drawing.turn_off import TurnOff
from generator.model.catalogue.wrong_state import misread
from generator.model.circuit import RelayCircuit, columns_of
from generator.model.diagnostics import Readings
from generator.model.instruments import (
    SCOPE,
    THERMOMETER,
    VOLTMETER,
    Errors,
    ohmmeter_for,
)
from generator.model.measure import DiagnosticTest, Setup
from generator.model.network import Branch, Network
from generator.model.seen import fuse_out
from generator.model.settling import Unsettled
from generator.model.steps import InSteps, Steps, settled_of
from generator.model.topology import ENDS, PROBES, Settled, network_of
from workbook.texts import later

# A hand's length of wire.
_PIECE_OHM = 0.001
# What there is to see or feel, by what is looked at and the outcome.
# Translated where they are shown (`Reading.shown`), as displays are.
_SEEN = {
    ("control_fuse", "intact"): "The element of the fuse is whole",
    ("control_fuse", "open"): "The element of the fuse has parted",
    ("load_fuse", "intact"): "The element of the fuse is whole",
    ("load_fuse", "open"): "The element of the fuse has parted",
    ("load_fuse", "too large"): "Whole, but of a higher rating than the sheet gives",
    ("enable", "yes"): "Every enable input is present",
    ("enable", "no"): "One enable input is not present",
    ("mechanism", "normal effort"): "It moves with the usual effort and comes to rest",
    ("mechanism", "stuck"): "It does not move at all",
    ("mechanism", "heavy"): "It moves, but drags and stops at once",
    ("mechanism", "free"): "It moves with no effort and drives nothing",
    ("mechanism", "wide gap"): "The gap is wider than the sheet allows",
    ("relay_out", "stops"): "It stops as its relay comes out",
    ("relay_out", "runs on"): "It runs on without its relay",
    ("switch_out", "stops"): "It stops as the plug comes off",
    ("switch_out", "runs on"): "It runs on with the plug off",
    ("command", "yes"): "The switch is commanded on",
    ("command", "no"): "The switch is not commanded",
    ("codes", "none"): "No code is stored",
    ("codes", "open load"): "Code, set while off: open load or short to supply",
    ("codes", "overcurrent"): "Code, set while on: overcurrent, shut off",
    ("codes", "no supply"): "Code, set while on: no supply at the switch",
    ("surroundings", "clear"): "Nothing there hinders its work",
    ("surroundings", "hindered"): "Something there hinders its work",
    ("load_connector", "clean"): "Its contacts are bright, and all sit equally deep",
    ("load_connector", "green"): "One pair of its contacts is green and eaten away",
    ("load_connector", "pushed back"): "One of its pins has gone back into its housing",
    ("armature", "clicks"): "It clicks each time",
    ("armature", "silent"): "Nothing can be felt or heard of it",
    ("work", "yes"): "It does its work as it should",
    ("work", "no"): "It does not do its work as it should",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """A broken vehicle with all tests set up on it.

    Attributes
    ----------
    circuit : RelayCircuit
        As it comes in.
    tests : tuple of DiagnosticTest, length n_tests
    true : Readings
        What each test truly measures on it alone, in one variant.
    word : tuple of str, length n_tests
        The outcome of each.
    """

    circuit: RelayCircuit
    names: Named
    tests: tuple[DiagnosticTest, ...]
    true: Readings
    word: tuple[str, ...]

    def read(self, errors: Sequence[Errors]) -> tuple[Reading, ...]:
        """Read every test, each with the errors of its instrument."""
        return tuple(_reading(self, number, each) for number, each in enumerate(errors))


def _reading(vehicle: Vehicle, number: int, errors: Errors) -> Reading:
    test, value = vehicle.tests[number], float(vehicle.true.value[0, number, 0])
    network = _network(vehicle, number)
    if test.mistake:
        display = misread(test, value, network, errors)
    else:
        # What there is to see at a fuse is told besides the display (`fuse` below).
        word, _comma, _fuse = vehicle.word[number].partition(",")
        display = _display(test, value, word, errors)
    turn_off = None
    if test.measure.kind == "spike":
        turn_off = TurnOff(
            circuit=vehicle.circuit,
            names=vehicle.names,
            shown_v=SCOPE.shown(value, errors),
        )
    return Reading(
        value=value,
        display=display,
        network=network,
        turn_off=turn_off,
        fuse=fuse_out(test, vehicle.circuit),
    )


def _display(test: DiagnosticTest, value: float, word: str, errors: Errors) -> str:
    """What the student sees: a display, or in words what there is to see."""
    measure = test.measure
    if measure.kind in ("state", "click"):
        return _SEEN[measure.target, word]
    if measure.kind == "work":
        return _SEEN["work", word]
    if word == "over limit" and measure.clamp:
        return later("The fuse of the test lead opened at once")
    if instrument := measure.clamp or measure.sense:
        return instrument.display(value, errors)
    if measure.kind == "spike":
        return SCOPE.display(value, errors)
    if measure.kind == "warmth":
        return THERMOMETER.display(value, errors)
    is_ohms = measure.kind == "resistance"
    meter = ohmmeter_for(measure.target) if is_ohms else VOLTMETER
    return meter.display(value, errors)


def _network(vehicle: Vehicle, number: int) -> Network:
    """The network that a test measures on, open branches left out."""
    measure, settled = vehicle.tests[number].measure, vehicle.true.at(number)
    # What is looked at, heard or felt has no current to solve for.
    if measure.kind in ("state", "click"):
        return Network(branches=())
    if measure.true_kind in ("voltage", "spike"):
        return network_of(settled, (0, 0, 0), PROBES[measure.target][1])
    if measure.kind == "warmth":
        return network_of(settled, (0, 0, 0))
    if measure.true_kind in ("current", "work"):
        return _clamped(measure.target, settled)
    parts = (
        [("load", "load+", "load-", vehicle.circuit.load_ohm)]
        if measure.target == "load"
        else [
            ("coil", "86", "85", vehicle.circuit.coil_ohm),
            ("suppression", "86", "85", vehicle.circuit.suppression_ohm),
        ]
    )
    # Out of its circuit a part has no ground: its end stands for it.
    ground = parts[0][2]
    branches = tuple(Branch(*part) for part in parts if math.isfinite(part[3]))
    return Network(branches=branches, ground=ground)


def _clamped(wire: str, settled: Settled) -> Network:
    """The network around a wire in the jaw of a clamp.

    Of a wire that is open the piece in the jaw is there, and ends at the break.
    """
    end = ENDS[wire][1]
    network = network_of(settled, (0, 0, 0), end)
    if wire in {branch.name for branch in network.branches}:
        return network
    piece = Branch(wire, "break", end, _PIECE_OHM)
    return replace(network, branches=(*network.branches, piece))


@InSteps
def sound_network(built: RelayCircuit) -> Steps[Network]:
    """The network of a circuit that is not broken, commanded on."""
    columns, setups = columns_of([built]), [Setup(command="normal")]
    whole = yield from settled_of(
        Unsettled(columns=columns, sound=columns, setups=setups)
    )
    return network_of(whole, (0, 0, 0))
