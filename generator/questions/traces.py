"""Currents in time at the two fuses: what the coil's and the load's say.

Every trace is that of the specified circuit, sound or with one fault drawn for it,
as a scope behind a clamp shows it.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.questions.load_traces import (
    element_questions,
    lamp_questions,
    pulse_questions,
    series_ohm,
    start_questions,
)
from generator.questions.pulled import coil_questions, winding_questions
from generator.questions.question import Question
from generator.questions.ripples import ripple_questions


def trace_questions(specification: Specification, stream: Stream) -> Iterator[Question]:
    """Show the coil's current and the load's in time, and ask what they say."""
    yield from coil_questions(specification, stream)
    ohm = series_ohm(specification.nominal)
    kind = specification.family.kind
    if kind in ("fan motor", "pump motor"):
        if stream.integer(2):
            yield from start_questions(specification, stream)
        else:
            yield from ripple_questions(specification, stream, ohm)
    elif kind == "lamp bank":
        yield from lamp_questions(specification, stream)
    elif kind == "heater":
        yield from element_questions(specification, stream)
    elif kind == "pulsed heater":
        yield from pulse_questions(specification, stream)
    else:
        yield from winding_questions(specification, stream, ohm)
