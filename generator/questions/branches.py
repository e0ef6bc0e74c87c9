"""Where the two circuits run: which fuse, which terminal, what a clamp reads where.

Which of several questions is asked is drawn, so that each option is right at times.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.drawing.exercise import Exercise
from generator.drawing.names import Named
from generator.drawing.stream import Stream
from generator.questions.question import Question, choice_of, wrong
from workbook.texts import _, later

_JOINED = {
    "30": later("Terminal 30 is joined to the load fuse: the feed of the contacts."),
    "87": later("Terminal 87 is joined to the load, by the contacts' other side."),
    "85": later("Terminal 85 is one end of the coil, in the control circuit."),
    "86": later("Terminal 86 is one end of the coil, in the control circuit."),
}


def branch_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Ask for fuses, terminals and what a clamp reads, as the diagram shows them.

    That 30 and 87 are the contacts and 85 and 86 the coil is DIN 72552 (from memory).
    """
    names, nominal = exercise.specification.names, exercise.specification.nominal
    is_shared = nominal.is_fuse_shared
    readings = stream.shuffled(list(_clamp_readings(names, is_shared=is_shared)))
    fuses = stream.shuffled(list(_fuses(names.control_fuse, names.load_fuse)))
    # With one fuse for both there is no question of which fuse.
    yield from readings[:2] if is_shared else (*fuses[:2], readings[0])
    yield stream.choice(list(_contact_terminals(names)))
    # A low-side driver switches the end that leads to ground, a high-side one the
    # other.
    driven, other = names.coil_return, names.coil_supply
    if nominal.is_high_side:
        driven, other = other, driven
    yield stream.choice(list(_coil_terminals(names.module, driven, other)))


def _fuses(control: str, load: str) -> Iterator[Question]:
    """Ask which of two fuses, pulled out, stops what."""
    alone = _("{fuse} alone")
    of_coil, of_load = alone.format(fuse=control), alone.format(fuse=load)
    either = _("Either of the two")
    coil_stops = _("Without it the coil gets nothing, so that the contacts open, too.")
    load_stops = _("Without it the contacts feed nothing, but the coil stays on.")
    both_stop = _("Only one of them feeds the coil, and only one the contacts.")
    other = _("Without {fuse} it stops, too.")
    yield choice_of(
        "coil_fuse",
        _("Which fuse, pulled out, lets the relay drop out?"),
        (of_coil, coil_stops),
        [wrong(of_load, load_stops), wrong(either, both_stop)],
    )
    yield choice_of(
        "load_fuse",
        _("Which fuse, pulled out, stops the load while the relay stays pulled in?"),
        (of_load, load_stops),
        [wrong(of_coil, coil_stops), wrong(either, both_stop)],
    )
    yield choice_of(
        "either_fuse",
        _("Which fuse, pulled out, stops the load?"),
        (either, _("It needs the contacts closed, and fed.")),
        [
            wrong(of_coil, other.format(fuse=load)),
            wrong(of_load, other.format(fuse=control)),
        ],
    )


def _contact_terminals(names: Named) -> Iterator[Question]:
    fed = _("Which terminal of the relay does fuse {fuse} feed for the load?")
    yield _terminal("fed_terminal", fed.format(fuse=names.load_fuse), "30")
    out = _("Which terminal of the relay leads to the load?")
    yield _terminal("load_terminal", out, "87")


def _coil_terminals(module: str, driven: str, other: str) -> Iterator[Question]:
    switched = _("Which terminal of the relay does the driver of module {name} switch?")
    yield _terminal("driven_terminal", switched.format(name=module), driven)
    kept = _("Which end of the coil does the driver of module {name} not switch?")
    yield _terminal("other_terminal", kept.format(name=module), other)


def _terminal(id_: str, label: str, right: str) -> Question:
    others = [wrong(name, _(text)) for name, text in _JOINED.items() if name != right]
    return choice_of(id_, label, (right, _(_JOINED[right])), others)


def _clamp_readings(names: Named, *, is_shared: bool) -> Iterator[Question]:
    """Ask what a clamp reads at places where both currents flow, one, or none."""
    fuse = _("at fuse {fuse}")
    at_load_fuse = fuse.format(fuse=names.load_fuse)
    to_30 = _("in the wire to terminal {pin}").format(pin="30")
    if is_shared:
        both, load = at_load_fuse, to_30
        coil = _("in the wire to terminal {pin}").format(pin=names.coil_supply)
    else:
        both, load = _("in the wire that feeds both fuses"), at_load_fuse
        coil = fuse.format(fuse=names.control_fuse)
    plugged = _("The relay is pulled in. What does a clamp read {place}?")
    unplugged = _(
        "The relay is pulled in, but the load is unplugged. What does a clamp read "
        "{place}?"
    )
    yield _clamp_reading("clamp_both", plugged.format(place=both))
    yield _clamp_reading("clamp_load", plugged.format(place=load))
    yield _clamp_reading("clamp_coil", plugged.format(place=coil))
    yield _clamp_reading("clamp_none", unplugged.format(place=load))


_CLAMPED = {
    "clamp_both": (
        later("The load's current and the coil's"),
        later("Both flow where one line feeds both circuits."),
    ),
    "clamp_load": (
        later("The load's current alone"),
        later("It flows through terminal 30, the contacts and the load."),
    ),
    "clamp_coil": (
        later("The coil's current alone"),
        later("It flows through the coil and whatever feeds and switches that."),
    ),
    "clamp_none": (
        later("No current at all"),
        later("None flows in a line that is open somewhere."),
    ),
}


def _clamp_reading(right: str, label: str) -> Question:
    others = [
        wrong(_(name), _(told))
        for id_, (name, told) in _CLAMPED.items()
        if id_ != right
    ]
    name, told = _CLAMPED[right]
    return choice_of(right, label, (_(name), _(told)), others)
