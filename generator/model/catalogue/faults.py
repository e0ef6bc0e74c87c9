"""The fault model: every fault is an edit of a sound circuit.

Severities are drawn from the range that each fault states. The priors are rough
relative frequencies from the trade (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from generator.model import edits
from generator.model.catalogue.control_faults import CONTROL_FAULTS
from generator.model.catalogue.fault import Fault
from generator.model.catalogue.load_faults import ALONE, LOAD_FAULTS
from generator.model.catalogue.mechanical_faults import MECHANICAL_FAULTS
from generator.model.complaints import Manner

_WHEN: Mapping[Manner, str] = MappingProxyType(
    {"moved": "only when the harness moves", "warm": "only when it is warm"}
)


def _intermittent(fault: Fault, manner: Manner) -> Fault:
    """A fault that is there only while the harness is wiggled and warm."""
    return replace(
        fault,
        id=f"{fault.id}_at_times",
        title=f"{fault.title}, {_WHEN[manner]}",
        prior=fault.prior * 0.5,
        is_intermittent=True,
        manner=manner,
    )


def _both(first: Fault, second: Fault) -> Fault:
    """Two faults at once: cured by both repairs only."""
    return Fault(
        id=f"{first.id}_and_{second.id}",
        title=f"{first.title.removesuffix(ALONE)}, and {second.title[0].lower()}"
        f"{second.title[1:]}",
        side=first.side,
        repair=f"{first.repair}+{second.repair}",
        prior=first.prior * second.prior * 0.1,
        edit=lambda circuit, s: second.edit(first.edit(circuit, s), s),
        severity=_overlap(first.severity, second.severity),
        applies=lambda circuit: first.applies(circuit) and second.applies(circuit),
        is_advanced=True,
    )


def _overlap(
    first: tuple[float, float], second: tuple[float, float]
) -> tuple[float, float]:
    """Severities that suit both, where one of them has none of its own."""
    return second if first == (1.0, 1.0) else first


_IN_ORDER = (*CONTROL_FAULTS, *LOAD_FAULTS, *MECHANICAL_FAULTS)
_SINGLE = {fault.id: fault for fault in _IN_ORDER}
_MOVED = (
    *("control_feed_open", "control_return_open", "load_feed_open"),
    *("load_wire_open", "load_connector_open", "load_ground_open"),
)
_WARM = ("coil_open", "contacts_open", "load_open")
_AT_TIMES = (
    *(_intermittent(_SINGLE[name], "moved") for name in _MOVED),
    *(_intermittent(_SINGLE[name], "warm") for name in _WARM),
    # A crack that opens when it is warm shows in no look at a cold fuse.
    *(
        replace(
            _intermittent(_SINGLE[f"{side}_fuse_open"], "warm"),
            title=f"The element of {side} fuse {{{side}_fuse}} has a crack, open only "
            "when it is warm",
        )
        for side in ("control", "load")
    ),
)
# A fuse that is only too large is noticed by no one, until something else is wrong.
_LARGE_FUSE = Fault(
    id="load_fuse_too_large",
    title="Load fuse {load_fuse} is of twice the rating",
    side="load side",
    repair="replace_load_fuse",
    prior=1.5,
    edit=lambda circuit, _: edits.double_fuse(circuit),
)
_DOUBLES = (
    *(
        _both(_SINGLE[first], _SINGLE[second])
        for first, second in (
            ("contacts_resistance", "load_ground_resistance"),
            ("load_fuse_open", "enable_missing"),
            ("control_fuse_open", "load_ground_open"),
            ("control_return_open", "load_open"),
        )
    ),
    _both(_SINGLE["contacts_resistance"], _LARGE_FUSE),
    _both(_SINGLE["load_wire_resistance"], _LARGE_FUSE),
    _both(_SINGLE["load_ground_resistance"], _LARGE_FUSE),
)
FAULTS: Mapping[str, Fault] = MappingProxyType(
    _SINGLE | {fault.id: fault for fault in (*_AT_TIMES, *_DOUBLES)}
)
