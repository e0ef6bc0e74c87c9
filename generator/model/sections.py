"""The sections of a circuit: where along its current's path a fault can lie.

A fault lies where its repair is done, and one with two repairs in two sections.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from generator.model.circuit import RelayCircuit
    from generator.model.faults import Fault

__all__ = ["Section", "sections_along", "sections_of"]

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
        {"upstream": "{upstream}", "shared_fuse": "shared fuse {load_fuse}"},
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
            "module_ground": "ground of {module}",
        },
    ),
    (
        "load circuit",
        {
            "load_fuse": "load fuse {load_fuse}",
            "load_feed": "wire to 30",
            "socket": "socket of {relay}",
            "contacts": "contacts of {relay}",
            "load_wire": "wire from 87",
            "load_connector": "connector {load_connector}",
            "load": "{load}",
            "load_ground": "ground of the {load}",
            "mechanism": "{mechanism}",
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
_LOAD = (
    *("load_feed", "socket", "contacts", "load_wire", "load_connector"),
    *("load", "load_ground", "mechanism"),
)
_WHERE: Mapping[str, str] = MappingProxyType(
    {
        "replace_control_fuse": "control_fuse",
        "mend_control_feed": "control_feed",
        "mend_control_return": "control_return",
        "replace_module": "module",
        "mend_module_ground": "module_ground",
        "restore_enable": "enable",
        "explain_use": "enable",
        "replace_load_fuse": "load_fuse",
        "mend_load_feed": "load_feed",
        "mend_socket": "socket",
        "mend_load_wire": "load_wire",
        "mend_load_connector": "load_connector",
        "mend_load_ground": "load_ground",
        "replace_load": "load",
        "free_mechanism": "mechanism",
        "set_air_gap": "mechanism",
        "mend_upstream": "upstream",
    }
)


def sections_along(circuit: RelayCircuit) -> tuple[Section, ...]:
    """Sections of a circuit in the order of its current: control first, then load."""
    control = _HIGH_SIDE if circuit.is_high_side else _LOW_SIDE
    if circuit.is_fuse_shared:
        order = ("upstream", "shared_fuse", *control, *_LOAD)
    else:
        order = ("upstream", "control_fuse", *control, "load_fuse", *_LOAD)
    return tuple(_SECTIONS[id_] for id_ in order)


def sections_of(fault: Fault, circuit: RelayCircuit) -> frozenset[str]:
    """Ids of the sections of a circuit in which a fault lies."""
    relay = "coil" if fault.side == "control side" else "contacts"
    where = {
        relay if repair == "replace_relay" else _WHERE[repair]
        for repair in fault.repair.split("+")
    }
    if circuit.is_fuse_shared and "load_fuse" in where:
        where = where - {"load_fuse"} | {"shared_fuse"}
    return frozenset(where)
