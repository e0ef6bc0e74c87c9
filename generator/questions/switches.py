"""Switches without contacts: what they sense, and where fuse and clamp decide."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.drawing.wording import short_text
from generator.model.instruments import CLAMP_10, Errors
from generator.model.sensing import SmartSwitch
from generator.questions.pulse_width import is_pulsed_by_switch, pulse_width_questions
from generator.questions.question import Question
from generator.questions.read_off import read_off, verdict
from workbook.texts import _, later

_DRAWS = later("The load draws what it should")
_OPEN = later("The path behind the switch is open")
_SHORT = later("It was overloaded, and stays off")
_FED = later("Something else feeds its output")
STATE_SIGNS: Mapping[str, str] = {
    _DRAWS: later(
        "Commanded on, output at the supply, and the right current: all is well."
    ),
    _OPEN: later(
        "Commanded on, the output is at the supply, and hardly any current flows."
    ),
    _SHORT: later(
        "Commanded on, the output is at nothing, and a code says so: it has latched."
    ),
    _FED: later(
        "Commanded off, the load works all the same, and the switch senses no current."
    ),
}
"""What a scan tool can show of a smart switch, and what each means."""

_AGREE = later("Both are right: the current fits")
_SENSE = later("The module's own measurement is wrong")
_PAST = later("Current flows that the load never gets")
BELIEF_SIGNS: Mapping[str, str] = {
    _AGREE: later("All three agree with the sheet: module and wire are sound."),
    _SENSE: later("Fuse and plug carry the same; only the module says something else."),
    _PAST: later(
        "Fuse and module say more than the plug carries: between them it leaks."
    ),
}
"""What follows when fuse, module and plug disagree, or agree."""

# Of switches for some ten amperes, by their data sheets in general terms (from memory).
_RATIOS, _SENSE_OHM = (5000.0, 8000.0, 10_000.0, 13_000.0), 1000.0
_LEAK_FRAC, _OFF_FRAC = (1.15, 1.3), (0.1, 0.3)


def switch_questions(
    specification: Specification, stream: Stream
) -> Iterator[Question]:
    """Ask for currents from a sense pin, and what command, output and current mean.

    Of a heater without a regulator one of each, and then what pulses do with it.
    """
    rated_a = specification.nominal.load_rated_a
    ratio = stream.choice(_RATIOS)
    switch = SmartSwitch(ratio=ratio, sense_ohm=_SENSE_OHM)
    numbers = (
        _load_current(switch, rated_a * stream.uniform(0.5, 1.2)),
        _sense_voltage(switch, rated_a),
    )
    verdicts = _state(specification, stream), _belief(specification, stream)
    if not is_pulsed_by_switch(specification):
        yield from (*numbers, *verdicts)
        return
    yield stream.choice(numbers)
    yield stream.choice(verdicts)
    yield from pulse_width_questions(specification, stream)


def _sheet(switch: SmartSwitch) -> str:
    text = _(
        "The load's current is {ratio} times the sense current, which flows in 1 kΩ."
    )
    return text.format(ratio=f"{switch.ratio:g}")


def _load_current(switch: SmartSwitch, load_a: float) -> Question:
    sense_v = float(f"{switch.sense_v(load_a):.3g}")
    found_a = switch.load_a(sense_v)
    label = _("Load current, with {volts} at the sense pin of the switch")
    told = _("{volts} ÷ 1 kΩ × {ratio} is {amperes}.")
    return read_off(
        "sensed_current",
        (label.format(volts=short_text(sense_v, "V")), _sheet(switch)),
        (found_a, "A"),
        told.format(
            volts=short_text(sense_v, "V"),
            ratio=f"{switch.ratio:g}",
            amperes=short_text(found_a, "A"),
        ),
        {"sense_for_load": sense_v / switch.sense_ohm},
    )


def _sense_voltage(switch: SmartSwitch, rated_a: float) -> Question:
    sense_v = switch.sense_v(rated_a)
    label = _("Voltage at the sense pin when the load draws {amperes}")
    told = _("{amperes} ÷ {ratio} × 1 kΩ is {volts}.")
    amperes = short_text(rated_a, "A")
    return read_off(
        "sense_voltage",
        (label.format(amperes=amperes), _sheet(switch)),
        (sense_v, "V"),
        told.format(
            amperes=amperes,
            ratio=f"{switch.ratio:g}",
            volts=short_text(sense_v, "V"),
        ),
    )


def _state(specification: Specification, stream: Stream) -> Question:
    nominal, case = specification.nominal, stream.choice(list(STATE_SIGNS))
    supply = f"{nominal.supply_v:.1f} V"
    rated_a = nominal.load_rated_a * stream.uniform(0.96, 1.04)
    on, off = _("on"), _("off")
    command, output, current, code = {
        _DRAWS: (on, supply, short_text(rated_a, "A"), _("no code")),
        _OPEN: (on, supply, "0.0 A", _("code: open load")),
        _SHORT: (on, "0.0 V", "0.0 A", _("code: overload, latched")),
        _FED: (off, supply, "0.0 A", _("code: open load or short to supply")),
    }[case]
    works = _("The load works.") if case in (_DRAWS, _FED) else _("It does not work.")
    label = _(
        "Scan tool: command {command}, output {output}, current {current}, {code}. "
        "{works} The sheet gives {amperes}. What does it mean?"
    )
    asked = label.format(
        command=command,
        output=output,
        current=current,
        code=code,
        works=works,
        amperes=short_text(nominal.load_rated_a, "A"),
    )
    return verdict("switch_state", asked, case, STATE_SIGNS)


def _belief(specification: Specification, stream: Stream) -> Question:
    rated_a = specification.nominal.load_rated_a
    case = stream.choice(list(BELIEF_SIGNS))
    at_plug_a = rated_a * stream.uniform(0.96, 1.04)
    at_fuse_a = at_plug_a * (stream.uniform(*_LEAK_FRAC) if case == _PAST else 1.0)
    reported_a = at_fuse_a * (stream.uniform(*_OFF_FRAC) if case == _SENSE else 1.0)
    label = _(
        "The module reports {reported} for the {load}. The clamp, 10 mV/A, shows "
        "{fuse} at the fuse of the switch and {plug} at one wire of the load's plug. "
        "The sheet gives {amperes}. What follows?"
    )
    asked = label.format(
        load=specification.names.load,
        reported=short_text(reported_a, "A"),
        fuse=CLAMP_10.display(at_fuse_a, Errors()),
        plug=CLAMP_10.display(at_plug_a, Errors()),
        amperes=short_text(rated_a, "A"),
    )
    return verdict("switch_belief", asked, case, BELIEF_SIGNS)
