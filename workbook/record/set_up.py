"""A set-up: what is switched, pulled and plugged, and where the instrument is put."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

COMMANDS: Mapping[str, str] = MappingProxyType(
    {"normal": "normal", "output test": "test", "off": "off"}
)
PARTS: Mapping[str, tuple[str, tuple[str, ...]]] = MappingProxyType(
    {
        "control_fuse": ("cf", ("in", "out", "lead")),
        "load_fuse": ("lf", ("in", "out", "lead")),
        "relay": ("re", ("in", "out", "jumper")),
        "load_connector": ("lc", ("in", "out")),
        "module": ("mo", ("in", "out", "jumper")),
        "neighbour": ("ne", ("in", "out")),
    }
)
"""What can be taken out: its word in a code, and its options, the first as it is."""

FUSES = ("control_fuse", "load_fuse")
AT_POINTS = ("volts", "ohms", "scope")
AUTO = "auto"


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """One set-up, as it is; what its instrument has no use for is empty.

    Parameters
    ----------
    command : str
        ``normal``, ``output test`` or ``off``.
    control_fuse, load_fuse : str
        ``in``, ``out``, or ``lead``: a fused lead in its place.
    relay : str
        ``in``, ``out``, or ``jumper``: a fused jumper between 30 and 87 of its socket.
    module : str
        ``in``, ``out``, or ``jumper``: past a smart switch, in the plug of its module.
    load_connector, neighbour : str
        ``in`` or ``out``.
    harness : str
        ``at rest`` or ``moved``.
    instrument : str
        ``volts``, ``ohms``, ``scope`` or ``clamp``.
    plus, minus : str
        Ids of points.
    wire, back : str
        Ids of the wire in the jaw, and of a second one.
    range : str
        Id of the meter's range, or ``auto``.
    scale : str
        Of the clamp [mV/A].
    zero : str
        ``zeroed`` or ``not zeroed``.
    """

    command: str = "normal"
    control_fuse: str = "in"
    load_fuse: str = "in"
    relay: str = "in"
    load_connector: str = "in"
    module: str = "in"
    neighbour: str = "in"
    harness: str = "at rest"
    instrument: str = "volts"
    plus: str = ""
    minus: str = ""
    wire: str = ""
    back: str = ""
    range: str = AUTO
    scale: str = ""
    zero: str = "zeroed"

    @property
    def out(self) -> dict[str, str]:
        """What is not in its place, by part."""
        return {
            part: own
            for part in PARTS
            if (own := getattr(self, part)) != PARTS[part][1][0]
        }

    def has_wire(self, wire: str) -> bool:
        """Whether a wire is there to close a clamp around."""
        if wire in FUSES:
            return bool(getattr(self, wire) == "lead")
        return wire != "jumper" or self.is_bridged

    @property
    def is_bridged(self) -> bool:
        """Whether a fused jumper lies past the contacts, or past a smart switch."""
        return "jumper" in (self.relay, self.module)

    @property
    def plain(self) -> SetUp:
        """The same without what its instrument has no use for."""
        if self.instrument == "clamp":
            return replace(self, plus="", minus="", range=AUTO)
        whole = replace(self, wire="", back="", scale="", zero="zeroed")
        return replace(whole, range=AUTO) if self.instrument == "scope" else whole
