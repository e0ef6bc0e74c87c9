"""What a student can set up and measure on one circuit, and the circuits it can be.

All of it is data: nodes, branches, and what each thing that is set up does to them, so
that no table of a circuit stands on the student's side a second time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

MARK = "@"
"""Begins the code of every set-up, and the id of no test."""

PROVES_NOTHING = "proves nothing"
"""Outcome of what misleads, or tells nothing of the causes, on every circuit."""

Ohms = Mapping[str, float | None]
"""Resistance of some branches by name [Ω]; None is open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """Where an instrument is put, or a part that can be taken out.

    Parameters
    ----------
    id : str
        Of a node for a point, of a branch for a wire, of a field of the set-up for a
        part.
    at : str
        The spot of the diagram.
    place : str
        Id of the place where it is reached; empty where any place will do.
    """

    id: str
    label: str
    at: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterRange:
    """One range of a meter, ``id`` its end in mV or mΩ; as the instrument has it.

    ``end`` and ``step`` are in V or Ω, a unit shown is worth ``unit_si``; an ohmmeter
    drives ``test_a`` through what it measures [A].
    """

    id: str
    end: float
    step: float
    unit: str
    unit_si: float
    test_a: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterData:
    """A meter: its ranges in ascending order and its limits of error.

    A plus or minus of so large a fraction of the reading and so many counts.
    """

    ranges: tuple[MeterRange, ...]
    accuracy_frac: float
    accuracy_counts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ClampData:
    """A clamp probe on one scale, ``id`` that scale in mV/A; [V/A], [A] else.

    One that is not zeroed has ``left_over_a`` in every reading.
    """

    id: str
    scale_v_per_a: float
    accuracy_frac: float
    zero_a: float
    range_a: float
    noise_a: float
    left_over_a: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScopeData:
    """A scope behind its probe: what fills the screen [V], accuracy and steps."""

    range_v: tuple[float, ...]
    accuracy_frac: float
    bits: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Instruments:
    """The instruments on hand, and their errors on this vehicle.

    ``errors`` are shares, from -1 to 1, of gain, counts and zero; those of the noise
    follow from ``noise_key`` and the set-up. ``milliohm_points`` are the pins
    of a part that takes a milliohm meter.
    """

    volts: MeterData
    ohms: MeterData
    milliohms: MeterData
    milliohm_points: tuple[str, ...]
    clamps: tuple[ClampData, ...]
    scope: ScopeData
    meter_ohm: float
    errors: Mapping[str, float]
    noise_key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One circuit: its branches, what set-ups do to them, and values of its parts.

    Of any but the sound one only what differs from that is named. ``edits`` has for
    each option, as ``relay out``, the branches that it changes; ``fuses`` what there is
    to see at a fuse that is taken out.
    """

    ohm: Ohms = field(default_factory=dict)
    value: Mapping[str, float] = field(default_factory=dict)
    edits: Mapping[str, Ohms] = field(default_factory=dict)
    fuses: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A circuit as it comes in and, where that differs, with its harness moved."""

    calm: Case
    moved: Case | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What a misconception says that any reading proves: the sections it clears.

    A page has what is wrong with it, a key the id of the misconception.
    """

    cleared: tuple[str, ...]
    text: str = ""
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """The circuits that the complaint leaves, and what decides a reading.

    Parameters
    ----------
    branches : tuple of (name, from, to)
    sound : Case
        The circuit before it broke, with nominal values; complete.
    causes : tuple of Pair
        In the order of the causes on the page.
    actual : Pair
        The vehicle as it was built, and broken.
    cause : int
        Number of the cause that it has.
    tolerances : dict of str to float
        Standard uncertainty of branches and values, as a fraction.
    leads_a : dict of str to float
        Above this the fuse of a lead or jumper opens at once, by its branch [A].
    constants : dict of str to float
        Of drivers that limit and of loads that warm up.
    """

    branches: tuple[tuple[str, ...], ...]
    sound: Case
    causes: tuple[Pair, ...]
    actual: Pair
    cause: int
    tolerances: Mapping[str, float]
    leads_a: Mapping[str, float]
    constants: Mapping[str, float]
    instruments: Instruments
    rules: tuple[Rule, ...] = ()

    def __hash__(self) -> int:
        """Tell one from another: what is found of one is kept by it."""
        return id(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What can be set up and measured on one circuit.

    Parameters
    ----------
    points, wires : tuple of Contact
        Where probes go, and what a clamp closes around.
    parts : tuple of Contact
        Fuses, relay and plugs that can be taken out; a shared fuse is its load fuse.
    commanded_at : str
        The place from which an output test is driven.
    ranges : dict of str to tuple of str
        By instrument the ids of its ranges.
    scales : tuple of str
        Scales of the clamp [mV/A].
    listed : dict of str to str
        Tests of the list by the code of the set-up that each is.
    driven, secured : tuple of str
        What an output test and a jumper override, and what the load must be secured
        with, in words; nothing for most loads.
    cautions : dict of str to str
        Those that name what this circuit has instead of a relay, by their ids.
    model : Model or None
        What readings are computed from; None where that stays with the instructor.
    """

    points: tuple[Contact, ...]
    wires: tuple[Contact, ...]
    parts: tuple[Contact, ...]
    commanded_at: str
    ranges: Mapping[str, tuple[str, ...]]
    scales: tuple[str, ...]
    listed: Mapping[str, str]
    driven: tuple[str, ...] = ()
    secured: tuple[str, ...] = ()
    cautions: Mapping[str, str] = field(default_factory=dict)
    model: Model | None = None

    @property
    def known(self) -> Model:
        """What readings are computed from.

        Raises
        ------
        ValueError
            Where that stays with the instructor.
        """
        if self.model is None:
            raise ValueError("the circuits of this exercise stay with the instructor")
        return self.model

    @property
    def is_smart(self) -> bool:
        """Whether a smart switch in a module takes the relay's place."""
        return self.part("relay") is None

    def part(self, id_: str) -> Contact | None:
        """Find a part that can be taken out."""
        return next((each for each in self.parts if each.id == id_), None)

    def __hash__(self) -> int:
        """Tell one from another: what is found of one is kept by it."""
        return id(self)


def is_code(item: str) -> bool:
    """Tell the code of a set-up from the id of a test."""
    return item.startswith(MARK)
