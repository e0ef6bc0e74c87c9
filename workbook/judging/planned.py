"""What the plan says of the causes left; practice sets only, pure.

The plan was made where the exercise was drawn; here its rows are looked up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from workbook.record.payload import DiagnosticTest, Exercise, Feedback
from workbook.record.progress import TestDone
from workbook.texts import _, figure


@dataclass(frozen=True, slots=True, kw_only=True)
class NextTests:
    """What can be chosen next for some causes left.

    Parameters
    ----------
    minutes_left : float
        Expected minutes to a proved cause on the planned way.
    planned : DiagnosticTest
        The test that the plan takes.
    wasted_min : dict of str to float
        Expected minutes that each test adds to the plan, by id; only tests that tell
        the causes apart.
    """

    minutes_left: float
    planned: DiagnosticTest
    wasted_min: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One test of a way, the causes it leaves, and whether one repair cures them."""

    test: DiagnosticTest
    causes_left: int
    is_proved: bool


def possible_causes(
    exercise: Exercise, feedback: Feedback, tests: Iterable[TestDone]
) -> frozenset[str]:
    """Return the causes that fit every test done; all of them before the first."""
    fits = (feedback.tests[test.item].fits for test in tests)
    return frozenset(cause.id for cause in exercise.causes).intersection(*fits)


def is_proved(feedback: Feedback, left: frozenset[str]) -> bool:
    """Tell whether one correction cures all causes left."""
    return left <= feedback.conclusion.causes


def next_tests(
    exercise: Exercise, feedback: Feedback, left: frozenset[str]
) -> NextTests | None:
    """Look up what can be chosen next.

    Parameters
    ----------
    feedback : Feedback
        Of that exercise.
    left : frozenset of str
        Ids of the causes left.

    Returns
    -------
    NextTests or None
        None where no test is needed, or none tells the causes apart.
    """
    # A row is found by the causes left, a bit each in the order of the page.
    mask = sum(1 << n for n, cause in enumerate(exercise.causes) if cause.id in left)
    row = feedback.plan.sets.get(f"{mask:x}")
    if row is None:
        return None
    tenths_left, planned, *tenths_wasted = row
    return NextTests(
        minutes_left=tenths_left / 10,
        planned=exercise.tests[planned],
        wasted_min=_wasted(exercise, feedback, left, tenths_wasted),
    )


def _wasted(
    exercise: Exercise, feedback: Feedback, left: frozenset[str], tenths: list[int]
) -> dict[str, float]:
    """Read a row: tests that split the causes the same way differ by minutes alone."""
    unread, wasted = iter(tenths), dict[str, float]()
    after: dict[tuple[int, ...], float] = {}
    for test in exercise.tests:
        shown = shown_under(exercise, feedback, test, left)
        # Which causes it keeps together, whatever the outcome is called.
        split = tuple(map(shown.index, shown))
        if not any(split):
            continue
        # The row was written in this order of tests, one number for each new split.
        if split not in after:
            after[split] = next(unread) / 10 - test.minutes
        wasted[test.id] = round(after[split] + test.minutes, 1)
    return wasted


def shown_under(
    exercise: Exercise, feedback: Feedback, test: DiagnosticTest, left: frozenset[str]
) -> list[str]:
    """Return the outcome of a test under each cause left, as the digit of its word."""
    digits = zip(exercise.causes, feedback.plan.outcomes[test.id], strict=True)
    return [digit for cause, digit in digits if cause.id in left]


def parts(
    exercise: Exercise, feedback: Feedback, test: DiagnosticTest, left: frozenset[str]
) -> dict[str, int]:
    """Count the causes that each outcome of a test would leave, by outcome."""
    digits = shown_under(exercise, feedback, test, left)
    counts = {word: digits.count(str(n)) for n, word in enumerate(test.outcomes)}
    return {word: count for word, count in counts.items() if count}


def way_taken(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> list[Step]:
    """Follow the tests that were done."""
    by_id = {test.id: test for test in exercise.tests}
    left, steps = possible_causes(exercise, feedback, ()), list[Step]()
    for done in tests:
        left &= feedback.tests[done.item].fits
        steps.append(_step(feedback, by_id[done.item], left))
    return steps


def planned_way(exercise: Exercise, feedback: Feedback) -> list[Step]:
    """Follow the planned tests on this vehicle to the proved cause."""
    left, steps = possible_causes(exercise, feedback, ()), list[Step]()
    while (choices := next_tests(exercise, feedback, left)) is not None:
        left &= feedback.tests[choices.planned.id].fits
        steps.append(_step(feedback, choices.planned, left))
    return steps


def _step(feedback: Feedback, test: DiagnosticTest, left: frozenset[str]) -> Step:
    proved = is_proved(feedback, left)
    return Step(test=test, causes_left=len(left), is_proved=proved)


def all_causes(count: int) -> str:
    """Name some causes, more than one, together."""
    if count == 2:
        return _("Both causes")
    return _("All {count} causes").format(count=count)


def title_with_minutes(test: DiagnosticTest) -> str:
    """Quote a test in a sentence."""
    quoted = _("“{test}” ({minutes} min)")
    return quoted.format(test=test.title, minutes=figure(test.minutes))
