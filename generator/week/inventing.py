"""Invented students who work a set and hand in, to see how it is marked."""

from __future__ import annotations

from collections.abc import Sequence

from answer_keys.headway import Progress
from generator.invented.kinds import KINDS
from generator.invented.simulation import simulate_class
from generator.week.opened import OpenedSet


def invent_work(
    opened: OpenedSet,
    kinds: Sequence[str] = tuple(KINDS),
    tell: Progress = lambda *_: None,
) -> tuple[str, ...]:
    """Let invented students hand in; give the names of their files.

    Parameters
    ----------
    kinds : sequence of str
        Names of `generator.invented.kinds.KINDS`, dealt out in turn.

    Raises
    ------
    ClassSetError
        Where somebody has handed in already.
    """
    pair = opened.secret, opened.key
    return tuple(simulate_class(opened.class_set, kinds, pair, tell))
