"""A question with its answer, whatever it asks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from answer_keys.misconceptions import MISCONCEPTIONS
from generator.drawing.predictions import Prediction
from generator.drawing.stream import Stream
from generator.pictures.scope_screen import ScopePicture
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One option, what is right or wrong with it, and the wrong rule that takes it."""

    label: str
    text: str
    misconception: str = ""
    id: str = ""

    @property
    def told(self) -> str:
        """What is said to whoever takes it, with what helps against the wrong rule."""
        if not self.misconception:
            return self.text
        return f"{self.text} {_(MISCONCEPTIONS[self.misconception].cure)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line to be written, and one way to write it."""

    id: str
    label: str
    model: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something asked of a circuit.

    A choice has its right option in ``right``, an order all of them; ``text`` says why
    an order is as it is. A ``picture`` is shown with it.
    """

    id: str
    kind: Literal["number", "choice", "order", "lines"]
    label: str
    help: str = ""
    number: Prediction | None = None
    options: tuple[Option, ...] = ()
    right: tuple[Option, ...] = ()
    text: str = ""
    lines: tuple[Line, ...] = ()
    checklist: tuple[str, ...] = ()
    picture: ScopePicture | None = None


def shown_v(display: str) -> float:
    """What a meter on volts shows, as a number [V].

    Examples
    --------
    >>> shown_v("12.5 mV")
    0.0125
    """
    number, unit = display.split(" ")
    return float(number) / (1000 if unit == "mV" else 1)


def wrong(label: str, text: str, misconception: str = "") -> Option:
    """Make a wrong option; a wrong rule of the catalogue may explain it."""
    return Option(label=label, text=text, misconception=misconception)


def choice_of(
    id_: str, label: str, right: tuple[str, str], others: Sequence[Option]
) -> Question:
    """Ask for one of several things.

    Parameters
    ----------
    right : pair of str
        The right option, and why it is right.
    others : sequence of Option
        The wrong ones.
    """
    option = Option(label=right[0], text=right[1])
    return Question(
        id=id_,
        kind="choice",
        label=label,
        options=(option, *others),
        right=(option,),
    )


def order_of(id_: str, label: str, labels: Sequence[str], text: str) -> Question:
    """Ask for the order of several things, given in the right one."""
    options = tuple(Option(label=each, text="") for each in labels)
    return Question(
        id=id_, kind="order", label=label, options=options, right=options, text=text
    )


def number_of(prediction: Prediction) -> Question:
    """Ask for a number."""
    return Question(
        id=prediction.id,
        kind="number",
        label=prediction.label,
        help=prediction.help,
        number=prediction,
    )


def mixed(question: Question, stream: Stream) -> Question:
    """Draw the order of the options, and name them by their places in it."""
    drawn = stream.shuffled(range(len(question.options)))
    # By the drawn order, so that no id tells which one was written first.
    ids = {place: f"o{number}" for number, place in enumerate(drawn, start=1)}
    named = [replace(o, id=ids[n]) for n, o in enumerate(question.options)]
    right = tuple(named[question.options.index(option)] for option in question.right)
    options = tuple(named[place] for place in drawn)
    return replace(question, options=options, right=right)
