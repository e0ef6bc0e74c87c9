"""The specification sheet of a circuit: what it should be, row by row."""

from __future__ import annotations

import math
from collections.abc import Iterator

from generator.drawing.names import Named
from generator.model.circuit import SHEET_DEGC, RelayCircuit, SheetRow, rounded
from generator.model.instruments import SENSE
from generator.model.scales import DROP_LIMITS_V, SPIKE_LIMIT_V
from generator.model.variant import Variant
from lessons.family import Family, Tolerances
from workbook.texts import _, later

# Lamps at so few volts: their ohms hang on what flows.
WAY_BACK_FRAC = 0.1
_DROPS = {
    "supply-30": later("Drop supply to {pin_in}, at most"),
    "30-87": later("Drop {pin_in} to {pin_out}, at most"),
    "87-load": later("Drop {pin_out} to load, at most"),
    "load connector": later("of that, across the connector"),
    "load-ground": later("Drop load to ground, at most"),
}


def sheet_of(
    nominal: RelayCircuit, family: Family, variant: Variant, names: Named
) -> tuple[SheetRow, ...]:
    """Write the specification sheet of a circuit, in the language spoken."""
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
    # It sees the current while on, and a pulsed load's is more than its mean.
    yield _row(text, nominal.shut_off_a / nominal.duty_frac, "A")
    text = _("Current on the scan tool, against the true one, to within")
    yield _row(text, 100 * SENSE.accuracy_frac, "%")
    text = _("Current below which the scan tool shows none")
    yield _row(text, SENSE.least_a, "A")


def _row(quantity: str, value: float, unit: str, percent: float = 0.0) -> SheetRow:
    return SheetRow(
        quantity=quantity,
        value=rounded(value, 3),
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
        yield _row(text, nominal.neighbour_ohm, "Ω", 100 * WAY_BACK_FRAC)


def _load_rows(nominal: RelayCircuit, percent: Tolerances) -> Iterator[SheetRow]:
    rated = _("Load current at {volts} V").format(volts=f"{nominal.rated_v:g}")
    yield _row(rated, nominal.load_rated_a, "A", percent.rated)
    if nominal.duty_frac < 1:
        text = _("Share of the time that its own regulator has the load on")
        yield _row(text, 100 * nominal.duty_frac, "%")
    winding = percent.resistance if nominal.motor_constant_vs else percent.rated
    cold_ohm = nominal.sheet_load_ohm
    yield _row(_("Resistance of the load, cold"), cold_ohm, "Ω", winding)
    yield _row(_("Load fuse"), nominal.load_fuse_rating_a, "A")
