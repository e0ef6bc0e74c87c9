"""Grade a class of this machine: gradebook, report and sheets, and its figures."""

from __future__ import annotations

from pathlib import Path

from msgspec import msgpack

from generator.classes.figures import figures_of
from generator.classes.shipping import marks_at_hand
from generator.week.marking import Marking, grade
from generator.week.opened import opened_set


def do(
    folder: Path,
    passphrase: str | None,
    gradebook: str | None,
    marked: tuple[Path, ...] | None = None,
) -> bytes:
    """Grade what was handed in; give the figures of the class, in MessagePack.

    Parameters
    ----------
    marked : tuple of Path or None
        Files of what was marked elsewhere already; None marks it here.

    Raises
    ------
    As `generator.week.marking.grade` and `generator.week.opened.opened_set` do.
    """
    opened = opened_set(folder, passphrase, gradebook)
    marking = Marking(mark=None if marked is None else marks_at_hand(marked))
    return msgpack.encode(figures_of(grade(opened, marking).result))
