"""What is asked after the repair: the display that proves it."""

from __future__ import annotations

from generator.drawing.predictions import Prediction, SoundCurrents, at_load_fuse
from generator.model.circuit import RelayCircuit
from workbook.texts import later


def new_verification(nominal: RelayCircuit, currents: SoundCurrents) -> Prediction:
    """Ask what the meter will show at the fuse of the load after the repair."""
    words = {
        "right": later(
            "{amperes} × 10 mV/A is {display}, and that reading proves the repair."
        ),
        **(_AT_SHARED_FUSE if nominal.is_fuse_shared else _AT_LOAD_FUSE),
    }
    return at_load_fuse("after_repair", words, nominal, currents)


_AT_LOAD_FUSE = {
    "label": later(
        "Meter display behind the clamp at the load fuse after the repair, 10 mV/A "
        "scale"
    ),
    "help": later("Load current of the sound circuit times the scale."),
    "wrong": later(
        "After the repair the load draws {amperes} again: × 10 mV/A is {display}, "
        "anything from {band}."
    ),
}
_AT_SHARED_FUSE = {
    "label": later(
        "Meter display behind the clamp at the shared fuse after the repair, 10 mV/A "
        "scale"
    ),
    "help": later(
        "Load current plus control current of the sound circuit times the scale."
    ),
    "wrong": later(
        "After the repair load and coil together draw {amperes} again: × 10 mV/A is "
        "{display}, anything from {band}."
    ),
}
