"""Where the two circuits run: which fuse, which terminal, what a clamp there reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.writing.questions.question import Option, Question, choice_of, wrong

if TYPE_CHECKING:
    from collections.abc import Iterator

    from generator.writing.exercise import Exercise

__all__ = ["branch_questions"]

_JOINED = {
    "30": "Terminal 30 is joined to the load fuse: the feed of the contacts.",
    "87": "Terminal 87 is joined to the load, by the contacts' other side.",
    "85": "Terminal 85 is one end of the coil, in the control circuit.",
    "86": "Terminal 86 is one end of the coil, in the control circuit.",
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
    yield _terminal("fed_terminal", f"fuse {names.load_fuse} feed for the load", "30")
    driven = names.coil_return
    if exercise.specification.nominal.is_high_side:
        driven = names.coil_supply
    yield _terminal(
        "driven_terminal", f"driver of module {names.module} switch", driven
    )
    yield _clamp(names.load_fuse, is_shared=is_shared)


def _two_fuses(control: str, load: str) -> Iterator[Question]:
    both = wrong(
        "Both, one after the other",
        "Follow the lines from the supply: each fuse feeds a circuit of its own.",
    )
    yield choice_of(
        "coil_fuse",
        "Which fuse carries the current of the relay's coil?",
        (control, "From this fuse the line goes on to the coil."),
        [
            wrong(load, "This fuse feeds the contacts.", "load_current_for_coil"),
            both,
        ],
    )
    yield choice_of(
        "load_fuse",
        "Which fuse carries the current of the load?",
        (load, "From this fuse the line goes to terminal 30 and on to the load."),
        [wrong(control, "This fuse feeds the coil.", "coil_ohms_for_load"), both],
    )


def _shared_fuse(fuse: str) -> Iterator[Question]:
    yield choice_of(
        "coil_fuse",
        "Which fuse carries the current of the relay's coil?",
        (
            f"{fuse}, which carries the load's current too",
            "Behind it the line parts: to the coil and to terminal 30.",
        ),
        [
            wrong(f"{fuse}, and nothing else flows there", "The line parts behind it."),
            wrong(
                "None: the coil is fed before the fuse",
                "Follow the line to the coil: it begins behind the fuse.",
            ),
        ],
    )


def _terminal(id_: str, what: str, right: str) -> Question:
    others = [wrong(name, text) for name, text in _JOINED.items() if name != right]
    question = f"Which terminal of the relay does the {what}?"
    if id_ == "fed_terminal":
        question = f"Which terminal of the relay does {what}?"
    return choice_of(id_, question, (right, _JOINED[right]), others)


def _clamp(fuse: str, *, is_shared: bool) -> Question:
    """Ask what flows where a lead with a clamp takes the place of the load fuse."""
    load = Option(
        label="The load's current alone",
        text="The coil is fed by a fuse of its own.",
    )
    both = Option(
        label="The load's current and the coil's together",
        text="One fuse feeds both circuits.",
    )
    right, other = (both, load) if is_shared else (load, both)
    told = "Here one fuse feeds both." if is_shared else "Here each has its own fuse."
    return choice_of(
        "clamp_at_load_fuse",
        f"What does a clamp at fuse {fuse} read with the relay pulled in?",
        (right.label, right.text),
        [
            wrong(other.label, told),
            wrong(
                "The coil's current alone",
                "The contacts pass the load's current.",
                "coil_ohms_for_load",
            ),
            wrong("Nothing", "With the contacts closed the load draws its current."),
        ],
    )
