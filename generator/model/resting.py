"""A vehicle at rest: its battery current after locking, and how long the battery lasts.

How fast vehicles fall asleep and what they take then is common practice, no source:
makers' service texts read on the way give 10 to 30 mA within five minutes for one, and
up to 50 mA after forty for another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOST_ASLEEP_A = 0.05
"""What a sleeping vehicle takes at most (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """From when on which current flows [min], [A]."""

    start_min: float
    current_a: float


def log_of(steps: Sequence[Step], end_min: float) -> tuple[Floats, Floats]:
    """Times [min] and currents [A] of a log that goes in steps.

    Examples
    --------
    >>> time, current = log_of([Step(start_min=0, current_a=2.0)], 10)
    >>> time.tolist(), current.tolist()
    ([0.0, 10.0], [2.0, 2.0])
    """
    ends = [*(step.start_min for step in steps[1:]), end_min]
    times = [
        t for step, end in zip(steps, ends, strict=True) for t in (step.start_min, end)
    ]
    currents = [step.current_a for step in steps for _ in range(2)]
    return np.array(times, dtype=float), np.array(currents, dtype=float)


def mean_a(asleep_a: float, awake_a: float, awake_frac: float) -> float:
    """Mean current of a vehicle that wakes for a share of the time [A].

    Examples
    --------
    >>> round(mean_a(0.02, 1.0, 0.1), 3)
    0.118
    """
    return asleep_a + (awake_a - asleep_a) * awake_frac


def days_left(capacity_ah: float, used_frac: float, current_a: float) -> float:
    """Days until a share of the battery's capacity is used.

    Examples
    --------
    >>> round(days_left(80.0, 0.5, 0.05), 1)
    33.3
    """
    return used_frac * capacity_ah / current_a / 24
