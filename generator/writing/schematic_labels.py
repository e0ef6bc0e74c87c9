"""What is written on one wiring diagram: names, ratings, wires and inputs."""

from dataclasses import dataclass
from typing import Literal

LoadKind = Literal["heater", "fan motor", "solenoid valve"]
Suppression = Literal["resistor", "diode", "none"]


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
    """The six wires of a relay circuit with two fuses and a low-side driver."""

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
    supply : str
        The supply, such as ``"12 V battery"``.
    control_fuse, load_fuse : FuseLabel
        Fuses of the two circuits.
    relay : str
        Name of the relay, such as ``"K4"``.
    module : str
        Name of the control module that switches the coil to ground.
    load : str
        Name of the load, such as ``"Radiator fan"``.
    load_kind : {"heater", "fan motor", "solenoid valve"}
        Which symbol the load has.
    suppression : {"resistor", "diode", "none"}
        What lies in parallel to the coil inside the relay.
    wires : WireLabels
        Colours and cross-sections.
    enable_inputs : tuple of str
        What the module must see before it gives the command, in words.
    """

    supply: str
    control_fuse: FuseLabel
    load_fuse: FuseLabel
    relay: str
    module: str
    load: str
    load_kind: LoadKind
    suppression: Suppression
    wires: WireLabels
    enable_inputs: tuple[str, ...]
