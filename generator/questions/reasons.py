"""Whys in groups: each reason of a group is right for one of its questions alone.

All reasons of a group are offered whichever of its questions is asked, so that neither
their words nor their length tell which is right.

What is right follows from Kirchhoff's and Ohm's laws, from how the tests of the model
are set up, and from how relays and fuses are chosen (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from generator.drawing.stream import Stream
from generator.questions.question import Question, choice_of, wrong
from workbook.texts import _, later


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """A question, its reason among those of its group, and what to say of that."""

    id: str
    question: str
    reason: str
    because: str


_RELAY = (
    Why(
        id="why_none",
        question=later(
            "No current flows in the control circuit on command. Why is the relay not "
            "yet proved bad?"
        ),
        reason=later("An open wire or fuse in its path leaves a good coil dead, too"),
        because=later(
            "No current says only that the path is open somewhere, or that the module "
            "does not command."
        ),
    ),
    Why(
        id="why_coil_alone",
        question=later(
            "The coil draws its right current, and nothing else was measured. Why may "
            "the relay still be bad?"
        ),
        reason=later("Its contacts are another part, and in another circuit"),
        because=later(
            "Burnt, open or welded contacts leave the coil's current as it is."
        ),
    ),
    Why(
        id="why_low_volts",
        question=later(
            "A coil made for 12 V gets 9 V. Why does the relay pull in all the same?"
        ),
        reason=later("It is made so that it does far below its rated voltage"),
        because=later(
            "About two thirds of the rated voltage are enough, so that it works with a "
            "weak battery, too."
        ),
    ),
    Why(
        id="why_same_relay",
        question=later("Why is only a relay of the specified part fitted?"),
        reason=later("Another coil may ask more of the driver than it can give"),
        because=later(
            "A stronger coil loads the driver, a bare one drives its spike into it."
        ),
    ),
)
_FUSES = (
    Why(
        id="why_under_load",
        question=later("Why is a voltage drop measured with the load on?"),
        reason=later("Without current a poor section drops as little as a good one"),
        because=later(
            "A drop is current times resistance: with none of one, none of the other."
        ),
    ),
    Why(
        id="why_fuse_opened",
        question=later(
            "A fuse is open. Why is the circuit measured before another is fitted?"
        ),
        reason=later("What drew too much may be there still, and opens the next"),
        because=later("A fuse opens because something drew too much."),
    ),
    Why(
        id="why_whole_fuse",
        question=later("A fuse is whole. Why is its circuit not proved sound by that?"),
        reason=later("A break or a poor contact draws less, and opens none"),
        because=later(
            "It opens for too much current only, and says nothing of what lies behind."
        ),
    ),
    Why(
        id="why_rating",
        question=later("Why has a fuse the rating of the sheet, and no larger one?"),
        reason=later("The wire behind it would else be the first thing to burn"),
        because=later(
            "The fuse is chosen for the wire, to open before that gets too hot."
        ),
    ),
)
_TESTS = (
    Why(
        id="why_no_ohms",
        question=later(
            "The circuit is dead. Why does an ohmmeter miss a poor connection in the "
            "load's path all the same?"
        ),
        reason=later("It has hardly more ohms than the meter's own leads"),
        because=later(
            "10 A through 0.1 Ω lose a volt; the leads of the meter have as many ohms."
        ),
    ),
    Why(
        id="why_zero",
        question=later(
            "Why is a clamp zeroed with its jaw closed and empty before each reading?"
        ),
        reason=later("What it shows without current would be in the number"),
        because=later("The zero of the probe is added to the current, and it creeps."),
    ),
    Why(
        id="why_dead",
        question=later("Why is a circuit made dead before its ohms are measured?"),
        reason=later("Any current but the meter's own would falsify them"),
        because=later(
            "The meter drives a small current of its own and takes all that it sees "
            "for that one."
        ),
    ),
    Why(
        id="why_bridge",
        question=later(
            "With 30 and 87 bridged by a fused jumper the load runs. Why is the relay "
            "not proved bad by that?"
        ),
        reason=later("Everything that commands it was left out as well"),
        because=later(
            "Fuse, wires and module of the control circuit are still suspect."
        ),
    ),
)
TURN_OFF = (
    Why(
        id="why_suppression",
        question=later("Why must something lie across the coil of a relay?"),
        reason=later("The driver would else have to take all of its energy"),
        because=later(
            "The energy of the coil has to go somewhere: without suppression it goes "
            "through the driver."
        ),
    ),
    Why(
        id="why_same_current",
        question=later(
            "Why does suppression hardly change the current of the circuit while the "
            "coil is on?"
        ),
        reason=later("A diode blocks then, and a resistor takes very little"),
        because=later("A resistor across a coil has several times its ohms."),
    ),
    Why(
        id="why_late",
        question=later(
            "Why does a relay with a diode across its coil drop out later than one "
            "with a resistor?"
        ),
        reason=later("Against so low a voltage its current dies away slowly"),
        because=later(
            "Under a volt stands across the diode, tens of volts across the resistor: "
            "the higher the voltage, the faster the current falls."
        ),
    ),
    Why(
        id="why_scope",
        question=later("Why does a voltmeter not show the spike of a coil?"),
        reason=later("It is over long before a number can stand there"),
        because=later(
            "The spike lasts a few thousandths of a second at most, a display some "
            "tenths for each number."
        ),
    ),
)
GROUPS = (_RELAY, _FUSES, _TESTS)
"""One question of each is asked in an exercise; `TURN_OFF` is asked with a scope."""


def reason_questions(stream: Stream) -> Iterator[Question]:
    """Draw one question of each group."""
    for group in stream.shuffled(GROUPS):
        yield reason_question(group, stream)


def reason_question(group: tuple[Why, ...], stream: Stream) -> Question:
    """Draw one question of a group, with all reasons of it."""
    asked = stream.choice(group)
    because = _(asked.because)
    told = _("That answers another question: {question} Here it is so: {because}")
    return choice_of(
        asked.id,
        _(asked.question),
        (_(asked.reason), because),
        [
            wrong(
                _(other.reason),
                told.format(question=_(other.question), because=because),
            )
            for other in group
            if other is not asked
        ],
    )
