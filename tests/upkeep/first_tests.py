"""Counts which test begins the least-cost plan, by complaint.

``python -m tests.upkeep.first_tests [DRAWS]`` draws so many diagnoses of all lessons in
turn, and as many of the mixed diagnosis alone, with the part files as they are. It
prints how many plans begin with the clamp at a fuse, and how many still do where every
way to a place takes half its minutes; of circuits with a relay by themselves, too,
since behind a smart switch the scan tool is nearer than any fuse. Nothing in the plan
prefers a test: what begins it follows from minutes and circuits alone.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from generator.drawing.class_radicals import new_radicals
from generator.drawing.course import Goal
from generator.drawing.exercise import Exercise
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.stream import Stream
from generator.errors import DrawError
from lessons.loader import lesson_ids, read_lesson

_SECRET = bytes(32)
_HALF = 0.5
# A student's exercises of one lesson: radicals are drawn for a workbook at a time.
_WORKBOOK = 10
# Six workbooks of each of 17 lessons.
_DRAWS = 1020


@dataclass(frozen=True, slots=True, kw_only=True)
class First:
    """What begins the plan of one exercise: ids of tests, and whether each is a clamp.

    ``drawn`` with the minutes of its vehicle, ``halved`` with half of those of ways.
    """

    complaint: str
    has_relay: bool
    drawn: tuple[str, bool]
    halved: tuple[str, bool]


def with_access(made: Exercise, frac: float) -> Exercise:
    """The same exercise where every way to a place takes a share of its minutes."""
    whole = made.specification
    reach = {place: frac * minutes for place, minutes in whole.reach_min.items()}
    return replace(made, specification=replace(whole, reach_min=reach))


def first_test(made: Exercise) -> tuple[str, bool]:
    """Id of the test that begins the plan, and whether it is a clamp at a fuse."""
    first = made.tests[made.plan.best_test(made.plan.start)]
    is_at_fuse = first.setup.control_lead or first.setup.load_lead
    return first.id, first.measure.clamp is not None and is_at_fuse


def first_of(made: Exercise) -> First:
    """What begins the plan of an exercise, as drawn and by shorter ways."""
    return First(
        complaint=made.symptom,
        has_relay=not made.specification.nominal.is_smart,
        drawn=first_test(made),
        halved=first_test(with_access(made, _HALF)),
    )


def diagnoses(lessons: Sequence[str], count: int) -> Iterator[Exercise]:
    """Draw so many diagnoses, of each lesson a workbook in turn."""
    books = [read_lesson(name) for name in lessons]
    drawn, student = 0, 0
    while drawn < count:
        book, label = books[student % len(books)], f"s{student}"
        student += 1
        goals = (Goal(book=book),) * min(_WORKBOOK, count - drawn)
        for number, radical in enumerate(
            new_radicals(goals, Stream(_SECRET, "first tests", label))
        ):
            diagnosis = replace(radical, kind="diagnosis")
            try:
                yield new_exercise(book, diagnosis, _SECRET, (label, number))
            except DrawError:  # a set would take another fault, and so do we
                continue
            drawn += 1


def table(firsts: Sequence[First]) -> Iterator[str]:
    """Lines of the table: by complaint, and over all of them."""
    yield f"{'complaint':<20}{'draws':>6}{'clamp':>8}{'halved':>8}  most often"
    complaints = Counter(first.complaint for first in firsts)
    for complaint, _count in complaints.most_common():
        yield _row(complaint, [one for one in firsts if one.complaint == complaint])
    yield _row("all", firsts)


def _row(name: str, firsts: Sequence[First]) -> str:
    clamp, halved = (
        sum(is_clamp for _test, is_clamp in ways) / len(firsts)
        for ways in ([f.drawn for f in firsts], [f.halved for f in firsts])
    )
    usual = Counter(first.drawn[0] for first in firsts).most_common(3)
    often = ", ".join(f"{test} {count}" for test, count in usual)
    return f"{name:<20}{len(firsts):>6}{clamp:>8.1%}{halved:>8.1%}  {often}"


def main(draws: int = _DRAWS) -> None:
    """Print both tables."""
    for title, lessons in (
        ("all lessons", lesson_ids()),
        ("mixed diagnosis", ["mixed-diagnosis"]),
    ):
        firsts = [first_of(made) for made in diagnoses(lessons, draws)]
        relays = [first for first in firsts if first.has_relay]
        for what, some in ((title, firsts), (f"{title}, with a relay", relays)):
            print(f"{what}:", *table(some), sep="\n", flush=True)  # noqa: T201


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
