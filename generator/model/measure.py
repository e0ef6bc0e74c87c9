"""What a student can choose to do: a diagnostic test, its setup, what it measures."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from generator.model.circuit import RelayCircuit
from generator.model.complaints import COMPLAINTS, Symptom
from generator.model.instruments import Clamp, Sense
from generator.model.places import PlaceId

Command = Literal["normal", "output test", "off"]
Kind = Literal[
    "current",
    "voltage",
    "resistance",
    "spike",
    "work",
    "click",
    "warmth",
    "state",
]
UNITS: Mapping[Kind, str] = {
    "current": "A",
    "voltage": "V",
    "resistance": "Ω",
    "spike": "V",
    "work": "",
    "click": "",
    "warmth": "K",
    "state": "",
}
"""Unit of what a test measures; what is seen, heard or felt has a word instead."""
Lamp = Literal["lamp_30", "lamp_86", "lamp_85", "lamp_87", "headlights"]
Sorting = Literal[
    "load current",
    "recorded current",
    "control current",
    "presence",
    "sensed current",
    "work",
    "complaint",
    "warmth",
    "drop",
    "feed voltage",
    "pulled down",
    "to ground",
    "resistance",
    "turn-off",
    "state",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """How the circuit is set up for a test.

    A fused lead takes the place of a fuse; with a ``jumper`` between 30 and 87, or
    ``relay_out``, the relay is out of its socket, where a test ``lamp`` may take its
    place at one terminal, or it is the vehicle's own headlights that are on;
    ``new_relay`` swaps in a sound one; ``probe`` names where the
    voltmeter is put, one of ``topology.PROBES``; ``is_stressed`` has the harness
    wiggled and warm, as intermittent faults need it. With ``alone`` it is at rest and
    cold but for some parts, which are moved or warmed: the names of their values. The
    neighbour is what shares the load's ground point. No test of the catalogue takes a
    fuse out or unplugs the load, but a student may.
    """

    # Most tests are done with the output driven, whatever the enable inputs say.
    command: Command = "output test"
    control_lead: bool = False
    load_lead: bool = False
    jumper: bool = False
    relay_out: bool = False
    lamp: Lamp | None = None
    new_relay: bool = False
    module_unplugged: bool = False
    control_fuse_out: bool = False
    load_fuse_out: bool = False
    load_unplugged: bool = False
    neighbour_unplugged: bool = False
    probe: str | None = None
    is_stressed: bool = False
    alone: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What a test measures.

    ``target`` is a branch for a current, a probe for a voltage and for a spike, which
    is the peak to peak voltage there when the driver opens; ``coil`` or ``load`` for a
    resistance out of circuit, the load for its work, the armature for a click, one of
    ``warmth.WARM_PARTS`` for a rise of temperature, and the thing looked at for a
    state.

    A current is read with a ``clamp``, or told by the switch that it flows through, by
    its ``sense``.

    Two things only a test done in a wrong state has: a resistance may be taken on a
    live part, where what stands between the probes is a voltage; and a clamp may close
    around a second wire too, in which the current comes ``back``.
    """

    kind: Kind
    target: str
    clamp: Clamp | None = None
    sense: Sense | None = None
    is_live: bool = False
    back: str | None = None

    @property
    def true_kind(self) -> Kind:
        """The quantity that there is, whatever the instrument takes it for."""
        return "voltage" if self.is_live else self.kind


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagnosticTest:
    """A test that a student can choose; texts name the circuit's parts in braces.

    ``minutes`` are those of the reading, at the places in ``needs``; ``before`` is what
    must be true before it is done, ``complaints`` are those with which it makes sense.
    A test done in a wrong state has a ``mistake``: why its reading misleads, and whom
    or what it can hurt.
    """

    id: str
    title: str
    how: str
    before: str
    minutes: float
    needs: tuple[PlaceId, ...]
    measure: Measure
    sorting: Sorting
    setup: Setup = field(default_factory=Setup)
    hazards: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    mistake: str = ""
    applies: Callable[[RelayCircuit], bool] = lambda _: True
    complaints: tuple[Symptom, ...] = COMPLAINTS

    @property
    def is_by_eye(self) -> bool:
        """Whether it is seen, heard or felt, and not read from an instrument."""
        return self.measure.kind in ("state", "work", "click")
