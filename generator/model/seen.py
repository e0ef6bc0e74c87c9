"""What there is to see at the parts of a circuit, and what its module tells."""

from __future__ import annotations

from typing import Literal

import numpy as np

from generator.model.circuit import RelayCircuit
from generator.model.measure import DiagnosticTest


def word_seen(circuit: RelayCircuit, test: DiagnosticTest) -> int:
    """Number of the word that a look at a circuit gives."""
    word = {
        "control_fuse": fuse_seen("control_fuse", circuit),
        "load_fuse": fuse_seen("load_fuse", circuit),
        "enable": "yes" if circuit.is_enabled else "no",
        "mechanism": circuit.mechanism,
        "command": "yes" if circuit.is_driver_on else "no",
        "switch_out": "stops" if np.isinf(_past_switch_ohm(circuit)) else "runs on",
        "load_connector": _contacts_seen(circuit.load_connector_ohm),
        # With its relay out, a load runs on by a live wire behind the socket alone.
        "relay_out": "stops" if np.isinf(circuit.load_to_power_ohm) else "runs on",
        # At 0 nothing is hindered: the mechanism itself drives nothing, and a hand
        # finds it.
        "surroundings": "hindered" if 0 < circuit.work_frac < 1 else "clear",
    }[test.measure.target]
    return test.words.index(word)


# A contact pair above this is corroded, and green to the eye [Ω] (common practice, no
# source: a new one has some milliohms, a bad one some tenths of an ohm).
_GREEN_OHM = 0.05


def _contacts_seen(ohm: float) -> str:
    """What there is to see at the contacts of a connector."""
    if np.isinf(ohm):
        return "pushed back"
    return "green" if ohm > _GREEN_OHM else "clean"


def _past_switch_ohm(circuit: RelayCircuit) -> float:
    """What feeds a load whose smart switch is unplugged [Ω]."""
    return min(circuit.load_to_power_ohm, circuit.bridged_ohm)


def fuse_out(test: DiagnosticTest, circuit: RelayCircuit) -> str:
    """What there is to see at the fuse that a test's lead takes the place of.

    Nothing where the clamp sits on a wire, and where no clamp reads.
    """
    if test.measure.clamp is None:
        return ""
    if test.setup.control_lead:
        return fuse_seen("control_fuse", circuit)
    return fuse_seen("load_fuse", circuit) if test.setup.load_lead else ""


def fuse_seen(fuse: Literal["control_fuse", "load_fuse"], circuit: RelayCircuit) -> str:
    """What there is to see at a fuse that is taken out."""
    if fuse == "control_fuse":
        return "open" if np.isinf(circuit.control_fuse_ohm) else "intact"
    if np.isinf(circuit.load_fuse_ohm):
        return "open"
    return "too large" if circuit.is_load_fuse_large else "intact"
