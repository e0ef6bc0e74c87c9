"""Three hints for each choice of a test, each telling more; practice sets, pure."""

from __future__ import annotations

from collections import Counter

from workbook.judging.feedback import any_of
from workbook.judging.planned import (
    Planner,
    Standing,
    all_causes,
    parts,
    planner_of,
    standing_after,
    title_with_minutes,
)
from workbook.judging.statements import listed
from workbook.record.payload import DiagnosticTest, Exercise, Feedback
from workbook.record.progress import TestDone
from workbook.texts import _, figure, ngettext

_FEW = 3


def hints(exercise: Exercise, tests: tuple[TestDone, ...]) -> tuple[str, ...]:
    """Return the hints for the choice that follows some tests.

    Parameters
    ----------
    exercise : Exercise
        A graded one has no hints.
    tests : tuple of TestDone
        What was done so far.

    Returns
    -------
    tuple of str
        Where to look; which two tests tell most; which is planned and what it would
        leave. Where no test is needed any more, the second says so and is the last.
    """
    feedback = exercise.feedback
    if feedback is None:
        return ()
    planner = planner_of(exercise, feedback)
    standing = standing_after(exercise, feedback, tests)
    planned = planner.planned(standing)
    where = _where(exercise, feedback, standing.left)
    if planned is None:
        return where, _no_test(planner, standing)
    return (
        where,
        _best_two(planner, standing, planned),
        _planned(planner, standing, planned),
    )


def _where(exercise: Exercise, feedback: Feedback, left: frozenset[str]) -> str:
    """Say on which side of the circuit the causes left lie, or in which sections."""
    places = Counter(feedback.plan.sides[cause] for cause in sorted(left))
    if len(left) == 1:
        text = _("The one cause left lies {place}.")
        return text.format(place=_(next(iter(places))))
    if len(places) == 1:
        held = frozenset().union(*(feedback.sections_of[cause] for cause in left))
        labels = [one.label for one in exercise.sections if one.id in held]
        # One section alone would name the repair.
        is_short = 1 < len(labels) <= _FEW
        text = (
            _("{all} left lie {place}: in {sections}.")
            if is_short
            else _("{all} left lie {place}.")
        )
        return text.format(
            all=all_causes(len(left)),
            place=_(next(iter(places))),
            sections=any_of(labels) if is_short else "",
        )
    counts = [f"{count} {_(place)}" for place, count in places.most_common()]
    where = _("Where the {count} causes left lie: {counts}.")
    return where.format(count=len(left), counts=listed(counts, _("and")))


def _no_test(planner: Planner, standing: Standing) -> str:
    if planner.is_proved(standing):
        return _("No test is needed any more: one correction cures what is left.")
    return _("No test on offer tells the causes left apart.")


def _best_two(planner: Planner, standing: Standing, planned: DiagnosticTest) -> str:
    """Name the planned test and the next best, in the order of the page."""
    tests = [t for t in planner.actions if planner.helps(standing, t)]
    wasted = {test.id: planner.wasted(standing, test) for test in tests}
    ranked = sorted(wasted, key=lambda id_: (id_ != planned.id, wasted[id_]))
    # In the order of the page, which does not tell the planned one from the other.
    best = [test for test in tests if test.id in ranked[:2]]
    text = ngettext(
        "One test tells the causes left apart in the fewest minutes: {tests}. From "
        "here the planned way takes {minutes} min on average.",
        "Two tests tell the causes left apart in the fewest minutes: {tests}. From "
        "here the planned way takes {minutes} min on average.",
        len(best),
    )
    named = [title_with_minutes(t, planner.minutes(standing, t)) for t in best]
    left = figure(round(planner.minutes_left(standing), 1))
    return text.format(tests=listed(named, _("and")), minutes=left)


def _planned(planner: Planner, standing: Standing, planned: DiagnosticTest) -> str:
    """Name the planned test, and how many causes each of its outcomes would leave."""
    counts = parts(planner.exercise, planner.feedback, planned, standing.left)
    at = _("{count} at “{outcome}”")
    each = [at.format(count=n, outcome=_(word)) for word, n in counts.items()]
    text = _("The planned test is {test}. It would leave {counts}.")
    named = title_with_minutes(planned, planner.minutes(standing, planned))
    return text.format(test=named, counts=listed(each, _("and")))
