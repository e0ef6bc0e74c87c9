"""What a circuit should be: drawn names, nominal values and the specification sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from generator.drawing.names import Named
from generator.drawing.stream import Stream
from generator.model.catalogue.load_faults import SHARES_GROUND
from generator.model.circuit import (
    COPPER_PER_K,
    SHEET_DEGC,
    RelayCircuit,
    SheetRow,
    copper_factor,
)
from generator.model.edits import joint_share
from generator.model.inrush import TUNGSTEN_PER_K
from generator.model.instruments import SENSE
from generator.model.parts import (
    CONTROL_FUSE_A,
    RATED_V,
    fuse_for,
    wire_resistance,
)
from generator.model.places import USUAL, Place, PlaceId
from generator.model.scales import DROP_LIMITS_V, SPIKE_LIMIT_V
from generator.model.variant import CoilState, LoadKind, Variant
from lessons.schema import Family, Lesson, Tolerances, Variants
from workbook.texts import _, later

# Battery alone, in a 12 V vehicle (common practice, no source).
BATTERY_V = (12.3, 12.7)
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
# What contacts before the fuses have, and by what battery and generator sag (common
# practice, no source).
_UPSTREAM_OHM = {"bus bar": 0.0002, "ignition switch": 0.008, "main relay": 0.004}
_SUPPLY_OHM = {"charging": (0.008, 0.015), "battery only": (0.015, 0.030)}
# A new connector: its contact pair with both crimps, or a ground point (from
# memory of trade pages: 2 to 5 mΩ new, 50 to 200 mΩ corroded).
_JOINT_OHM = (0.002, 0.005)
# Coils after a night outside, and after hours of work: by themselves they warm by some
# 40 K, and what is around them is warm by then (common practice, no source).
_COIL_DEGC: Mapping[CoilState, tuple[float, float]] = {
    "workshop": (SHEET_DEGC, SHEET_DEGC),
    "cold morning": (-28.0, -20.0),
    "after work": (65.0, 85.0),
}
_WORKSHOP: tuple[CoilState, ...] = ("workshop",)
# Change of a load's cold ohms about 20 °C [1/K]; those of heating wire hardly change.
_LOAD_PER_K: Mapping[LoadKind, float] = {
    "fan motor": COPPER_PER_K,
    "pump motor": COPPER_PER_K,
    "solenoid valve": COPPER_PER_K,
    "magnetic clutch": COPPER_PER_K,
    "lamp bank": TUNGSTEN_PER_K,
}
# Of a new relay, within what is drawn for the contact to 87.
_BREAK_CONTACT_OHM = 0.005
_LAMP_EXPONENT = 0.45
_WITHOUT_EFFECT = ("supply_ohm", "control_feed_ohm", "control_return_ohm")
# A fuse drops about this much at its rating (common practice, no source).
_FUSE_DROP_V = 0.09
_COLOURS = ("RD", "BK", "BU", "GN", "YE", "WH", "VT", "OG", "GY", "BN")
_DROPS = {
    "supply-30": later("Drop supply to {pin_in}, at most"),
    "30-87": later("Drop {pin_in} to {pin_out}, at most"),
    "87-load": later("Drop {pin_out} to load, at most"),
    "load connector": later("of that, across the connector"),
    "load-ground": later("Drop load to ground, at most"),
}
# What sets the current of a motor: the fan's drag, or a pump's torque, whatever the
# supply.
_DRIVEN = {"fan motor": "fan_nms2", "pump motor": "friction_nm"}
# What a smart switch makes of the plainest circuit: no part of its control circuit.
_WITHOUT_RELAY: Mapping[str, Any] = {
    "fuses": "two",
    "drive": "low side",
    "coil_supply": "86",
    "terminals": 4,
    "overload": "limits",
}
_CONTROL_OHM = (
    *("control_fuse_ohm", "control_feed_ohm", "coil_ohm", "suppression_ohm"),
    *("control_return_ohm", "module_ground_ohm", "break_contact_ohm"),
)
# Above what inrush leaves within its delay, and far below what a wire that touches
# ground draws (common practice, no source).
_SHUT_OFF_FRAC = 1.8
_AT_RELAY: tuple[PlaceId, ...] = ("relay", "relay_pins")
_SQRT3 = math.sqrt(3.0)
_NEIGHBOUR = later("left work lamps")
# Share of the load's working resistance, as of a bad joint. It is that of two filaments
# in a row at a seventh of their voltage, where they have some 0.4 of their hot ohms and
# glow dimly: beside a valve of 3 A at 12 V two lamps of 45 W on either side (reckoned
# with `_LAMP_EXPONENT`).
_WAY_BACK = (0.27, 0.34)
# Lamps at so few volts: their ohms hang on what flows.
_WAY_BACK_FRAC = 0.1
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
        return _sheet(self.nominal, self.family, self.variant, self.names)

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
    at_20_degc = _nominal(lesson, family, variant, stream)
    nominal = _at_temperature(at_20_degc, family.kind, degc)
    if variant.switch == "smart":
        nominal = _with_smart_switch(nominal)
    if variant.ground == "shared":
        nominal = _beside_neighbour(nominal, stream.aside("neighbour"))
    return Specification(
        family=family,
        source_names=names,
        variant=variant,
        nominal=nominal,
        tolerance_frac=_tolerances(family) | _of_neighbour(variant),
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


def _at_temperature(circuit: RelayCircuit, kind: LoadKind, degc: float) -> RelayCircuit:
    """Warm or cool the coil; the current that pulls it in stays what it is.

    A night outside leaves the load as cold. One that has worked has cooled since: its
    own heat goes within minutes, that of a relay box stays.
    """
    tempered = replace(
        circuit, coil_ohm=circuit.coil_ohm * copper_factor(degc), coil_degc=degc
    )
    if degc >= SHEET_DEGC or kind not in _LOAD_PER_K:
        return tempered
    frac = 1 + _LOAD_PER_K[kind] * (degc - SHEET_DEGC)
    hot = circuit.hot_frac
    return replace(
        tempered,
        load_ohm=circuit.load_ohm * frac,
        load_cold_frac=frac,
        # A filament glows as hot as ever; a winding gains as many ohms as ever.
        hot_frac=hot / frac if kind == "lamp bank" else 1 + (hot - 1) / frac,
    )


def _with_smart_switch(circuit: RelayCircuit) -> RelayCircuit:
    """Let a switch without contacts take the place of relay and control circuit."""
    opened: Mapping[str, Any] = dict.fromkeys(_CONTROL_OHM, math.inf)
    return replace(
        circuit,
        **opened,
        has_diode=False,
        is_fed_at_85=False,
        is_high_side=False,
        is_smart=True,
        shut_off_a=_rounded(_SHUT_OFF_FRAC * circuit.load_rated_a, 2),
    )


def _beside_neighbour(circuit: RelayCircuit, stream: Stream) -> RelayCircuit:
    """Let lamps share the ground point, as many as let the load work weakly."""
    share = stream.uniform(*_WAY_BACK) * joint_share(circuit)
    way_ohm = share * circuit.supply_v / circuit.load_rated_a
    return replace(circuit, neighbour_ohm=_rounded(way_ohm, 2))


def _of_neighbour(variant: Variant) -> dict[str, float]:
    """Tolerance of the way back through a neighbour, where there is one."""
    return {"neighbour_ohm": _WAY_BACK_FRAC} if variant.ground == "shared" else {}


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


def _rounded(value: float, digits: int) -> float:
    """Round to significant digits, as a sheet prints it."""
    return float(f"{value:.{digits}g}")


def _supply_v(
    lesson: Lesson, family: Family, variant: Variant, stream: Stream
) -> float:
    volts = lesson.supply_v if variant.supply == "charging" else BATTERY_V
    return round(stream.uniform(*volts) * family.system_v / 12, 1)


def _nominal(
    lesson: Lesson, family: Family, variant: Variant, stream: Stream
) -> RelayCircuit:
    ranges = family.ranges
    supply = _supply_v(lesson, family, variant, stream)
    # As the sheet prints them: what a student reckons with is the value itself.
    rated = _rounded(stream.uniform(*ranges.rated_a), 2)
    coil = _rounded(stream.uniform(*ranges.coil_ohm), 2)
    # A diode conducts where its relay is fed at 85: such a circuit has a resistor.
    is_diode = stream.choice(ranges.suppression) == "diode"
    has_diode = is_diode and variant.coil_supply == "86"
    suppression = stream.choice(ranges.suppression_ohm)
    duty = stream.uniform(*ranges.duty_frac)
    fuse_a = ranges.fuse_a or fuse_for(rated, duty)
    area = ranges.wire_area_mm2[0]
    # Control wires: the current of a coil asks for no thicker ones.
    thin = [wire_resistance(stream.uniform(1.0, 3.0), 0.75) for _ in range(3)]
    short_m, long_m = ranges.wire_length_m, ranges.load_wire_m or ranges.wire_length_m
    wires = [
        wire_resistance(stream.uniform(*length_m), area)
        for length_m in (short_m, long_m, short_m)
    ]
    socket, connector, ground_point = (stream.uniform(*_JOINT_OHM) for _ in range(3))
    circuit = RelayCircuit(
        supply_v=supply,
        supply_ohm=stream.uniform(*_SUPPLY_OHM[variant.supply]),
        upstream_ohm=_UPSTREAM_OHM[variant.upstream],
        control_fuse_ohm=_FUSE_DROP_V / CONTROL_FUSE_A,
        control_feed_ohm=thin[0],
        coil_ohm=coil,
        suppression_ohm=math.inf if has_diode else suppression,
        has_diode=has_diode,
        is_fed_at_85=variant.coil_supply == "85",
        # At 52 to 60 % of the nominal voltage (common practice, no source).
        pull_in_a=stream.uniform(0.52, 0.60) * family.system_v / coil,
        control_return_ohm=thin[1],
        driver_ohm=stream.uniform(0.4, 1.0),
        driver_limit_a=1.0,
        module_ground_ohm=thin[2],
        load_fuse_ohm=_FUSE_DROP_V / fuse_a,
        load_fuse_rating_a=fuse_a,
        load_feed_ohm=wires[0],
        socket_ohm=socket,
        contacts_ohm=stream.uniform(0.003, 0.006),
        load_wire_ohm=wires[1],
        load_connector_ohm=connector,
        rated_v=RATED_V * family.system_v / 12,
        load_rated_a=rated,
        # Until `_with_load` gives it the ohms of its kind.
        load_ohm=1.0,
        hot_frac=stream.uniform(*ranges.hot_frac),
        duty_frac=duty,
        motor_constant_vs=0.0,
        fan_nms2=0.0,
        friction_nm=0.0,
        load_ground_ohm=wires[2],
        ground_point_ohm=ground_point,
        is_fuse_shared=variant.fuses == "shared",
        is_high_side=variant.drive == "high side",
        break_contact_ohm=_BREAK_CONTACT_OHM if variant.terminals == 5 else math.inf,
        does_driver_shut_off=variant.overload == "shuts off",
        has_mechanism=family.mechanism is not None,
    )
    return _with_load(circuit, family, stream)


def _with_load(circuit: RelayCircuit, family: Family, stream: Stream) -> RelayCircuit:
    """Return the circuit the load of its family."""
    if family.kind in _DRIVEN:
        return _with_motor(circuit, family, stream)
    # The rated current is the mean of a pulsed load, which draws more while it is on.
    hot = circuit.rated_v / circuit.load_rated_a * circuit.duty_frac
    return replace(
        circuit,
        load_ohm=hot / circuit.hot_frac,
        lamp_exponent=_LAMP_EXPONENT if family.kind == "lamp bank" else 0.0,
    )


def _with_motor(circuit: RelayCircuit, family: Family, stream: Stream) -> RelayCircuit:
    """Return a motor its armature and constant, and a fan's drag or a pump's torque."""
    ranges = family.ranges
    rated, drop = circuit.load_rated_a, stream.uniform(*ranges.armature_frac)
    speed = stream.uniform(*ranges.speed_rad_s)
    # What does not fall on the hot armature is back-EMF.
    constant = circuit.rated_v * (1 - drop) / speed
    # Friction and fan take all of it at rated current; what is no friction goes with
    # ω².
    torque = constant * rated
    is_pump = family.kind == "pump motor"
    friction = torque * (1.0 if is_pump else stream.uniform(*ranges.friction_frac))
    return replace(
        circuit,
        load_ohm=circuit.rated_v * drop / rated / circuit.hot_frac,
        motor_constant_vs=constant,
        fan_nms2=(torque - friction) / speed**2,
        friction_nm=friction,
    )


def _tolerances(family: Family) -> dict[str, float]:
    percent = family.tolerance_percent
    tolerances = {
        "supply_v": 0.01,
        "supply_ohm": 0.3,
        "coil_ohm": percent.coil / 100,
        "suppression_ohm": 0.05,
        "driver_ohm": 0.3,
        "control_feed_ohm": 0.2,
        "control_return_ohm": 0.2,
        "load_feed_ohm": 0.2,
        "load_wire_ohm": 0.2,
        "load_ground_ohm": 0.2,
        "contacts_ohm": 0.3,
        "socket_ohm": 0.3,
        "load_connector_ohm": 0.3,
    }
    if family.kind in _DRIVEN:
        # Of a fan the current falls with nearly the cube of the constant: that has a
        # quarter of the tolerance, so that both together stay near it.
        return tolerances | {
            _DRIVEN[family.kind]: percent.rated / 100,
            "motor_constant_vs": percent.rated / 400,
            "load_ohm": percent.resistance / 100,
        }
    return tolerances | {"load_ohm": percent.rated / 100}


def _sheet(
    nominal: RelayCircuit, family: Family, variant: Variant, names: Named
) -> tuple[SheetRow, ...]:
    supply = {
        "charging": _("Supply voltage, engine running"),
        "battery only": _("Supply voltage, engine off"),
    }
    percent = family.tolerance_percent
    return (
        _row(supply[variant.supply], nominal.supply_v, "V", 1.0),
        *(_coil_rows(nominal, percent.coil) if nominal.has_relay else ()),
        *_load_rows(nominal, percent),
        *(
            _switch_rows(nominal)
            if nominal.is_smart
            else _driver_rows(nominal, variant)
        ),
        *_neighbour_rows(nominal),
        *(_coil_turn_off_rows() if nominal.has_relay else ()),
        *(
            _row(names.put(_(_DROPS[at])), limit, "V")
            for at, limit in DROP_LIMITS_V.items()
        ),
    )


def _driver_rows(nominal: RelayCircuit, variant: Variant) -> Iterator[SheetRow]:
    driver = {
        "limits": _("Driver limits at about"),
        "shuts off": _("Driver shuts off at about"),
    }
    yield _row(driver[variant.overload], nominal.driver_limit_a, "A")


def _coil_turn_off_rows() -> Iterator[SheetRow]:
    yield _row(_("Coil turn-off, peak to peak, at most"), SPIKE_LIMIT_V, "V")


def _switch_rows(nominal: RelayCircuit) -> Iterator[SheetRow]:
    text = _("Switch shuts off, until the key is turned off and on, above about")
    yield _row(text, nominal.shut_off_a, "A")
    text = _("Current on the scan tool, against the true one, to within")
    yield _row(text, 100 * SENSE.accuracy_frac, "%")
    text = _("Current below which the scan tool shows none")
    yield _row(text, SENSE.least_a, "A")


def _row(quantity: str, value: float, unit: str, percent: float = 0.0) -> SheetRow:
    return SheetRow(
        quantity=quantity,
        value=_rounded(value, 3),
        unit=unit,
        tolerance_percent=percent,
    )


def _coil_rows(nominal: RelayCircuit, percent: float) -> Iterator[SheetRow]:
    together = 1 / (1 / nominal.sheet_coil_ohm + 1 / nominal.suppression_ohm)
    yield _row(_("Resistance between terminals 85 and 86"), together, "Ω", percent)
    if nominal.coil_degc == SHEET_DEGC:
        text = _("Coil temperature at these ohms and in all tests")
        yield _row(text, SHEET_DEGC, "°C")
    elif nominal.coil_degc > SHEET_DEGC:
        yield _row(_("Coil temperature at these ohms"), SHEET_DEGC, "°C")
        warm = _("Coil temperature in all tests, after hours of work")
        yield _row(warm, nominal.coil_degc, "°C")
    else:
        at = _("Temperature at these ohms, and at those of the load")
        yield _row(at, SHEET_DEGC, "°C")
        cold = _(
            "Coil temperature in all tests and the load's before them, after a night "
            "outside"
        )
        yield _row(cold, nominal.coil_degc, "°C")
    if not math.isinf(nominal.suppression_ohm):
        yield _row(
            _("Resistor in parallel to the coil"), nominal.suppression_ohm, "Ω", 5.0
        )


def _neighbour_rows(nominal: RelayCircuit) -> Iterator[SheetRow]:
    if nominal.is_ground_shared:
        text = _("From the shared ground point back through the lamps that are off")
        yield _row(text, nominal.neighbour_ohm, "Ω", 100 * _WAY_BACK_FRAC)


def _load_rows(nominal: RelayCircuit, percent: Tolerances) -> Iterator[SheetRow]:
    rated = _("Load current at {volts} V").format(volts=f"{nominal.rated_v:g}")
    yield _row(rated, nominal.load_rated_a, "A", percent.rated)
    if nominal.duty_frac < 1:
        yield _row(
            _("Share of the time that the load is on"), 100 * nominal.duty_frac, "%"
        )
    winding = percent.resistance if nominal.motor_constant_vs else percent.rated
    cold_ohm = nominal.sheet_load_ohm
    yield _row(_("Resistance of the load, cold"), cold_ohm, "Ω", winding)
    yield _row(_("Load fuse"), nominal.load_fuse_rating_a, "A")
