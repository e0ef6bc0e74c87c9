"""What is read after a repair: the test that failed, done again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from generator.drawing.predictions import Prediction, SoundCurrents, new_predictions
from generator.drawing.specification import Specification
from generator.drawing.verification import new_verification
from generator.drawing.wording import short_text
from generator.model.catalogue.fault import Fault
from generator.model.complaints import Symptom
from generator.model.measure import DiagnosticTest
from generator.model.scales import Scale
from workbook.texts import _, later

_ID = "after_repair"
# Tests that are done again, the first that failed: a load that should be off, then
# currents, drops and voltages. None fits a new part or bridges one. No control current
# with the command off tells a mended wire from one that is still parted.
_AGAIN = (
    *("load_current_off", "load_current", "control_current", "control_current_off"),
    *("drop_supply_30", "drop_30_87", "drop_load_connector", "drop_87_load"),
    *("drop_load_ground", "voltage_fuse_box", "voltage_86", "voltage_high_driver"),
    *("voltage_85", "voltage_low_driver", "voltage_module_ground", "scope_turn_off"),
)


# What eyes and hands add to the number: the work itself, as the operator asks for it.
_LOOK: Mapping[Symptom, str] = {
    "does nothing": later("And look: switched on in the normal way, {work}."),
    "works weakly": later(
        "And look: switched on in the normal way, {work}, as the operator knows it."
    ),
    "never stops": later("And look: the {load} is on with demand, and off without."),
    "comes and goes": later(
        "And look: with the harness wiggled and warm, {work} all the while."
    ),
    "runs hot": later(
        "And look: {work}, and after ten minutes neither fuse holder nor wire smells."
    ),
    "upsets the module": later(
        "And look: the {load} is switched on and off ten times, and nothing restarts."
    ),
}


class Drawn(Protocol):
    """An exercise, of which this asks no more."""

    @property
    def specification(self) -> Specification: ...  # noqa: D102
    @property
    def symptom(self) -> Symptom: ...  # noqa: D102
    @property
    def fault(self) -> Fault: ...  # noqa: D102
    @property
    def tests(self) -> Sequence[DiagnosticTest]: ...  # noqa: D102
    @property
    def scales(self) -> Sequence[Scale]: ...  # noqa: D102
    @property
    def candidates(self) -> Sequence[Fault]: ...  # noqa: D102
    @property
    def outcome(self) -> Sequence[Sequence[str]]: ...  # noqa: D102
    @property
    def sound_outcome(self) -> Sequence[str]: ...  # noqa: D102
    @property
    def sound_values(self) -> Sequence[float]: ...  # noqa: D102
    @property
    def sound_currents(self) -> SoundCurrents: ...  # noqa: D102


def verification_of(exercise: Drawn, repair: str = "") -> Prediction:
    """Ask what the meter shows after a repair, in the language spoken.

    It is a test that read wrong under every cause of the complaint that the repair
    cures. Where only eyes and hands can tell, the load current is asked, and said to
    prove nothing by itself.

    Parameters
    ----------
    repair : str, optional
        Else the one that cures the fault that is there.
    """
    # Not of the one fault alone: what is asked would tell it from others of that
    # repair.
    failed = _failed(exercise, repair or exercise.fault.repair)
    # Both currents have words of their own, with the wrong rules that belong to them.
    asked = {
        "load_current": _load_display,
        "control_current": _control_display,
        "": _by_eye,
    }.get(failed)
    number = _again(exercise, failed) if asked is None else asked(exercise)
    return replace(
        number,
        id=_ID,
        help=f"{number.help} {look_again(exercise)}",
        test=failed or "load_current",
    )


def look_again(exercise: Drawn) -> str:
    """What is looked at after a repair besides, by the complaint: it is gone."""
    return exercise.specification.names.fill(_(_LOOK[exercise.symptom]))


def _failed(exercise: Drawn, repair: str) -> str:
    """The test to do again, by id; empty where no meter read wrong."""
    rows = [
        row
        for fault, row in zip(exercise.candidates, exercise.outcome, strict=True)
        if fault.repair == repair
    ]
    places = {test.id: place for place, test in enumerate(exercise.tests)}
    for name in _AGAIN:
        place = places.get(name)
        # A meter with a lead in place of an open fuse read right: the fuse did not.
        if place is not None and all(
            _meter(row[place]) != _meter(exercise.sound_outcome[place]) for row in rows
        ):
            return name
    return ""


def _meter(outcome: str) -> str:
    return outcome.partition(", fuse ")[0]


def _load_display(exercise: Drawn) -> Prediction:
    return new_verification(exercise.specification.nominal, exercise.sound_currents)


def _control_display(exercise: Drawn) -> Prediction:
    *_currents, display = new_predictions(
        exercise.specification.nominal, exercise.sound_currents
    )
    again = _("After the repair: {reading}")
    return replace(display, label=again.format(reading=display.label))


def _by_eye(exercise: Drawn) -> Prediction:
    display = _load_display(exercise)
    only = _(
        "No meter read wrong before this repair: what proves it is the work, and that "
        "the complaint stays away. The load current must still be right."
    )
    told = _("{display} That alone proves nothing: it was right before.")
    low, high = (short_text(end, display.unit) for end in display.band)
    right = told.format(
        display=_("A sound circuit shows {low} to {high}.").format(low=low, high=high)
    )
    return replace(display, help=f"{only} {display.help}", right=right)


def _again(exercise: Drawn, name: str) -> Prediction:
    """Ask what a test shows on the sound circuit, by its sheet."""
    place = [test.id for test in exercise.tests].index(name)
    test, band = exercise.tests[place], exercise.scales[place].band
    if band is None:
        raise ValueError(f"{name} reads no number")
    clamp = test.measure.clamp
    scale = clamp.scale_v_per_a if clamp else 1.0
    title = exercise.specification.names.fill(test.title)
    low, high = (end * scale for end in band)
    numbers = {
        "test": title,
        "low": short_text(low, "V"),
        "high": short_text(high, "V"),
    }
    told = _(
        "In a sound circuit “{test}” shows {low} to {high}. Before the repair it did "
        "not: this reading proves it."
    ).format(**numbers)
    asked = _("After the repair: {test}")
    if clamp:
        asked = _("After the repair: {test}, {scale} scale")
    return Prediction(
        id=_ID,
        label=asked.format(test=title, scale=clamp.scale_text if clamp else ""),
        help=_("The test that failed, done again: what a sound circuit shows."),
        unit="V",
        # What is off reads nothing but the last bits of sums.
        value=round(min(high, max(low, exercise.sound_values[place] * scale)), 9),
        band=(low, high),
        misconceptions=(),
        right=told,
        wrong=told,
    )
