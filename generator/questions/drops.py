"""Voltage drops along the load path: their order, and one of them as a number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from generator.drawing.exercise import Exercise
from generator.drawing.predictions import plain_number
from generator.drawing.wording import short_text
from generator.model.network import Network
from generator.model.solving import solve
from generator.questions.question import Question, number_of, order_of
from workbook.texts import _, later

# Sections of the load path that a meter can be put across, by their branches.
_SECTIONS: Mapping[str, tuple[str, ...]] = {
    later("load fuse {load_fuse}"): ("load_fuse",),
    later("wire from fuse {load_fuse} to terminal 30"): ("load_feed",),
    later("terminal 30 to 87, socket and contacts"): ("socket", "contacts"),
    later("wire from terminal 87 to connector {load_connector}"): ("load_wire",),
    later("connector {load_connector}"): ("load_connector",),
    later("ground side of the {load}"): ("load_ground", "ground_point"),
}
# Less is the contact of the probes themselves.
_LEAST_OHM = 0.0005
# Sections that differ by less are not told apart by a meter in a shop.
_APART_FRAC = 0.85
# Room for a sum done with rounded numbers, none for a wrong section.
_MARGIN_FRAC = 0.05
_NO_CURRENT_A = 0.1
_SUM = later(
    "The load's current times the resistance, both from above. Right is what lies "
    "within {percent} %."
)


def drop_questions(exercise: Exercise) -> Iterator[Question]:
    """Ask for the order of the drops, and for the highest of them.

    The path carries one current, so that its drops are as its resistances (Ohm's law).
    """
    network, current_a = _loaded(exercise)
    ohms = _told_apart(_resistances(exercise, network))
    # The very number that is told: a student's sum is right to the last digit.
    amperes = float(f"{current_a:.3g}")
    given = "; ".join(f"{name} {ohm * 1000:g} mΩ" for name, ohm in sorted(ohms.items()))
    told = _(
        "The load draws {amperes}. A milliohm meter with four leads shows, out of "
        "circuit: {given}."
    )
    names = list(ohms)
    why = _("One current flows through all: the most ohms drop the most volts.")
    label = _("Put the voltage drops in order, the highest first")
    order = order_of("drop_order", label, names, why)
    help_ = told.format(amperes=short_text(amperes, "A"), given=given)
    yield replace(order, help=help_)
    for number, name in ((1, names[0]), (2, names[-1])):
        yield _drop(f"drop_{number}", name, amperes, ohms[name])


def _drop(id_: str, name: str, amperes: float, ohm: float) -> Question:
    """Ask for one drop as a number."""
    drop_v = round(amperes * ohm, 9)
    told = _("{amperes} × {milliohms} mΩ is {volts}.")
    asked = plain_number(
        id_,
        (
            _("Voltage drop with the load on: {section}").format(section=name),
            _(_SUM).format(percent=f"{100 * _MARGIN_FRAC:g}"),
        ),
        (drop_v, "V", _MARGIN_FRAC),
        told.format(
            amperes=short_text(amperes, "A"),
            milliohms=f"{ohm * 1000:g}",
            volts=short_text(drop_v, "V"),
        ),
    )
    return number_of(asked)


def _loaded(exercise: Exercise) -> tuple[Network, float]:
    """Return this vehicle with its load on, or the sound one where no current flows."""
    at = next(n for n, test in enumerate(exercise.tests) if test.id == "load_current")
    for network in (exercise.readings[at].network, exercise.sound_network):
        present = {branch.name for branch in network.branches}
        # A path that is open somewhere has no drops along it to compare.
        if not present.issuperset(sum(_SECTIONS.values(), ())):
            continue
        current_a = solve(network).current_a["load_wire"]
        if current_a > _NO_CURRENT_A:
            break
    return network, current_a


def _resistances(exercise: Exercise, network: Network) -> dict[str, float]:
    """Resistance of each section [Ω], as rounded as it is told."""
    ohm = {branch.name: branch.resistance_ohm for branch in network.branches}
    fill = exercise.specification.names.fill
    return {
        fill(name): float(f"{sum(ohm[part] for part in parts):.2g}")
        for name, parts in _SECTIONS.items()
    }


def _told_apart(ohms: Mapping[str, float]) -> dict[str, float]:
    """Keep sections that differ clearly, the highest first."""
    kept = dict[str, float]()
    for name, ohm in sorted(ohms.items(), key=lambda pair: -pair[1]):
        # From the highest down each has to be clearly lower than the one before.
        last = min(kept.values(), default=float("inf"))
        if _LEAST_OHM <= ohm <= _APART_FRAC * last:
            kept[name] = ohm
    return kept
