"""Where the parts of a circuit are reached, and what that takes, once.

Minutes are those of a practised technician; where a part lies deep they are most of a
test (common practice, no source). A family's part file says more of its machine.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, get_args

PlaceId = Literal[
    "battery",
    "fuse_box",
    "scan_tool",
    "relay",
    "relay_pins",
    "module",
    "load",
    "ground",
]
PLACE_IDS: tuple[PlaceId, ...] = get_args(PlaceId)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place of one vehicle.

    Attributes
    ----------
    label : str
        What is reached there, the circuit's names in braces.
    where : str
        Where it is on this machine, and what has to come off.
    minutes : float
        To reach it; it then stays open.
    risk : str
        What can hurt there; empty where nothing does.
    """

    id: PlaceId
    label: str
    where: str
    minutes: float
    risk: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualPlace:
    """A place of no particular machine: its words, and the range of its minutes."""

    label: str
    where: str
    minutes: tuple[float, float]
    risk: str = ""


USUAL: Mapping[PlaceId, UsualPlace] = MappingProxyType(
    {
        "battery": UsualPlace(
            label="Posts of the battery",
            where="under a cover that lifts off",
            minutes=(1, 2),
            risk="No sparks and no tools across the posts: a battery gives off gas.",
        ),
        "fuse_box": UsualPlace(
            label="Fuse box",
            where="in the cab, behind a cover with two clips",
            minutes=(1.5, 3),
        ),
        "scan_tool": UsualPlace(
            label="Socket of the scan tool",
            where="in the cab, under the dash",
            minutes=(1.5, 2.5),
        ),
        "relay": UsualPlace(
            label="Socket of {relay}, from above",
            where="in the relay box beside the fuses: pull the relay",
            minutes=(1, 2),
        ),
        "relay_pins": UsualPlace(
            label="Terminals of {relay} while it is plugged in",
            where="under the relay box: unscrew and turn it, or take a break-out lead",
            minutes=(5, 8),
        ),
        "module": UsualPlace(
            label="Connector of {module}",
            where="behind a trim panel",
            minutes=(5, 9),
        ),
        "load": UsualPlace(
            label="The {load} and its connector {load_connector}",
            where="behind a cover on the machine",
            minutes=(6, 12),
            risk="Engine stopped and key out before a cover comes off.",
        ),
        "ground": UsualPlace(
            label="Ground point of the {load}",
            where="on the frame near the load, under dirt and paint",
            minutes=(3, 6),
        ),
    }
)
"""Places of which a part file says nothing, in the order of the sheet."""
