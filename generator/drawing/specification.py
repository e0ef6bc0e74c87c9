"""What a circuit should be: drawn names, values and the sheet that tells them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from generator.drawing.names import Named
from generator.drawing.nominal import (
    at_temperature,
    beside_neighbour,
    new_nominal,
    tolerances_of,
    with_smart_switch,
)
from generator.drawing.sheet import WAY_BACK_FRAC, sheet_of
from generator.drawing.stream import Stream
from generator.model.catalogue.load_faults import SHARES_GROUND
from generator.model.circuit import SHEET_DEGC, RelayCircuit, SheetRow
from generator.model.parts import CONTROL_FUSE_A
from generator.model.places import USUAL, Place, PlaceId
from generator.model.variant import CoilState, Variant
from lessons.family import Family
from lessons.schema import Lesson, Variants
from workbook.texts import later

_UPSTREAM = {
    "bus bar": later("bus bar"),
    "ignition switch": later("ignition switch"),
    "main relay": later("main relay K1"),
}
# Where the wires of the coil come from, and where they go: a driver on the high side
# stands before the coil.
_FEED_FROM = {
    "low side": later("fuse {control_fuse}"),
    "high side": later("the driver of {module}"),
}
_RETURN_TO = {
    "low side": later("to the control module"),
    "high side": later("to ground"),
}
# Coils after a night outside, and after hours of work: by themselves they warm by some
# 40 K, and what is around them is warm by then (common practice, no source).
_COIL_DEGC: Mapping[CoilState, tuple[float, float]] = {
    "workshop": (SHEET_DEGC, SHEET_DEGC),
    "cold morning": (-28.0, -20.0),
    "after work": (65.0, 85.0),
}
_WORKSHOP: tuple[CoilState, ...] = ("workshop",)
_COLOURS = ("RD", "BK", "BU", "GN", "YE", "WH", "VT", "OG", "GY", "BN")
# What a smart switch makes of the plainest circuit: no part of its control circuit.
_WITHOUT_RELAY: Mapping[str, Any] = {
    "fuses": "two",
    "drive": "low side",
    "coil_supply": "86",
    "terminals": 4,
    "overload": "limits",
}
_WITHOUT_EFFECT = ("supply_ohm", "control_feed_ohm", "control_return_ohm")
_AT_RELAY: tuple[PlaceId, ...] = ("relay", "relay_pins")
_SQRT3 = math.sqrt(3.0)
_NEIGHBOUR = later("left work lamps")
_PLUG_BESIDE = later(
    "The {load} and its connector {load_connector}, beside them the plug of the "
    "{neighbour}"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Specification:
    """A sound circuit: nominal values, names, and how far values may be off.

    ``source_names`` are not translated yet. ``tolerance_frac`` gives the limits of each
    value of the circuit as a fraction of it; ``control_fuse_a``, ``area_mm2`` are what
    is printed on the diagram. ``reach_min`` are the minutes to each place.
    """

    family: Family
    source_names: Named
    variant: Variant
    nominal: RelayCircuit
    tolerance_frac: Mapping[str, float]
    control_fuse_a: float
    area_mm2: float
    reach_min: Mapping[PlaceId, float]

    @property
    def places(self) -> tuple[Place, ...]:
        """Where the parts of this vehicle are, in the language spoken."""
        fill = self.names.fill
        return tuple(
            Place(
                id=id_,
                label=fill(self._label_of(id_)),
                where=fill(own.where),
                minutes=self.reach_min[id_],
                risk=fill(own.risk),
            )
            for id_ in USUAL
            for own in (self.family.places.of(id_),)
            if self.nominal.has_relay or id_ not in _AT_RELAY
        )

    def _label_of(self, place: PlaceId) -> str:
        """What is reached at a place, the circuit's names in braces."""
        is_beside = place == "load" and self.nominal.is_ground_shared
        return _PLUG_BESIDE if is_beside else USUAL[place].label

    @property
    def names(self) -> Named:
        """What the parts are called in the language spoken."""
        return self.source_names.translated

    @property
    def sheet(self) -> tuple[SheetRow, ...]:
        """The specification sheet in the language spoken."""
        return sheet_of(self.nominal, self.family, self.variant, self.names)

    @property
    def steps(self) -> dict[str, float]:
        """Standard uncertainty of each value as a fraction: limits over √3.

        Left out is what moves no reading by a thousandth: a share of the few
        milliohms beside a coil or in a charged battery.
        """
        return {
            name: frac / _SQRT3
            for name, frac in self.tolerance_frac.items()
            if name not in _WITHOUT_EFFECT
        }

    def built(self, stream: Stream) -> RelayCircuit:
        """Draw the circuit of one vehicle within the tolerances."""
        values = {
            name: getattr(self.nominal, name) * (1 + stream.uniform(-frac, frac))
            for name, frac in self.tolerance_frac.items()
        }
        return replace(self.nominal, **values)


def new_variant(allowed: Variants, stream: Stream) -> Variant:
    """Draw how a circuit is built, from what a lesson allows."""
    # These only where there is a choice: of other lessons the same draws come out
    # without them.
    late = "ground", "switch"
    drawn = {part: stream.choice(ways) for part, ways in allowed if part not in late}
    own = {part: getattr(allowed, part) for part in late}
    drawn |= {
        part: stream.choice(ways) if len(ways) > 1 else ways[0]
        for part, ways in own.items()
    }
    return Variant(**drawn)


def new_specification(
    lesson: Lesson, family: Family, variant: Variant, stream: Stream
) -> Specification:
    """Draw the specification of one circuit from a lesson's and a family's ranges.

    Where the family's enable inputs are never present with the variant's supply, it has
    the other one; where its load is too large for a neighbour's lamps, its ground is
    its own.
    """
    if variant.supply not in family.supply:
        variant = replace(variant, supply=family.supply[0])
    if family.kind not in SHARES_GROUND:
        variant = replace(variant, ground="own")
    if variant.switch == "smart":
        variant = replace(variant, **_WITHOUT_RELAY)
    names = _names(family, variant, stream)
    # Its own stream: a lesson of warm coils draws all else as one of cold coils does.
    degc = _coil_degc(lesson, family, stream.aside("coil"))
    if variant.switch == "smart":
        degc = SHEET_DEGC
    at_20_degc = new_nominal(family, variant, lesson.supply_v, stream)
    nominal = at_temperature(at_20_degc, family.kind, degc)
    if variant.switch == "smart":
        nominal = with_smart_switch(nominal)
    if variant.ground == "shared":
        nominal = beside_neighbour(nominal, stream.aside("neighbour"))
    return Specification(
        family=family,
        source_names=names,
        variant=variant,
        nominal=nominal,
        tolerance_frac=tolerances_of(family) | _of_neighbour(variant),
        control_fuse_a=CONTROL_FUSE_A,
        area_mm2=family.ranges.wire_area_mm2[0],
        reach_min=_reach_min(family, variant, stream),
    )


def _reach_min(
    family: Family, variant: Variant, stream: Stream
) -> dict[PlaceId, float]:
    """Minutes to each place of one vehicle."""
    reach = {
        # To half a minute: more digits would promise what nobody can keep.
        id_: round(2 * stream.uniform(*family.places.of(id_).minutes)) / 2
        for id_ in USUAL
    }
    if variant.switch == "smart":
        # What repairs do at a relay is done at the plug of the switch.
        reach.update(dict.fromkeys(_AT_RELAY, reach["module"]))
    return reach


def _coil_degc(lesson: Lesson, family: Family, stream: Stream) -> float:
    """Temperature of the coil in all tests, in whole degrees [°C]."""
    is_never_cold = family.needs_heat
    states = [s for s in lesson.coil if not (is_never_cold and s == "cold morning")]
    state = stream.choice(states or _WORKSHOP)
    return float(round(stream.uniform(*_COIL_DEGC[state])))


def _of_neighbour(variant: Variant) -> dict[str, float]:
    """Tolerance of the way back through a neighbour, where there is one."""
    return {"neighbour_ohm": WAY_BACK_FRAC} if variant.ground == "shared" else {}


def _names(family: Family, variant: Variant, stream: Stream) -> Named:
    names = family.names
    feeds = stream.shuffled(_COLOURS)
    is_86 = variant.coil_supply == "86"
    is_smart = variant.switch == "smart"
    load_fuse = stream.choice(names.load_fuse)
    control_fuse = stream.choice(names.control_fuse)
    vehicle, relay = stream.choice(names.vehicle), stream.choice(names.relay)
    connector, module = stream.choice(names.load_connector), stream.choice(names.module)
    return Named(
        vehicle=vehicle,
        load=family.load,
        work=family.work,
        mechanism=family.mechanism or family.load,
        control_fuse=load_fuse if variant.fuses == "shared" else control_fuse,
        load_fuse=load_fuse,
        # What switches the load, by whichever name.
        relay=module if is_smart else relay,
        load_connector=connector,
        module=module,
        neighbour=_NEIGHBOUR,
        upstream=_UPSTREAM[variant.upstream],
        coil_supply="86" if is_86 else "85",
        coil_return="85" if is_86 else "86",
        pin_in="B1" if is_smart else "30",
        pin_out="Q1" if is_smart else "87",
        feed_from=_FEED_FROM[variant.drive],
        return_to=_RETURN_TO[variant.drive],
        enable=family.enable,
        secure=family.secure or "",
        hindrance=family.hindrance,
        colours={
            # Nobody makes a red wire with a red stripe.
            "control_feed": f"RD/{feeds[0]}" if feeds[0] != "RD" else "RD",
            "control_return": f"{feeds[1]}/{feeds[2]}",
            "load_feed": "RD",
            "load_wire": f"{feeds[3]}/{feeds[4]}",
            "load_ground": "BN",
            "module_ground": "BN",
        },
    )
