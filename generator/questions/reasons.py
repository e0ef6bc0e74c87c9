"""Whys in groups: each reason of a group is right for one of its questions alone.

All reasons of a group are offered whichever of its questions is asked, so that neither
their words nor their length tell which is right. `reasons.toml` holds them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources

from generator.drawing.stream import Stream
from generator.questions.question import Question, choice_of, wrong
from workbook.texts import _


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """A question, its reason among those of its group, and what to say of that."""

    id: str
    question: str
    reason: str
    because: str


def _read() -> dict[str, tuple[Why, ...]]:
    file = resources.files(__package__) / "reasons.toml"
    return {
        group: tuple(Why(id=id_, **texts) for id_, texts in some.items())
        for group, some in tomllib.loads(file.read_text("utf-8")).items()
    }


WHYS = _read()
"""All groups, by their names."""
TURN_OFF = WHYS["turn_off"]
"""Asked with a scope."""
GROUPS = tuple(group for group in WHYS.values() if group is not TURN_OFF)
"""One question of each is asked in an exercise."""


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
