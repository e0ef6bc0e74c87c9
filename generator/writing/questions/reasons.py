"""A small catalogue of whys, each with one right reason and some wrong ones.

What is right follows from Kirchhoff's and Ohm's laws and from how the tests of the
model are set up; that the wrong reasons are in use is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from generator.writing.questions.question import Question, choice_of, wrong
from workbook.texts import _

if TYPE_CHECKING:
    from collections.abc import Iterator

    from generator.writing.stream import Stream

__all__ = ["REASONS", "reason_questions"]

_ASKED = 3

REASONS: tuple[Question, ...] = (
    choice_of(
        "why_none",
        "No current flows in the control circuit on command. Why is the relay not yet "
        "proved bad?",
        (
            "Any open part of that path, or a module that does not command, reads the "
            "same",
            "No current says only that the path is open somewhere.",
        ),
        [
            wrong(
                "It is proved bad: nothing flows through it",
                "A wire, a fuse or the module would read the same.",
                "none_blames_relay",
            ),
            wrong(
                "The load fuse may be open, and then the coil gets nothing",
                "The load fuse feeds the contacts, not the coil.",
            ),
            wrong(
                "A clamp cannot read a coil's current",
                "On a fine scale a clamp reads it with three digits.",
            ),
        ],
    ),
    choice_of(
        "why_coil_alone",
        "The coil draws its right current. Why may the relay still be bad?",
        (
            "The contacts are another part, in another circuit",
            "Burnt, open or welded contacts leave the coil's current as it is.",
        ),
        [
            wrong(
                "It cannot be bad: a coil that draws its current closes its contacts",
                "Contacts can be burnt all the same.",
                "energised_coil_clears_relay",
            ),
            wrong(
                "The current of the coil hides that of the load",
                "Each flows through a fuse of its own, or they add up in one.",
            ),
            wrong(
                "The coil's current says nothing at all",
                "It clears the whole control circuit that it flows through.",
            ),
        ],
    ),
    choice_of(
        "why_bridge",
        "With 30 and 87 bridged by a fused jumper the load runs. Why is the relay not "
        "proved bad by that?",
        (
            "The bridge leaves out all that commands the relay as well",
            "Fuse, wires and module of the control circuit are still suspect.",
        ),
        [
            wrong(
                "It is proved bad: without it the load runs",
                "A relay that is not commanded behaves the same.",
                "bridged_run_blames_relay",
            ),
            wrong(
                "The load may draw too much when it is bridged",
                "The clamp would show that, and the fuse of the jumper would open.",
            ),
            wrong(
                "The bridge feeds the coil too",
                "30 and 87 are the contacts; the coil lies between 85 and 86.",
            ),
        ],
    ),
    choice_of(
        "why_under_load",
        "Why is a voltage drop measured with the load on?",
        (
            "Without current nothing drops, in a good and in a poor section alike",
            "A drop is current times resistance: with none of one, none of the other.",
        ),
        [
            wrong(
                "It is not: 0 V with the load off proves the section good",
                "It would read 0 V with any resistance.",
                "no_drop_clears_path",
            ),
            wrong(
                "With the load off, open contacts would show the drop too small",
                "Open contacts then show the whole supply.",
                "drop_while_off",
            ),
            wrong(
                "So that the meter is warmed up by the current",
                "No current to speak of flows through a voltmeter.",
            ),
        ],
    ),
    choice_of(
        "why_no_ohms",
        "Why does an ohmmeter miss a poor connection in the load's path?",
        (
            "A few hundredths of an ohm are little on its display, but volts at the "
            "load's current",
            "10 A through 0.1 Ω lose a volt; the leads of the meter have as many ohms.",
        ),
        [
            wrong(
                "It does not: right ohms prove the wire",
                "One strand that is left reads as good as all of them.",
                "ohms_clear_wires",
            ),
            wrong(
                "An ohmmeter reads in one direction only",
                "A wire has the same ohms in both.",
            ),
            wrong(
                "The load's current heats the meter",
                "Ohms are measured with the circuit dead: no such current flows.",
                "ohmmeter_on_live_part",
            ),
        ],
    ),
    choice_of(
        "why_fuse_opened",
        "A fuse is open. Why is the circuit measured before another is fitted?",
        (
            "What opened it may still be there, and opens the next one too",
            "A fuse opens because something drew too much.",
        ),
        [
            wrong(
                "It is not: the open fuse is the fault",
                "The next one opens as well.",
                "open_fuse_is_cause",
            ),
            wrong(
                "To find out how much larger the new fuse has to be",
                "A larger fuse lets the wires burn in its place.",
            ),
            wrong(
                "Because a new fuse has to be measured in",
                "A fuse of the right rating needs no fitting in.",
            ),
        ],
    ),
    choice_of(
        "why_whole_fuse",
        "A fuse is whole. Why is its circuit not proved sound by that?",
        (
            "It opens for too much current only, and says nothing of what lies behind",
            "An open or poor path draws less, and no fuse opens for that.",
        ),
        [
            wrong(
                "It is: current can flow",
                "It can flow through the fuse; the path behind may be open.",
                "whole_fuse_clears_circuit",
            ),
            wrong(
                "A fuse that looks whole is mostly open",
                "What looks whole mostly is; a meter shows it in doubt.",
            ),
            wrong(
                "A fuse wears out and draws more current with time",
                "A fuse draws no current of its own.",
                "fuse_rating_as_current",
            ),
        ],
    ),
    choice_of(
        "why_same_relay",
        "Why is only a relay of the specified part fitted?",
        (
            "Coil and suppression belong to this driver, and the contacts to this load",
            "A stronger coil loads the driver, a bare one drives its spike into it.",
        ),
        [
            wrong(
                "Any relay that fits the socket will do",
                "The socket says nothing of coil and suppression.",
            ),
            wrong(
                "Another relay changes the load's current",
                "The load decides its current; sound contacts drop next to nothing.",
            ),
            wrong(
                "So that the driver's limit flows through the coil",
                "A sound coil draws far less than the limit.",
                "driver_limit_as_current",
            ),
        ],
    ),
    choice_of(
        "why_zero",
        "Why is a clamp zeroed with its jaw closed and empty before each reading?",
        (
            "What it shows without current is in every reading, and it creeps",
            "The zero of the probe is added to the current.",
        ),
        [
            wrong(
                "It needs no zero: it cancels in the scale",
                "The scale multiplies, the zero is added.",
                "clamp_not_zeroed",
            ),
            wrong(
                "To take the current out of the wire first",
                "Zeroing changes the probe's own number and no current.",
            ),
            wrong(
                "To set the scale of the clamp",
                "The scale is a switch of its own.",
            ),
        ],
    ),
)


def reason_questions(stream: Stream) -> Iterator[Question]:
    """Draw some of the catalogue."""
    yield from map(_spoken, stream.shuffled(REASONS)[:_ASKED])


def _spoken(question: Question) -> Question:
    """Translate a question, whose right option is the first."""
    options = tuple(
        replace(option, label=_(option.label), text=_(option.text))
        for option in question.options
    )
    label = _(question.label)
    return replace(question, label=label, options=options, right=options[:1])
