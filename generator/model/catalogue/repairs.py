"""The repairs that cure the faults, what a wrong one costs, and where a fault lies.

Minutes are those of a practised technician with the part at hand (common practice, no
source).

A fault lies where its repair is done, and one with two repairs in two sections.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from generator.model.catalogue.fault import Fault
from generator.model.catalogue.tests import TESTS
from generator.model.circuit import RelayCircuit
from generator.model.places import PlaceId

Branch = Literal["both circuits", "control circuit", "load circuit"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section: its label names the circuit's parts in braces.

    ``branch`` says which of the two circuits it belongs to, or that it feeds both.
    """

    id: str
    label: str
    branch: Branch


_PARTS: tuple[tuple[Branch, Mapping[str, str]], ...] = (
    (
        "both circuits",
        {
            "supply": "battery and charging",
            "upstream": "{upstream}",
            "shared_fuse": "shared fuse {load_fuse}",
        },
    ),
    (
        "control circuit",
        {
            "control_fuse": "control fuse {control_fuse}",
            "control_feed": "wire to {coil_supply}",
            "coil": "coil of {relay}",
            "control_return": "wire from {coil_return}",
            "enable": "enable inputs",
            "module": "driver of {module}",
            "module_ground": "driver's ground of {module}",
        },
    ),
    (
        "load circuit",
        {
            "load_fuse": "load fuse {load_fuse}",
            "fuse_holder": "holder of {load_fuse}",
            "load_feed": "wire to {pin_in}",
            "socket": "socket of {relay}",
            "contacts": "contacts of {relay}",
            "switch_plug": "plug of {module}",
            "switch": "switch in {module}",
            "load_wire": "wire from {pin_out}",
            "load_connector": "connector {load_connector}",
            "load": "{load}",
            "load_ground": "ground of the {load}",
            "mechanism": "{mechanism}",
            "surroundings": "surroundings of the {load}",
        },
    ),
)
_SECTIONS = {
    id_: Section(id=id_, label=label, branch=branch)
    for branch, labels in _PARTS
    for id_, label in labels.items()
}
_COIL = ("control_feed", "coil", "control_return")
_LOW_SIDE = (*_COIL, "enable", "module", "module_ground")
_HIGH_SIDE = ("enable", "module", *_COIL)
_FROM_FUSE = ("fuse_holder", "load_feed")
_TO_GROUND = (
    *("load_wire", "load_connector"),
    *("load", "load_ground", "mechanism", "surroundings"),
)
_SWITCH = "switch_plug", "switch"
_LOAD = (*_FROM_FUSE, "socket", "contacts", *_TO_GROUND)


def sections_along(circuit: RelayCircuit) -> tuple[Section, ...]:
    """Sections of a circuit in the order of its current: control first, then load."""
    if circuit.is_smart:
        fed = ("supply", "upstream", "enable", "load_fuse", *_FROM_FUSE)
        return tuple(_SECTIONS[id_] for id_ in (*fed, *_SWITCH, *_TO_GROUND))
    control = _HIGH_SIDE if circuit.is_high_side else _LOW_SIDE
    if circuit.is_fuse_shared:
        order = ("supply", "upstream", "shared_fuse", *control, *_LOAD)
    else:
        fused = ("control_fuse", *control, "load_fuse")
        order = ("supply", "upstream", *fused, *_LOAD)
    return tuple(_SECTIONS[id_] for id_ in order)


def sections_of(fault: Fault, circuit: RelayCircuit) -> frozenset[str]:
    """Ids of the sections of a circuit in which a fault lies."""
    # A relay is one part in two circuits: its repair is the same, and where it lies is
    # not.
    relay = "coil" if fault.side == "control side" else "contacts"
    mended = {id_: one.section or id_.partition("_")[2] for id_, one in REPAIRS.items()}
    mended["replace_relay"] = relay
    where = {mended[repair] for repair in fault.repair.split("+")}
    if circuit.is_fuse_shared and "load_fuse" in where:
        where = where - {"load_fuse"} | {"shared_fuse"}
    return frozenset(where)


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """A repair, in words with the circuit's names in braces.

    ``section`` is the id of what it mends, where its own id does not end with that; of
    a relay it is coil or contacts, by the fault. ``place`` is where it is done, if that
    is a place of its own, and ``high_side_place`` where the driver is on the high side,
    if that is another one.
    ``verified_by`` is the test done after it: normally the load current under an output
    test. A load that never stopped is read with the command off, for about as long.
    """

    text: str
    minutes: float
    section: str = ""
    place: PlaceId | None = None
    high_side_place: PlaceId | None = None
    verified_by: str = "load_current"

    def place_on(self, *, is_high_side: bool) -> PlaceId | None:
        """Where it is done on a circuit, by the side of its driver."""
        return (self.high_side_place if is_high_side else None) or self.place


REPAIRS: Mapping[str, Repair] = MappingProxyType(
    {
        "restore_supply": Repair(
            text="Charge and test the battery, and repair its charging",
            minutes=45,
            place="battery",
        ),
        "replace_control_fuse": Repair(
            text="Replace control fuse {control_fuse}", minutes=2, place="fuse_box"
        ),
        "mend_control_feed": Repair(
            text="Repair the wire or connector between {feed_from} and terminal "
            "{coil_supply}",
            minutes=30,
            place="relay_pins",
        ),
        "replace_relay": Repair(
            text="Replace relay {relay} with one of the specified part",
            minutes=5,
            place="relay",
        ),
        "mend_control_return": Repair(
            text="Repair the wire from terminal {coil_return} {return_to}",
            minutes=30,
            place="module",
            # There this wire goes from the relay to ground.
            high_side_place="relay_pins",
        ),
        "replace_module": Repair(
            text="Replace the control module after its supplies and grounds are proved",
            minutes=60,
            place="module",
        ),
        "mend_input": Repair(
            text="Repair the input that is stuck", minutes=20, section="enable"
        ),
        "mend_switch_plug": Repair(
            text="Repair the terminals in the plug of {module}",
            minutes=25,
            place="module",
        ),
        "replace_switch": Repair(
            text="Replace {module} after its supply, its command and the wire to the "
            "{load} are proved",
            minutes=60,
            place="module",
        ),
        # An output test drives the output whatever the inputs say.
        "restore_enable": Repair(
            text="Restore the missing enable input",
            minutes=20,
            verified_by="control_current",
        ),
        "replace_load_fuse": Repair(
            text="Replace load fuse {load_fuse}", minutes=2, place="fuse_box"
        ),
        "mend_load_feed": Repair(
            text="Repair the wire or connector between load fuse {load_fuse} and "
            "terminal {pin_in}",
            minutes=30,
            place="relay_pins",
        ),
        "mend_load_wire": Repair(
            text="Repair the wire between terminal {pin_out} and connector "
            "{load_connector}",
            minutes=30,
            place="load",
        ),
        "mend_socket": Repair(
            text="Repair terminal 30 in the socket of relay {relay}",
            minutes=20,
            place="relay_pins",
        ),
        "mend_load_connector": Repair(
            text="Repair connector {load_connector} of the {load}",
            minutes=20,
            place="load",
        ),
        "mend_load_ground": Repair(
            text="Repair the ground connection of the {load}",
            minutes=15,
            place="ground",
        ),
        "mend_shared_ground": Repair(
            text="Repair the ground point that the {load} shares with the {neighbour}",
            minutes=15,
            section="load_ground",
            place="ground",
        ),
        "replace_load": Repair(text="Replace the {load}", minutes=60, place="load"),
        # The current may be right though the work is not done.
        "free_mechanism": Repair(
            text="Repair the {mechanism}",
            minutes=60,
            place="load",
            verified_by="load_check",
        ),
        "set_air_gap": Repair(
            text="Set the air gap of the {mechanism}",
            minutes=30,
            section="mechanism",
            place="load",
            verified_by="load_check",
        ),
        "clear_hindrance": Repair(
            text="Clear away what hinders the {load}: {hindrance}",
            minutes=20,
            section="surroundings",
            place="load",
            verified_by="look_at_load",
        ),
        # Its current was right before, too.
        "mend_fuse_holder": Repair(
            text="Replace the holder of load fuse {load_fuse} with its crimps",
            minutes=30,
            place="fuse_box",
            verified_by="drop_supply_30",
        ),
        "mend_upstream": Repair(
            text="Repair or replace the {upstream}", minutes=25, place="fuse_box"
        ),
        "mend_module_ground": Repair(
            text="Repair the driver's ground of the control module",
            minutes=20,
            place="module",
        ),
        "explain_use": Repair(
            text="No repair: explain to the operator when the module commands",
            minutes=5,
            section="enable",
            verified_by="control_current",
        ),
    }
)


def repair_text(repair: str) -> str:
    """Words of a repair, or of several joined by plus signs, names in braces."""
    first, *more = (REPAIRS[part].text for part in repair.split("+"))
    return "; and ".join([first, *(f"{text[0].lower()}{text[1:]}" for text in more)])


def wrong_repair_minutes(
    repair: str, reach_min: Mapping[PlaceId, float], *, is_high_side: bool = False
) -> float:
    """Minutes lost on a repair, or on several, that do not cure: done, then verified.

    Parameters
    ----------
    repair : str
    reach_min : mapping of str to float
        Minutes to reach each place.
    is_high_side : bool
        Whether the circuit's driver stands before the coil.

    Examples
    --------
    >>> reach = {"fuse_box": 2.0, "scan_tool": 2.0, "relay": 1.0}
    >>> wrong_repair_minutes("replace_relay", reach)
    12.0
    """
    parts = repair.split("+")
    verified = [TESTS[REPAIRS[part].verified_by] for part in parts]
    done_at = (REPAIRS[part].place_on(is_high_side=is_high_side) for part in parts)
    # Places that are open by then are paid again: what is lost on a wrong repair
    # depends on no way to it.
    places = {place for place in done_at if place}
    places |= {place for test in verified for place in test.needs}
    own = sum(REPAIRS[part].minutes for part in parts)
    # Both repairs are proved at once, by the one that takes longer to read.
    reading = max(test.minutes for test in verified)
    return float(own + reading + sum(reach_min[place] for place in places))
