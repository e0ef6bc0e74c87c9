"""Numbers that known wrong rules give on one circuit, by id of the catalogue."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from answer_keys.misconceptions import MISCONCEPTIONS
from generator.model.circuit import SHEET_DEGC, RelayCircuit
from generator.model.parts import RATED_V

Band = tuple[float, float]

# A number calculated from the sheet is written with two digits or more.
_ROUNDING_FRAC = 0.03
# Rules that are near another number by their nature (the supply near its nominal, the
# hot ohms of a lamp over its cold ones near the volts, a coil that is little colder
# than on its sheet), and slips of the decimal point:
# where they meet another band, or one another, they explain nothing, and are left out.
_LEFT_OUT_WHERE_CLOSE = (
    *("nominal_supply", "power_for_current", "ten_times", "tenth"),
    *("peak_for_settled", "coil_temperature_ignored"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongNumber:
    """The number that a misconception gives, and what is taken for it."""

    id: str
    value: float
    band: Band

    @property
    def text(self) -> str:
        """What was done, in words."""
        return MISCONCEPTIONS[self.id].explanation

    @property
    def cure(self) -> str:
        """What to do or to practise."""
        return MISCONCEPTIONS[self.id].cure


def wrong_numbers(
    right: tuple[float, Band], values: Mapping[str, float], slips: Mapping[str, float]
) -> tuple[WrongNumber, ...]:
    """Return every wrong rule its band.

    Parameters
    ----------
    right : pair of float and band
        The right number and its band.
    values : mapping of str to float
        What wrong rules of thought give, calculated from the sheet.
    slips : mapping of str to float
        Factors of rules that do something wrong to the right number, whatever it is
        in its band.
    """
    value, (low, high) = right
    given = [_of_thought(name, wrong) for name, wrong in values.items()]
    given += [
        WrongNumber(id=name, value=value * by, band=(low * by, high * by))
        for name, by in slips.items()
    ]

    def explains(wrong: WrongNumber) -> bool:
        others = [right[1], *(one.band for one in given if one is not wrong)]
        return not any(_meet(wrong.band, band) for band in others)

    return tuple(
        wrong
        for wrong in given
        if wrong.id not in _LEFT_OUT_WHERE_CLOSE or explains(wrong)
    )


def _of_thought(name: str, value: float) -> WrongNumber:
    band = (value * (1 - _ROUNDING_FRAC), value * (1 + _ROUNDING_FRAC))
    return WrongNumber(id=name, value=value, band=band)


def _meet(one: Band, other: Band) -> bool:
    return one[0] <= other[1] and other[0] <= one[1]


def wrong_control_currents(nominal: RelayCircuit, load_a: float) -> dict[str, float]:
    """Currents that wrong rules of thought give for the control circuit [A]."""
    supply = nominal.supply_v
    together = 1 / (1 / nominal.coil_ohm + 1 / nominal.suppression_ohm)
    return {
        "load_current_for_coil": load_a,
        "ohms_over_volts": together / supply,
        "volts_times_ohms": supply * together,
        "driver_limit_as_current": nominal.driver_limit_a,
        **_of_series(nominal, together),
        **_of_sheet_ohms(nominal),
        **_of_supply(nominal, supply / together),
    }


def _of_series(nominal: RelayCircuit, together_ohm: float) -> dict[str, float]:
    """Current with the suppression resistor added, where there is one."""
    if math.isinf(nominal.suppression_ohm):
        return {}
    ohm = together_ohm + nominal.suppression_ohm
    return {"suppression_in_series": nominal.supply_v / ohm}


def _of_sheet_ohms(nominal: RelayCircuit) -> dict[str, float]:
    """Current by the ohms of the sheet, where the coil is colder or warmer."""
    if nominal.coil_degc == SHEET_DEGC:
        return {}
    conductance = 1 / nominal.sheet_coil_ohm + 1 / nominal.suppression_ohm
    return {"coil_temperature_ignored": nominal.supply_v * conductance}


def wrong_load_currents(nominal: RelayCircuit, control_a: float) -> dict[str, float]:
    """Currents that wrong rules of thought give for the load circuit [A]."""
    rated, supply = nominal.load_rated_a, nominal.supply_v
    # Without a coil nobody takes its ohms for the load's.
    of_coil = {} if nominal.is_smart else {"coil_ohms_for_load": control_a}
    return {
        **of_coil,
        "fuse_rating_as_current": nominal.load_fuse_rating_a,
        "power_for_current": supply * rated,
        **_of_cold_ohms(nominal),
        **_of_cold_winding(nominal),
        **_of_supply(nominal, rated * supply / nominal.rated_v),
    }


def _of_supply(nominal: RelayCircuit, current_a: float) -> dict[str, float]:
    """Currents calculated with another supply than the circuit has."""
    # Ratings are given at 13.5 V for each 12 V of the system.
    system_v = nominal.rated_v * 12 / RATED_V
    wrong = {"nominal_supply": current_a * system_v / nominal.supply_v}
    return wrong | ({"half_supply": current_a / 2} if nominal.rated_v > RATED_V else {})


def _of_cold_winding(nominal: RelayCircuit) -> dict[str, float]:
    """Current of a winding as at 20 °C, where a night outside has it draw more."""
    if not nominal.is_cold_winding:
        return {}
    amperes = nominal.load_rated_a * nominal.supply_v / nominal.rated_v
    return {"coil_temperature_ignored": amperes}


def _of_cold_ohms(nominal: RelayCircuit) -> dict[str, float]:
    """Currents calculated with cold ohms or the share of the time, where it matters.

    A winding or mat that is always on follows its resistance: for it the rule is
    nearly right.
    """
    cold_a = nominal.supply_v / nominal.sheet_load_ohm
    if nominal.motor_constant_vs:
        return {"cold_motor": cold_a}
    if nominal.lamp_exponent:
        return {"cold_filament": cold_a}
    if nominal.duty_frac < 1:
        # The rated current is a mean already.
        twice_a = nominal.load_rated_a * nominal.duty_frac
        return {"pulse_for_mean": cold_a, "mean_taken_twice": twice_a}
    return {}
