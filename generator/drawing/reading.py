"""What one test gives on a vehicle, and how it is said."""

from __future__ import annotations

from dataclasses import dataclass

from generator.drawing.turn_off import TurnOff
from generator.model.network import Network
from workbook.texts import _, later

# What there is to see at the fuse that a lead takes the place of.
_FUSE = {
    "intact": later("the fuse that came out is whole"),
    "open": later("the fuse that came out is open"),
    "too large": later("the fuse that came out is larger than the sheet gives"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one test gives on the vehicle: true value, display, and its network.

    ``value`` is in the base unit, or the number of its word for a state. A reading of
    a scope has the turn-off that it looks at, one with a lead in place of a fuse what
    there is to see at that fuse.
    """

    value: float
    display: str
    network: Network
    turn_off: TurnOff | None = None
    fuse: str = ""

    @property
    def said(self) -> str:
        """What is read, in the language of the page where it is in words."""
        if self.fuse:
            return f"{self.shown}; {_(_FUSE[self.fuse])}"
        return self.shown

    @property
    def shown(self) -> str:
        """What the instrument shows, in that language."""
        if self.turn_off is None:
            return _(self.display)
        peak = _("Peak to peak {volts}")
        return peak.format(volts=self.display.removeprefix("Peak to peak "))
