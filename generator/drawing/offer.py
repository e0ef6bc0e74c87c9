"""Which tests done in a wrong state stand among the proper ones, and where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from generator.drawing.proof import Judged
from generator.drawing.stream import Stream
from generator.model.circuit import RelayCircuit
from generator.model.diagnostics import PROVES_NOTHING
from generator.model.wrong_state import WrongState, wrong_states_for

_T = TypeVar("_T")
_FEWEST, _MOST = 3, 4


def with_wrong_states(judged: Judged, circuit: RelayCircuit, stream: Stream) -> Judged:
    """Put three or four tests done in a wrong state among the proper ones.

    Each stands beside the test that it passes for, before or after it as drawn, so
    that no place gives it away. The proof has been made without them.

    Parameters
    ----------
    judged : Judged
        With proper tests alone.
    circuit : RelayCircuit
        Tells its variant.
    stream : Stream
        Of the exercise.
    """
    suitable = wrong_states_for(
        circuit, [test.id for test in judged.tests], judged.symptom
    )
    count = _FEWEST + stream.integer(_MOST - _FEWEST + 1)
    for wrong in stream.shuffled(suitable)[:count]:
        judged = _placed(judged, wrong, stream.integer(2))
    return judged


def _placed(judged: Judged, wrong: WrongState, steps_behind: int) -> Judged:
    like = [test.id for test in judged.tests].index(wrong.like)
    place = like + steps_behind
    return replace(
        judged,
        tests=_inserted(judged.tests, place, wrong.test),
        scales=_inserted(judged.scales, place, judged.scales[like]),
        outcome=tuple(_inserted(row, place, PROVES_NOTHING) for row in judged.outcome),
    )


def _inserted(items: Sequence[_T], place: int, item: _T) -> tuple[_T, ...]:
    return (*items[:place], item, *items[place:])
