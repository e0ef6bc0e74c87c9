"""What the plan says of every set of causes that a practice workbook can come to.

On one vehicle each test has one outcome, so the causes left after some tests are the
intersection of what fits each of them. There are hundreds of such sets at most; the
page gets for each of them what every next test would cost, and needs no plan itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.model.diagnostics import choices_of
from generator.model.plan import SAME_MINUTES, Plan
from generator.model.plan_search import bits_of
from workbook.texts import later

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from generator.writing.exercise import Exercise

__all__ = ["plan_feedback"]

# Where the causes of a side lie, in the words of the page.
_PLACES = {
    "control side": later("in the control circuit"),
    "load side": later("in the load circuit"),
    "mechanics": later("in the mechanics"),
}


def plan_feedback(
    exercise: Exercise, codes: Mapping[str, str], plan: Plan
) -> dict[str, object]:
    """Tell for each set of causes left what the next tests cost.

    Parameters
    ----------
    exercise : Exercise
    codes : mapping of str to str
        Code of each cause on the page, by fault.
    plan : Plan
        Of this exercise.

    Returns
    -------
    dict
        ``places``: where each cause lies, by its code. ``outcomes``: by test one digit
        a cause, the place of its outcome among the test's words. ``sets``: by the bit
        mask of the causes left, in hexadecimal, a row of whole numbers: the expected
        tenths of a minute to a proved cause, the number of the planned test, and for
        each way to split the set the expected tenths that its first test wastes, in
        the order of these tests. Tests that split it the same way differ by their
        minutes. A set that needs no more test, or that none splits, has no row.
    """
    return {
        "places": {codes[f.id]: _PLACES[f.side] for f in exercise.candidates},
        "outcomes": {
            test.id: "".join(
                str(choices_of(test, scale).index(row[n])) for row in plan.outcome
            )
            for n, (test, scale) in enumerate(
                zip(exercise.tests, exercise.scales, strict=True)
            )
        },
        "sets": _rows(plan, _reachable(exercise)),
    }


def _reachable(exercise: Exercise) -> Iterable[int]:
    """Sets that any tests can leave on this vehicle, all causes first."""
    actual = exercise.actual_outcome
    everything = (1 << len(exercise.candidates)) - 1
    fits = {
        sum(1 << c for c, row in enumerate(exercise.outcome) if row[test] == word)
        for test, word in enumerate(actual)
    }
    found = {everything: None}
    for fit in sorted(fits):
        found |= {mask & fit: None for mask in tuple(found)}
    return found


def _rows(plan: Plan, masks: Iterable[int]) -> dict[str, list[int]]:
    rows = {}
    # Small sets first: the search of a larger one builds on what it may leave.
    for mask in sorted(masks, key=int.bit_count):
        left = tuple(bits_of(mask))
        value, costs = plan.value(left), plan.costs(left)
        planned = [t for t, cost in enumerate(costs) if cost - value < SAME_MINUTES]
        if planned:
            waste = [_tenths(costs[test] - value) for test in plan.ways(left)]
            rows[f"{mask:x}"] = [_tenths(value), planned[0], *waste]
    return rows


def _tenths(minutes: float) -> int:
    # A half goes one way, whatever sums of the same numbers have left in last digits:
    # those hang on what the search was asked for before.
    return round(round(round(minutes, 6), 1) * 10)
