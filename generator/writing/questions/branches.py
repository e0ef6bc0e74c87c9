"""Where the two circuits run: which fuse, which terminal, what a clamp there reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.writing.questions.question import Option, Question, choice_of, wrong
from workbook.texts import _, later

if TYPE_CHECKING:
    from collections.abc import Iterator

    from generator.writing.exercise import Exercise

__all__ = ["branch_questions"]

_JOINED = {
    "30": later("Terminal 30 is joined to the load fuse: the feed of the contacts."),
    "87": later("Terminal 87 is joined to the load, by the contacts' other side."),
    "85": later("Terminal 85 is one end of the coil, in the control circuit."),
    "86": later("Terminal 86 is one end of the coil, in the control circuit."),
}


def branch_questions(exercise: Exercise) -> Iterator[Question]:
    """Ask for fuses, terminals and what a clamp reads, as the diagram shows them.

    That 30 and 87 are the contacts and 85 and 86 the coil is DIN 72552 (from memory).
    """
    names = exercise.specification.names
    is_shared = exercise.specification.nominal.is_fuse_shared
    yield from (
        _shared_fuse(names.load_fuse)
        if is_shared
        else _two_fuses(names.control_fuse, names.load_fuse)
    )
    fed = _("Which terminal of the relay does fuse {fuse} feed for the load?")
    yield _terminal("fed_terminal", fed.format(fuse=names.load_fuse), "30")
    driven = names.coil_return
    if exercise.specification.nominal.is_high_side:
        driven = names.coil_supply
    switched = _("Which terminal of the relay does the driver of module {name} switch?")
    yield _terminal("driven_terminal", switched.format(name=names.module), driven)
    yield _clamp(names.load_fuse, is_shared=is_shared)


def _two_fuses(control: str, load: str) -> Iterator[Question]:
    both = wrong(
        _("Both, one after the other"),
        _("Follow the lines from the supply: each fuse feeds a circuit of its own."),
    )
    yield choice_of(
        "coil_fuse",
        _("Which fuse carries the current of the relay's coil?"),
        (control, _("From this fuse the line goes on to the coil.")),
        [
            wrong(load, _("This fuse feeds the contacts."), "load_current_for_coil"),
            both,
        ],
    )
    yield choice_of(
        "load_fuse",
        _("Which fuse carries the current of the load?"),
        (load, _("From this fuse the line goes to terminal 30 and on to the load.")),
        [wrong(control, _("This fuse feeds the coil."), "coil_ohms_for_load"), both],
    )


def _shared_fuse(fuse: str) -> Iterator[Question]:
    yield choice_of(
        "coil_fuse",
        _("Which fuse carries the current of the relay's coil?"),
        (
            _("{fuse}, which carries the load's current too").format(fuse=fuse),
            _("Behind it the line parts: to the coil and to terminal 30."),
        ),
        [
            wrong(
                _("{fuse}, and nothing else flows there").format(fuse=fuse),
                _("The line parts behind it."),
            ),
            wrong(
                _("None: the coil is fed before the fuse"),
                _("Follow the line to the coil: it begins behind the fuse."),
            ),
        ],
    )


def _terminal(id_: str, label: str, right: str) -> Question:
    others = [wrong(name, _(text)) for name, text in _JOINED.items() if name != right]
    return choice_of(id_, label, (right, _(_JOINED[right])), others)


def _clamp(fuse: str, *, is_shared: bool) -> Question:
    """Ask what flows where a lead with a clamp takes the place of the load fuse."""
    load = Option(
        label=_("The load's current alone"),
        text=_("The coil is fed by a fuse of its own."),
    )
    both = Option(
        label=_("The load's current and the coil's together"),
        text=_("One fuse feeds both circuits."),
    )
    right, other = (both, load) if is_shared else (load, both)
    told = (
        _("Here one fuse feeds both.")
        if is_shared
        else _("Here each has its own fuse.")
    )
    label = _("What does a clamp at fuse {fuse} read with the relay pulled in?")
    return choice_of(
        "clamp_at_load_fuse",
        label.format(fuse=fuse),
        (right.label, right.text),
        [
            wrong(other.label, told),
            wrong(
                _("The coil's current alone"),
                _("The contacts pass the load's current."),
                "coil_ohms_for_load",
            ),
            wrong(
                _("Nothing"), _("With the contacts closed the load draws its current.")
            ),
        ],
    )
