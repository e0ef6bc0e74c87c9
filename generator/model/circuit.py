"""A relay circuit: its variants, its values, its states.

One relay circuit has two branches from one supply. Control: fuse, feed, coil with its
suppression between its two terminals, return, and a driver either behind the coil
(low-side) or before it (high-side). Load: fuse, feed, terminal 30 of the relay's
socket, contacts, terminal 87, wire, connector of the load, load, ground wire, ground
point. Both may share one fuse, and a neighbour may share the ground point.

Where a smart switch takes the relay's place there is no control circuit: all of it is
open, and the contacts are the switch, between its supply pin (30) and its output (87).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, fields
from operator import attrgetter
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mechanism = Literal["normal effort", "stuck", "heavy", "free", "wide gap"]

# More than this between supply and fuses is a switch or contacts (`upstream_ohm`).
_BUS_BAR_OHM = 0.001
# A joint that counts with its wire.
_NO_JOINT_OHM = 1e-7
# Rise of the resistance of copper about 20 °C [1/K] (IEC 60028, from memory).
COPPER_PER_K = 0.00393
# At which sheets give the ohms of copper [°C].
SHEET_DEGC = 20.0


def rounded(value: float, digits: int) -> float:
    """Round to significant digits, as a sheet prints it."""
    return float(f"{value:.{digits}g}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """A line of the specification sheet: ± percent of its value; 0 is a limit."""

    quantity: str
    value: float
    unit: str
    tolerance_percent: float


def copper_factor(temperature_degc: float) -> float:
    """Resistance of copper at a temperature [°C] over that at 20 °C.

    Examples
    --------
    >>> round(copper_factor(70.0), 3)
    1.196
    """
    return 1 + COPPER_PER_K * (temperature_degc - SHEET_DEGC)


# No slots: a copy of all values at once takes a sixth of the time without them.
@dataclass(frozen=True, kw_only=True)
class RelayCircuit:
    """All values of one relay circuit, whatever its variant.

    Resistances [Ω] carry ``_ohm`` and may be ``inf`` (open). ``upstream_ohm`` is what
    feeds both fuses: a bus bar, an ignition switch or the contacts of a main relay.
    ``socket_ohm`` is where terminal 30 of the relay sits in its socket,
    ``load_connector_ohm`` the contact pair and crimps on the supply side of the load;
    those of the other terminals count with their wires.

    ``load_ohm`` is the load cold, ``hot_frac`` its resistance at rated power over
    that; a lamp's rises with ``lamp_exponent`` of its voltage. ``load_rated_a`` is
    what it should draw at ``rated_v``. A motor has a constant [V·s], a fan
    coefficient [N·m·s²] and friction [N·m]: a fan little friction, a pump much and no
    fan; ``friction_nm`` of ``inf`` is a seized rotor. ``load_cold_frac`` is
    ``load_ohm`` over what the sheet gives for it at 20 °C: a night outside leaves
    windings and filaments fewer ohms. ``duty_frac`` below 1 is a load
    that is switched fast, seen by what averages.

    ``coil_ohm`` is the coil at ``coil_degc``; the current that pulls it in is the same
    at all temperatures.

    Across the coil lies ``suppression_ohm``, a diode, or nothing. ``is_fed_at_85``
    says that terminal 85 has the supply; the terminals go by the names of the plain
    circuit all the same, so that ``85`` is the coil's terminal on the ground side.
    ``ground_point_ohm`` is the joint behind the load's ground wire. Where a neighbour
    has its ground there too, ``neighbour_ohm`` is the way back through it while it is
    switched off: through the neighbour to its supply lead, and from there through what
    else hangs at that lead to a ground elsewhere.

    A module that ``is_module_weak`` restarts on what a sound one bears.
    ``fuse_holder_ohm`` is what the holder of the load fuse adds, whatever is in it; a
    fuse that ``is_load_fuse_large`` has a higher rating than the sheet gives.
    A circuit that ``is_smart`` has a switch without contacts. It reports
    ``sense_frac`` of the current that flows, and shuts off, until it is commanded
    anew, where that is more than ``shut_off_a``; ``bridged_ohm`` lies past it in its
    plug.
    ``mechanism`` says what a hand feels, ``work_frac`` how much of the work comes of
    what the load does: 0 where it drives nothing.
    """

    supply_v: float
    supply_ohm: float
    upstream_ohm: float = 0.0002
    control_fuse_ohm: float
    control_feed_ohm: float
    coil_ohm: float
    coil_degc: float = 20.0
    suppression_ohm: float
    pull_in_a: float
    control_return_ohm: float
    driver_ohm: float
    driver_limit_a: float
    module_ground_ohm: float
    load_fuse_ohm: float
    load_fuse_rating_a: float
    fuse_holder_ohm: float = 0.0
    is_load_fuse_large: bool = False
    load_feed_ohm: float
    socket_ohm: float = 0.003
    contacts_ohm: float
    load_wire_ohm: float
    load_connector_ohm: float = 0.003
    rated_v: float = 13.5
    load_rated_a: float
    load_ohm: float
    hot_frac: float
    load_cold_frac: float = 1.0
    lamp_exponent: float = 0.0
    duty_frac: float = 1.0
    motor_constant_vs: float
    fan_nms2: float
    friction_nm: float
    load_ground_ohm: float
    ground_point_ohm: float = _NO_JOINT_OHM
    neighbour_ohm: float = np.inf
    feed_to_power_ohm: float = np.inf
    feed_to_ground_ohm: float = np.inf
    return_to_ground_ohm: float = np.inf
    load_to_ground_ohm: float = np.inf
    load_to_power_ohm: float = np.inf
    is_fuse_shared: bool = False
    is_high_side: bool = False
    break_contact_ohm: float = np.inf
    is_fed_at_85: bool = False
    does_driver_shut_off: bool = False
    is_enabled: bool = True
    is_driver_dead: bool = False
    is_driver_on: bool = False
    is_welded: bool = False
    has_diode: bool = False
    is_diode_reversed: bool = False
    is_module_weak: bool = False
    work_frac: float = 1.0
    mechanism: Mechanism = "normal effort"
    has_mechanism: bool = False
    is_smart: bool = False
    sense_frac: float = 1.0
    shut_off_a: float = np.inf
    bridged_ohm: float = np.inf

    def with_values(self, **values: object) -> RelayCircuit:
        """Change some values: as `dataclasses.replace`, without setting all others.

        Raises
        ------
        TypeError
            Where a circuit has no such value.
        """
        if not values.keys() <= self.__dict__.keys():
            raise TypeError(f"{', '.join(values)}: not all are values of a circuit")
        changed = copy(self)
        changed.__dict__.update(values)
        return changed

    @property
    def has_relay(self) -> bool:
        """Whether contacts switch the load, and a coil them."""
        return not self.is_smart

    @property
    def has_control_fuse(self) -> bool:
        """Whether the control circuit has a fuse of its own."""
        return self.has_relay and not self.is_fuse_shared

    @property
    def sheet_coil_ohm(self) -> float:
        """Resistance of the coil at the temperature of its sheet [Ω]."""
        return self.coil_ohm / copper_factor(self.coil_degc)

    @property
    def sheet_load_ohm(self) -> float:
        """Resistance of the cold load at the temperature of its sheet [Ω]."""
        return self.load_ohm / self.load_cold_frac

    @property
    def is_cold_winding(self) -> bool:
        """Whether a night outside has left the load a winding that draws more.

        A filament glows as hot as ever, and back-EMF holds a motor's current.
        """
        is_motor = self.motor_constant_vs > 0
        return self.load_cold_frac < 1 and not is_motor and self.lamp_exponent == 0

    @property
    def has_break_contact(self) -> bool:
        """Whether the relay has a terminal 87a, joined to 30 while it is at rest."""
        return self.break_contact_ohm < np.inf

    @property
    def is_ground_shared(self) -> bool:
        """Whether a neighbour has its ground at the load's ground point."""
        return self.neighbour_ohm < np.inf

    @property
    def is_low_side(self) -> bool:
        """Whether the driver stands between coil and ground."""
        return self.has_relay and not self.is_high_side

    @property
    def is_suppressed(self) -> bool:
        """Whether something takes the energy of the coil, or there is no coil."""
        has_resistor = bool(np.isfinite(self.suppression_ohm))
        return self.has_diode or has_resistor or self.is_smart

    @property
    def has_switch_upstream(self) -> bool:
        """Whether a switch or a main relay feeds the fuses, not a bus bar."""
        return self.upstream_ohm > _BUS_BAR_OHM


# Flags go along as 0 and 1; only a word has no place in an array of numbers.
_NUMERIC = tuple(f.name for f in fields(RelayCircuit) if f.name != "mechanism")
_VALUES = attrgetter(*_NUMERIC)
ROWS: Mapping[str, int] = {name: row for row, name in enumerate(_NUMERIC)}
"""Row of each value in `Columns.values`."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Values of several circuits, each by its name an array (n_circuits, n_variants).

    Attributes
    ----------
    values : array, shape (n_names, n_circuits, n_variants)
        In the order of `ROWS`.
    """

    values: Floats

    def __getitem__(self, name: str) -> Floats:
        column: Floats = self.values[ROWS[name]]
        return column

    def varied(self, steps: Mapping[str, float]) -> Columns:
        """Repeat each value once a variant, one stepped in each but the first."""
        if not steps:
            return self
        values = np.repeat(self.values, 1 + len(steps), axis=2)
        for number, (name, step) in enumerate(steps.items(), start=1):
            values[ROWS[name], :, number] *= 1 + step
        return Columns(values)


def columns_of(circuits: Sequence[RelayCircuit]) -> Columns:
    """Values of several circuits as columns, each of shape (n_circuits, 1)."""
    values = np.array([_VALUES(circuit) for circuit in circuits], dtype=float)
    return Columns(np.ascontiguousarray(values.T)[:, :, None])
