"""How a relay circuit can be built."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """How one circuit is built; the plainest by default."""

    fuses: Literal["two", "shared"] = "two"
    drive: Literal["low side", "high side"] = "low side"
    coil_supply: Literal["86", "85"] = "86"
    terminals: Literal[4, 5] = 4
    upstream: Literal["bus bar", "ignition switch", "main relay"] = "bus bar"
    supply: Literal["charging", "battery only"] = "charging"
    overload: Literal["limits", "shuts off"] = "limits"

    @property
    def text(self) -> str:
        """The variant in words."""
        return (
            f"{self.fuses} fuse{'s' if self.fuses == 'two' else ''}, {self.drive} "
            f"driver that {self.overload}, {self.terminals}-terminal relay with supply "
            f"at {self.coil_supply}, fed by a {self.upstream}, {self.supply}"
        )
