"""What a coil pulls: whether it moves, told from the current in time alone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.model import edits
from generator.model.armature import MOVE_S, OPEN_FRAC, Plunger, moves_s, pull_in_trace
from generator.model.catalogue.faults import FAULTS
from generator.model.circuit import RelayCircuit
from generator.model.inrush import Source
from generator.model.instruments import CLAMP_10, CLAMP_100
from generator.model.trace import Trace
from generator.model.turn_off import coil_of
from generator.pictures.recording import clamped, recording_picture
from generator.pictures.scope_screen import Curve
from generator.questions.question import Question
from generator.questions.read_off import settled, verdict
from workbook.texts import _, later

MOVES = later("It moves as it should")
STAYS = later("It has its current, and stays")
WEAK = later("It has too little current")
PULL_SIGNS: Mapping[str, str] = {
    MOVES: later(
        "Where it moves, the current dips on its way up: a gap that closes takes from "
        "it."
    ),
    STAYS: later(
        "Where it stays, the current rises without a dip to what the sheet gives."
    ),
    WEAK: later(
        "Too little current settles well below what the sheet gives, without a dip."
    ),
}
"""What can be wrong with what a coil pulls, and what its current shows of each."""

_CONTROL = (
    *("supply", "upstream", "control_feed", "control_return", "driver"),
    "module_ground",
)
_LEAD_OHM = 0.010
_WEAKER = FAULTS["control_feed_resistance"].severity
# Time constant of a valve or a clutch with its gap closed, how long it moves, and the
# share of its current at which it begins to (common practice, no source).
_WINDING_S, _WINDING_MOVE_S, _BEGINS_FRAC = 0.02, 0.006, 0.6
_SHARES = (0.02, 0.05, 0.1, 0.15, 0.25, 0.4, 0.6, 1.0)


def coil_questions(specification: Specification, stream: Stream) -> Iterator[Question]:
    """Show the control current when the relay is switched on."""
    names, nominal = specification.names, specification.nominal
    case = stream.choice(list(PULL_SIGNS))
    circuit = nominal
    if case == WEAK:
        circuit = edits.resist_control_feed(nominal, stream.uniform(*_WEAKER))
    trace, arrived_s = coil_at_fuse(circuit, stays=case == STAYS)
    place = (
        _("in the wire to terminal {pin}").format(pin=names.coil_supply)
        if nominal.is_fuse_shared
        else _("at fuse {fuse}").format(fuse=names.control_fuse)
    )
    title = _("Relay {relay} is switched on").format(relay=names.relay)
    armature = _("armature of {relay}").format(relay=names.relay)
    scale = CLAMP_100.scale_v_per_a
    shown = clamped(trace, scale, place), title, arrived_s
    yield from _questions("coil", shown, (armature, case), scale)


def winding_questions(
    specification: Specification, stream: Stream, series_ohm: float
) -> Iterator[Question]:
    """Show the load current of a valve or a clutch when it is switched on."""
    names, nominal = specification.names, specification.nominal
    case = stream.choice(list(PULL_SIGNS))
    ohm = nominal.load_ohm * nominal.hot_frac
    # Times the cold ohms more: then it settles below the share at which it begins to
    # move.
    weaker = stream.uniform(*_WEAKER) if case == WEAK else 0.0
    source = Source(
        emf_v=nominal.supply_v, resistance_ohm=series_ohm + weaker * nominal.load_ohm
    )
    begins_a = _BEGINS_FRAC * nominal.supply_v / (series_ohm + ohm)
    plunger = Plunger(
        winding_ohm=ohm,
        open_h=OPEN_FRAC * _WINDING_S * ohm,
        closed_h=_WINDING_S * ohm,
        move_s=_WINDING_MOVE_S,
        pull_in_a=math.inf if case == STAYS else begins_a,
    )
    trace = pull_in_trace(source, plunger, 6 * _WINDING_S)
    place = _("at fuse {fuse}").format(fuse=names.load_fuse)
    title = _("A sound relay switches the {load} on").format(load=names.load)
    scale = CLAMP_10.scale_v_per_a
    shown = clamped(trace, scale, place), title, moves_s(source, plunger)[1]
    yield from _questions("load", shown, (names.mechanism, case), scale)


def _questions(
    id_: str,
    shown: tuple[Curve, str, float],
    pulled: tuple[str, str],
    scale_v_per_a: float,
) -> Iterator[Question]:
    """Ask what is read off, and whether something moves.

    Parameters
    ----------
    shown : Curve, str, float
        The screen, its title, and when what is pulled has arrived [s].
    pulled : str, str
        What it is, and what is so of it.
    """
    (curve, title, arrived_s), (part, case) = shown, pulled
    end_s = float(curve.time_s[-1])
    at = [float(f"{share * end_s:.2g}") for share in _SHARES]
    if math.isfinite(arrived_s):
        at = sorted([*at, float(f"{arrived_s:.3g}")])
    picture = recording_picture(curve, title, at)
    end_a = float(curve.values[-1]) / scale_v_per_a
    yield replace(settled(f"{id_}_settled", end_a), picture=picture)
    label = _("What does this trace say of the {part}?").format(part=part)
    yield verdict(f"{id_}_verdict", label, case, PULL_SIGNS)


def coil_at_fuse(circuit: RelayCircuit, *, stays: bool) -> tuple[Trace, float]:
    """Current of the control circuit in time, its suppression included.

    Returns
    -------
    Trace
    float
        When the armature has arrived [s]; ``inf`` where it stays.
    """
    # At a shared fuse the clamp sits on the coil's wire, and no lead is in the path.
    lead_ohm = 0.0 if circuit.is_fuse_shared else _LEAD_OHM
    ohm = lead_ohm + sum(getattr(circuit, f"{name}_ohm") for name in _CONTROL)
    # Seen from the coil, a resistor beside it lowers the source and its resistance.
    share = 1 / (1 + ohm / circuit.suppression_ohm)
    source = Source(emf_v=circuit.supply_v * share, resistance_ohm=ohm * share)
    winding = coil_of(circuit).winding
    plunger = Plunger(
        winding_ohm=circuit.coil_ohm,
        open_h=OPEN_FRAC * winding.inductance_h,
        closed_h=winding.inductance_h,
        move_s=MOVE_S,
        pull_in_a=math.inf if stays else circuit.pull_in_a,
    )
    end_s = 6 * winding.inductance_h / circuit.coil_ohm
    trace = pull_in_trace(source, plunger, end_s)
    # A clamp at the fuse reads coil and resistor together.
    both_a = trace.current_a + trace.voltage_v / circuit.suppression_ohm
    whole = replace(trace, current_a=both_a, final_a=float(both_a[-1]))
    return whole, moves_s(source, plunger)[1]
