"""How a circuit can be built."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Fuses = Literal["two", "shared"]
Drive = Literal["low side", "high side"]
CoilSupply = Literal["86", "85"]
Terminals = Literal[4, 5]
Upstream = Literal["bus bar", "ignition switch", "main relay"]
Supply = Literal["charging", "battery only"]
Overload = Literal["limits", "shuts off"]
Ground = Literal["own", "shared"]
Switch = Literal["relay", "smart"]
"""What switches the load: contacts that a coil closes, or a switch without contacts."""
LoadKind = Literal[
    "heater",
    "pulsed heater",
    "lamp bank",
    "fan motor",
    "pump motor",
    "solenoid valve",
    "magnetic clutch",
]
CoilState = Literal["workshop", "cold morning", "after work"]
"""How warm the coil is while its vehicle is diagnosed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """How one circuit is built; the plainest by default."""

    fuses: Fuses = "two"
    drive: Drive = "low side"
    coil_supply: CoilSupply = "86"
    terminals: Terminals = 4
    upstream: Upstream = "bus bar"
    supply: Supply = "charging"
    overload: Overload = "limits"
    ground: Ground = "own"
    switch: Switch = "relay"

    @property
    def text(self) -> str:
        """The variant in words."""
        shared = ", shared ground point" if self.ground == "shared" else ""
        article = "an" if self.upstream.startswith("i") else "a"
        feed = f"fed by {article} {self.upstream}, {self.supply}{shared}"
        if self.switch == "smart":
            return f"one fuse, smart switch without relay, {feed}"
        return (
            f"{self.fuses} fuse{'s' if self.fuses == 'two' else ''}, {self.drive} "
            f"driver that {self.overload}, {self.terminals}-terminal relay with supply "
            f"at {self.coil_supply}, {feed}"
        )
