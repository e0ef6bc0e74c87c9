"""The repairs that cure the faults, and what a wrong one costs.

Minutes are those of a practised technician with the part at hand (common practice, no
source).
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from generator.model.catalogue import TESTS

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["REPAIRS", "Repair", "repair_text", "wrong_repair_minutes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """A repair, in words with the circuit's names in braces.

    ``verified_by`` is the test done after it: normally the load current under an output
    test. A load that never stopped is read with the command off, for about as long.
    """

    text: str
    minutes: float
    verified_by: str = "load_current"


REPAIRS: Mapping[str, Repair] = MappingProxyType(
    {
        "replace_control_fuse": Repair(
            text="Replace control fuse {control_fuse}", minutes=2
        ),
        "mend_control_feed": Repair(
            text="Repair the wire or connector between control fuse {control_fuse} and "
            "terminal {coil_supply}",
            minutes=30,
        ),
        "replace_relay": Repair(
            text="Replace relay {relay} with one of the specified part", minutes=5
        ),
        "mend_control_return": Repair(
            text="Repair the wire between terminal {coil_return} and the control "
            "module",
            minutes=30,
        ),
        "replace_module": Repair(
            text="Replace the control module after its supplies and grounds are proved",
            minutes=60,
        ),
        # An output test drives the output whatever the inputs say.
        "restore_enable": Repair(
            text="Restore the missing enable input",
            minutes=20,
            verified_by="control_current",
        ),
        "replace_load_fuse": Repair(text="Replace load fuse {load_fuse}", minutes=2),
        "mend_load_feed": Repair(
            text="Repair the wire or connector between load fuse {load_fuse} and "
            "terminal 30",
            minutes=30,
        ),
        "mend_load_wire": Repair(
            text="Repair the wire between terminal 87 and connector {load_connector}",
            minutes=30,
        ),
        "mend_socket": Repair(
            text="Repair terminal 30 in the socket of relay {relay}", minutes=20
        ),
        "mend_load_connector": Repair(
            text="Repair connector {load_connector} of the {load}", minutes=20
        ),
        "mend_load_ground": Repair(
            text="Repair the ground connection of the {load}", minutes=15
        ),
        "replace_load": Repair(text="Replace the {load}", minutes=60),
        # The current may be right though the work is not done.
        "free_mechanism": Repair(
            text="Repair the {mechanism}", minutes=60, verified_by="load_check"
        ),
        "set_air_gap": Repair(
            text="Set the air gap of the {mechanism}",
            minutes=30,
            verified_by="load_check",
        ),
        "mend_upstream": Repair(text="Repair or replace the {upstream}", minutes=25),
        "mend_module_ground": Repair(
            text="Repair the ground of the control module", minutes=20
        ),
        "explain_use": Repair(
            text="No repair: explain to the operator when the module commands",
            minutes=5,
            verified_by="control_current",
        ),
    }
)


def repair_text(repair: str) -> str:
    """Words of a repair, or of several joined by plus signs, names in braces."""
    first, *more = (REPAIRS[part].text for part in repair.split("+"))
    return "; and ".join([first, *(f"{text[0].lower()}{text[1:]}" for text in more)])


def wrong_repair_minutes(repair: str) -> float:
    """Minutes lost on a repair, or on several, that do not cure: done, then verified.

    Examples
    --------
    >>> wrong_repair_minutes("replace_relay")
    11.0
    """
    parts = [REPAIRS[part] for part in repair.split("+")]
    verified = max(TESTS[part.verified_by].minutes for part in parts)
    return float(sum(part.minutes for part in parts) + verified)
