"""A load that its switch pulses: what clamp and meter show, and what heats the fuse."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.model.instruments import CLAMP_10, VOLTMETER, Errors
from generator.model.sensing import Pulses
from generator.questions.question import Question
from generator.questions.read_off import read_off, verdict
from workbook.texts import _, later

_WELL = later("All is well: both show the mean")
_STAYS_ON = later("The switch conducts all the time")
_LITTLE = later("The load draws too little while on")
_SENSE = later("The module's own measurement is wrong")
PULSE_SIGNS: Mapping[str, str] = {
    _WELL: later(
        "Current while on and supply, each times the share, are what clamp and "
        "voltmeter show."
    ),
    _STAYS_ON: later(
        "Clamp and voltmeter show all the current and all the supply: no pauses, "
        "whatever is commanded. It is shorted, or held on."
    ),
    _LITTLE: later(
        "What the clamp shows, divided by the share, is what the module says, and far "
        "below the sheet: part of the load is open, or its path resists."
    ),
    _SENSE: later(
        "What the clamp shows, divided by the share, is what the sheet gives; only the "
        "module says something else."
    ),
}
"""What command, clamp and meter can show of a load that is pulsed."""

# Above the last, root, share and whole are too near each other to tell wrong rules.
_SHARES = (0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60, 0.65, 0.70)
_HEATING_MARGIN_FRAC = 0.04
_SOUND = (0.96, 1.04)
# Far below what the sense ratio's own tolerance explains.
_LOW = (0.45, 0.65)


def is_pulsed_by_switch(specification: Specification) -> bool:
    """Whether its load draws nothing in the pauses, and the same in each pulse.

    One with a regulator of its own has its switch on all the time.
    """
    return specification.family.kind == "heater"


def pulse_width_questions(
    specification: Specification, stream: Stream
) -> Iterator[Question]:
    """Ask for two of mean current, mean voltage and heating current, and a verdict."""
    nominal = specification.nominal
    judged_frac = stream.choice(_SHARES)
    pulses = Pulses(
        # Another share, or the readings to be judged would tell the numbers.
        share_frac=stream.choice([one for one in _SHARES if one != judged_frac]),
        on_a=float(f"{nominal.load_rated_a:.3g}"),
        supply_v=nominal.supply_v,
    )
    numbers = [_mean_current(pulses), _mean_voltage(pulses), _heating_current(pulses)]
    numbers.pop(stream.integer(len(numbers)))
    yield from numbers
    judged = replace(pulses, share_frac=judged_frac)
    yield _together(judged, specification.names.load, stream)


def _percent(pulses: Pulses) -> str:
    return f"{100 * pulses.share_frac:.0f}"


def _mean_current(pulses: Pulses) -> Question:
    label = _(
        "What a clamp shows at the fuse of the switch: command {share} %, current "
        "while on {amperes}"
    )
    told = _("{amperes} × {share} % is {mean}.")
    words = {"share": _percent(pulses), "amperes": short_text(pulses.on_a, "A")}
    return read_off(
        "pulse_current",
        (
            label.format(**words),
            _("A clamp shows the mean of the pulses and the pauses."),
        ),
        (pulses.mean_a, "A"),
        told.format(mean=short_text(pulses.mean_a, "A"), **words),
        {"pulse_for_mean": pulses.on_a},
    )


def _mean_voltage(pulses: Pulses) -> Question:
    label = _(
        "What a voltmeter shows at the output of the switch: command {share} %, supply "
        "{volts}"
    )
    told = _("{volts} × {share} % is {mean}. The rest is pauses, and no bad joint.")
    words = {"share": _percent(pulses), "volts": f"{pulses.supply_v:.1f} V"}
    return read_off(
        "pulse_voltage",
        (
            label.format(**words),
            _("On DC it shows the mean of the pulses and the pauses."),
        ),
        (pulses.mean_v, "V"),
        told.format(mean=short_text(pulses.mean_v, "V"), **words),
        {"supply_for_mean": pulses.supply_v},
    )


def _heating_current(pulses: Pulses) -> Question:
    label = _(
        "The current that heats the fuse of the switch: command {share} %, current "
        "while on {amperes}"
    )
    told = _("{amperes} × √{frac} is {heats}, more than the mean of {mean}.")
    amperes = short_text(pulses.on_a, "A")
    return read_off(
        "pulse_heating",
        (
            label.format(share=_percent(pulses), amperes=amperes),
            _("The steady current that would heat it as much: its root mean square."),
        ),
        (pulses.heating_a, "A"),
        told.format(
            amperes=amperes,
            frac=f"{pulses.share_frac:g}",
            heats=short_text(pulses.heating_a, "A"),
            mean=short_text(pulses.mean_a, "A"),
        ),
        {"mean_for_heating": pulses.mean_a},
        _HEATING_MARGIN_FRAC,
    )


def _together(sheet: Pulses, load: str, stream: Stream) -> Question:
    """Ask what command, clamp and meter say: the module alone never tells."""
    case = stream.choice(list(PULSE_SIGNS))
    low = stream.uniform(*_LOW)
    true_a = sheet.on_a * stream.uniform(*_SOUND) * (low if case == _LITTLE else 1.0)
    pulses = replace(sheet, on_a=true_a)
    reported_a = true_a * (low if case == _SENSE else 1.0)
    there = replace(pulses, share_frac=1.0) if case == _STAYS_ON else pulses
    label = _(
        "Scan tool: command {share} %, current while on {reported}. The clamp, "
        "10 mV/A, shows {fuse} at the fuse of the switch, a voltmeter {output} at its "
        "output; the supply is {supply}. By the sheet the {load} draws {amperes} while "
        "on. What does it mean?"
    )
    text = label.format(
        share=_percent(pulses),
        reported=short_text(reported_a, "A"),
        fuse=CLAMP_10.display(there.mean_a, Errors()),
        output=VOLTMETER.display(there.mean_v, Errors()),
        supply=f"{pulses.supply_v:.1f} V",
        load=load,
        amperes=short_text(sheet.on_a, "A"),
    )
    return verdict("switch_pulses", text, case, PULSE_SIGNS)
