"""What is written on one wiring diagram: names, ratings, wires and inputs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from generator.model.variant import LoadKind, Variant

Suppression = Literal["resistor", "diode"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseLabel:
    """A fuse as the diagram names it.

    Parameters
    ----------
    name : str
        Position in the fuse box, such as ``"F12"``.
    rating : str
        Rated current with its unit, such as ``"5 A"``.
    """

    name: str
    rating: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WireLabel:
    """A wire as the diagram names it.

    Parameters
    ----------
    colour : str
        Colour letters, main colour first, such as ``"RD/BK"``.
    area_mm2 : float
        Cross-section of the conductor [mm²].

    References
    ----------
    IEC 60757, Code for designation of colours: BK, BN, RD, OG, YE, GN, BU, VT, GY, WH.
    """

    colour: str
    area_mm2: float

    @property
    def text(self) -> str:
        """Colour and cross-section as printed along the wire."""
        return f"{self.colour} {self.area_mm2:g} mm²"


@dataclass(frozen=True, slots=True, kw_only=True)
class WireLabels:
    """The wires of a relay circuit.

    With a high-side driver the control return goes to ground by itself, and there is
    no module ground in the control circuit.
    """

    control_feed: WireLabel
    control_return: WireLabel
    module_ground: WireLabel
    load_feed: WireLabel
    load_wire: WireLabel
    load_ground: WireLabel


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagramLabels:
    """Everything that differs from one wiring diagram to the next.

    Parameters
    ----------
    variant : Variant
        How the circuit is built.
    supply : str
        The supply, such as ``"12 V battery"``.
    upstream : str
        Name of what feeds the fuses, such as ``"main relay K1"``; a bus bar is drawn
        as the line that it is, without its name.
    control_fuse, load_fuse : FuseLabel
        Fuses of the two circuits; twice the same where they share one.
    relay : str
        Name of the relay, such as ``"K4"``, or of the module that has its place.
    module : str
        Name of the control module that switches the coil, or the load itself.
    neighbour : str
        What has its ground at the load's ground point, where anything has.
    load : str
        Name of the load, such as ``"Radiator fan"``.
    load_connector : str
        Name of the connector on its supply side, such as ``"X12"``.
    load_kind : LoadKind
        Which symbol the load has.
    suppression : {"resistor", "diode"}
        What lies in parallel to the coil inside the relay.
    wires : WireLabels
        Colours and cross-sections.
    enable_inputs : tuple of str
        What the module must see before it gives the command, in words.
    """

    variant: Variant
    supply: str
    upstream: str
    control_fuse: FuseLabel
    load_fuse: FuseLabel
    relay: str
    module: str
    neighbour: str
    load: str
    load_connector: str
    load_kind: LoadKind
    suppression: Suppression
    wires: WireLabels
    enable_inputs: tuple[str, ...]

    @property
    def is_fuse_shared(self) -> bool:
        """Whether both circuits have one fuse."""
        return self.variant.fuses == "shared"

    @property
    def is_ground_shared(self) -> bool:
        """Whether something else has its ground at the load's ground point."""
        return self.variant.ground == "shared"

    @property
    def is_high_side(self) -> bool:
        """Whether the driver is before the coil."""
        return self.variant.drive == "high side"

    @property
    def is_smart(self) -> bool:
        """Whether the module itself switches the load, and there is no relay."""
        return self.variant.switch == "smart"

    @property
    def load_pins(self) -> tuple[str, str]:
        """Terminals of what switches the load, on the supply side first."""
        return ("B1", "Q1") if self.is_smart else ("30", "87")

    @property
    def has_switch_upstream(self) -> bool:
        """Whether a contact feeds the fuses, not a bus bar."""
        return self.variant.upstream != "bus bar"

    @property
    def upstream_pins(self) -> tuple[str, str]:
        """Terminals of the ignition switch or main relay, on the supply side first."""
        # Behind an ignition switch it is terminal 15, behind a relay's contacts 87 (DIN
        # 72552, from memory).
        return ("30", "15" if self.variant.upstream == "ignition switch" else "87")

    @property
    def coil_pins(self) -> tuple[str, str]:
        """Terminals of the coil, that on the supply side first."""
        return ("86", "85") if self.variant.coil_supply == "86" else ("85", "86")

    @property
    def engine(self) -> str:
        """What the engine does: with it the supply is charged."""
        is_charged = self.variant.supply == "charging"
        return "engine running" if is_charged else "engine off"
