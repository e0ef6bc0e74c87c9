"""What setting up does to the branches of a circuit, as data that any program can use.

A free set-up is put together of options, one of each group: each changes some branches
of a circuit at rest. They follow from ``cases.resistances``, which knows of every
setup what it does, so that it is told there and nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from generator.model.cases import resistances
from generator.model.circuit import RelayCircuit, columns_of
from generator.model.diagnostics import LEAD_OPENS_FRAC
from generator.model.measure import Setup
from generator.model.parts import CONTROL_FUSE_A
from generator.model.seen import fuse_seen
from generator.model.topology import ENDS

Ohms = Mapping[str, float]

AT_REST = Setup(command="off")
OPTIONS: Mapping[str, Mapping[str, Setup]] = MappingProxyType(
    {
        "command": {
            "normal": Setup(command="normal"),
            "output test": Setup(command="output test"),
        },
        "control_fuse": {
            "out": Setup(command="off", control_fuse_out=True),
            "lead": Setup(command="off", control_lead=True),
        },
        "load_fuse": {
            "out": Setup(command="off", load_fuse_out=True),
            "lead": Setup(command="off", load_lead=True),
        },
        "relay": {
            "out": Setup(command="off", relay_out=True),
            "jumper": Setup(command="off", jumper=True),
        },
        "load_connector": {"out": Setup(command="off", load_unplugged=True)},
        "module": {
            "out": Setup(command="off", module_unplugged=True),
            # Past a smart switch, in the plug of its module.
            "jumper": Setup(command="off", module_unplugged=True, jumper=True),
        },
        "neighbour": {"out": Setup(command="off", neighbour_unplugged=True)},
    }
)
"""Each option of a set-up by itself; those not named leave the circuit at rest."""

OPERATING = (
    "supply_v",
    "pull_in_a",
    "driver_limit_a",
    "rated_v",
    "load_rated_a",
    "load_ohm",
    "hot_frac",
    "lamp_exponent",
    "duty_frac",
    "motor_constant_vs",
    "fan_nms2",
    "friction_nm",
    "is_welded",
    "is_high_side",
    "does_driver_shut_off",
    "is_smart",
    "sense_frac",
    "shut_off_a",
)
"""Values that decide at which point a circuit works, beside its resistances."""
# What of a coil only its turn-off shows.
_COIL = ("suppression_ohm", "coil_ohm", "has_diode")
_LAMPS = ("lamp_30", "lamp_86", "lamp_85", "lamp_87", "headlights")
# A part that is taken out stands by itself: the relay with its own pins. The plug of
# the load has the end of its ground wire in a cavity.
_OUT = {
    "pin_coil": ("pin_86", "pin_85"),
    "pin_suppression": ("pin_86", "pin_85"),
    "pin_contacts": ("pin_30", "pin_87"),
    "pin_break_contact": ("pin_30", "pin_87a"),
    "cavity_ground": ("cavity", "ground_point"),
}
BRANCHES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        name: ends
        for name, ends in ENDS.items()
        if not name.startswith("meter ") and name not in _LAMPS
    }
    | _OUT
)
"""Every branch with its ends: those of the circuit, and of what was taken out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeCircuit:
    """One circuit as a free set-up takes it.

    Attributes
    ----------
    ohm : mapping of str to float
        Every branch at rest, the contacts as if closed [Ω].
    value : mapping of str to float
        Of ``OPERATING``, and what a turn-off shows.
    edits : mapping of str to mapping
        Branches that an option changes, by the option as ``relay out``.
    fuses : mapping of str to str
        What there is to see at each fuse once it is out.
    """

    ohm: Ohms
    value: Mapping[str, float]
    edits: Mapping[str, Ohms]
    fuses: Mapping[str, str]


def free_circuits(circuits: tuple[RelayCircuit, ...]) -> tuple[FreeCircuit, ...]:
    """Tell of each circuit what each option changes."""
    options = {
        f"{group} {option}": setup
        for group, own in OPTIONS.items()
        for option, setup in own.items()
    }
    found = ohms_in(circuits, (AT_REST, *options.values()))
    return tuple(
        _free(circuit, options, own)
        for circuit, own in zip(circuits, found, strict=True)
    )


def _free(
    circuit: RelayCircuit, options: Mapping[str, Setup], ohms: Sequence[Ohms]
) -> FreeCircuit:
    rest, *changed = ohms
    return FreeCircuit(
        ohm=rest,
        value={name: float(getattr(circuit, name)) for name in (*OPERATING, *_COIL)},
        edits={
            name: _changed(circuit, rest, (setup, own))
            for (name, setup), own in zip(options.items(), changed, strict=True)
        },
        fuses={
            "control_fuse": fuse_seen("control_fuse", circuit),
            "load_fuse": fuse_seen("load_fuse", circuit),
        },
    )


def _changed(circuit: RelayCircuit, rest: Ohms, option: tuple[Setup, Ohms]) -> Ohms:
    setup, own = option
    changed = {name: ohm for name, ohm in own.items() if ohm != rest[name]}
    # What is open at rest because the command is off stays so once it is unplugged.
    if setup.module_unplugged:
        changed["high_driver" if circuit.is_high_side else "low_driver"] = math.inf
    return changed


def ohms_in(
    circuits: Sequence[RelayCircuit], setups: Sequence[Setup]
) -> Iterator[list[Ohms]]:
    """Resistance of all branches in each setup, the contacts as if closed [Ω]."""
    found = resistances(columns_of(circuits), (AT_REST, *setups))[:, :, 0]
    for circuit, own in zip(circuits, found.swapaxes(0, 1).tolist(), strict=True):
        rest, *rows = (dict(zip(ENDS, row, strict=True)) for row in own)
        yield [
            _with_pins(circuit, setup, row, rest)
            for setup, row in zip(setups, rows, strict=True)
        ]


def _with_pins(circuit: RelayCircuit, setup: Setup, row: Ohms, rest: Ohms) -> Ohms:
    """Add what stands by itself once it is taken out."""
    is_out = setup.relay_out or setup.jumper
    # Welded contacts stay closed in the hand, too, and hold the blade off 87a.
    closed, rests = circuit.contacts_ohm, is_out and not circuit.is_welded
    own = {
        **row,
        "pin_coil": rest["coil"] if is_out else math.inf,
        "pin_suppression": rest["suppression"] if is_out else math.inf,
        "pin_contacts": closed if is_out and circuit.is_welded else math.inf,
        "pin_break_contact": circuit.break_contact_ohm if rests else math.inf,
        "cavity_ground": rest["load_ground"] if setup.load_unplugged else math.inf,
    }
    return {name: own[name] for name in BRANCHES}


def lead_limits_a(sound: RelayCircuit) -> dict[str, float]:
    """Current above which the fuse of a lead or jumper opens at once, by branch [A]."""
    limit = LEAD_OPENS_FRAC * sound.load_fuse_rating_a
    return {
        "control_fuse": LEAD_OPENS_FRAC * CONTROL_FUSE_A,
        "load_fuse": limit,
        "jumper": limit,
    }
