"""What the plan says of where a student stands; practice sets only, pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from workbook.judging.least_minutes import Search, Test, mask_of, shown_as
from workbook.record.payload import DiagnosticTest, Exercise, Feedback
from workbook.record.progress import TestDone
from workbook.texts import _, figure

# Minutes that differ by less are shown alike, so that the choices are as good.
_ALIKE_MIN = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where the tests done have brought the search.

    Parameters
    ----------
    left : frozenset of str
        Ids of the causes that fit them all.
    open : frozenset of str
        Ids of the places that were reached.
    has_seen : bool
        Whether any showed something abnormal.
    """

    left: frozenset[str]
    open: frozenset[str] = frozenset()
    has_seen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One test of a way, its minutes, the causes left, and whether one is proved."""

    test: DiagnosticTest
    minutes: float
    causes_left: int
    is_proved: bool


@dataclass(frozen=True, slots=True)
class Planner:
    """Finds the plan of an exercise from wherever a student stands."""

    exercise: Exercise
    feedback: Feedback
    search: Search
    actions: tuple[DiagnosticTest, ...]
    tests: dict[str, Test]

    def minutes(self, standing: Standing, test: DiagnosticTest) -> float:
        """What a test takes, with the way to the places that are not open yet."""
        return self.search.minutes(self._state(standing), self.tests[test.id])

    def helps(self, standing: Standing, test: DiagnosticTest) -> bool:
        """Whether a test tells causes apart, or may show the first abnormality."""
        return self.search.helps(self._state(standing), self.tests[test.id])

    def is_due(self, standing: Standing, test: DiagnosticTest) -> bool:
        """Whether a test is due by the house method: no earlier one of it helps."""
        steps = self.feedback.plan.method
        helping = [t.id for t in self.actions if self.helps(standing, t)]
        due = min((steps[id_] for id_ in helping if id_ in steps), default=None)
        return due is not None and test.id in helping and steps.get(test.id) == due

    def is_proved(self, standing: Standing) -> bool:
        """Whether one correction is left, and something that it explains was seen."""
        return self.search.is_proved(self._state(standing))

    def minutes_left(self, standing: Standing) -> float:
        """Expected minutes to a proved cause on the planned way."""
        return self.search.expected(self._state(standing))

    def wasted(self, standing: Standing, test: DiagnosticTest) -> float:
        """Expected minutes that a test adds to the plan, to a tenth."""
        state = self._state(standing)
        cost = self.search.expected_with(state, self.tests[test.id])
        # Sums of the same minutes in another order may differ in their last digits.
        # `abs` for a minus nought, which a page would show as such.
        return abs(round(round(cost - self.search.expected(state), 6), 1))

    def planned(self, standing: Standing) -> DiagnosticTest | None:
        """The test that the plan takes next; None where no test helps."""
        if self.is_proved(standing):
            return None
        state, most = self._state(standing), self.minutes_left(standing) + _ALIKE_MIN
        helping = (t for t in self.actions if self.helps(standing, t))
        cost = self.search.expected_with
        # The first of those that are as good, in the order of the page, as in the
        # marks.
        return next((t for t in helping if cost(state, self.tests[t.id]) < most), None)

    def _state(self, standing: Standing) -> tuple[int, int, bool]:
        causes, places = self.exercise.causes, self.exercise.places
        left = mask_of(n for n, each in enumerate(causes) if each.id in standing.left)
        opened = mask_of(n for n, each in enumerate(places) if each.id in standing.open)
        return left, opened, standing.has_seen


def planner_of(exercise: Exercise, feedback: Feedback, own: str = "") -> Planner:
    """Make the planner of an exercise, which keeps what it finds.

    Parameters
    ----------
    own : str
        Id of the one set-up that the plan may choose beside the list; those done before
        it would tell nothing again, and those after it are not thought of yet.
    """
    listed, tests = exercise.with_list_alone, _tests_of(exercise, feedback)
    actions = listed.tests
    if own and exercise.test(own).is_own:
        actions = (*actions, exercise.test(own))
    search = _search_of(listed, tuple(tests[test.id] for test in actions))
    return Planner(exercise, feedback, search, actions, tests)


@lru_cache(maxsize=8)
def _search_of(exercise: Exercise, tests: tuple[Test, ...]) -> Search:
    """Make the search over some tests once."""
    feedback = exercise.feedback
    if feedback is None:
        raise ValueError("only a practice set has a plan")
    plan, causes = feedback.plan, [each.id for each in exercise.causes]
    return Search(
        priors=[plan.chances[id_] for id_ in causes],
        repairs=[plan.repairs[id_] for id_ in causes],
        trial_min={int(number): lost for number, lost in plan.trial_min.items()},
        harmless=mask_of(n for n, id_ in enumerate(causes) if id_ in plan.harmless),
        tests=tests,
        reach_min=[place.minutes for place in exercise.places],
    )


@lru_cache(maxsize=8)
def _tests_of(exercise: Exercise, feedback: Feedback) -> dict[str, Test]:
    """Tell of every test which causes show what, and what it takes."""
    number = {place.id: n for n, place in enumerate(exercise.places)}
    outcomes, told = feedback.plan.outcomes, feedback.tests
    return {
        test.id: Test(
            reading_min=test.minutes,
            needs=mask_of(number[id_] for id_ in test.needs),
            shows=shown_as(outcomes[test.id], _letter(test, told[test.id].unproving)),
        )
        for test in exercise.tests
    }


def _letter(test: DiagnosticTest, outcome: str) -> str:
    """The letter of an outcome; empty for one that no cause shows."""
    if outcome not in test.outcomes:
        return ""
    return chr(ord("a") + test.outcomes.index(outcome))


def standing_after(
    exercise: Exercise, feedback: Feedback, tests: Iterable[TestDone]
) -> Standing:
    """Return where some tests have brought the search, by what they really showed."""
    done = [feedback.tests[test.item] for test in tests]
    return Standing(
        left=possible_causes(exercise, feedback, tests),
        open=open_places(exercise, tests),
        has_seen=any(each.outcome != each.unproving for each in done),
    )


def open_places(exercise: Exercise, tests: Iterable[TestDone]) -> frozenset[str]:
    """Return the places that some tests have opened."""
    needs = (exercise.test(test.item).needs for test in tests)
    return frozenset[str]().union(*needs)


def minutes_of(
    exercise: Exercise, test: DiagnosticTest, opened: frozenset[str]
) -> tuple[float, float]:
    """Minutes to the places of a test that are not open yet, and of its reading."""
    new = (p.minutes for p in exercise.places if p.id in {*test.needs} - opened)
    return sum(new), test.minutes


def possible_causes(
    exercise: Exercise, feedback: Feedback, tests: Iterable[TestDone]
) -> frozenset[str]:
    """Return the causes that fit every test done; all of them before the first."""
    fits = (feedback.tests[test.item].fits for test in tests)
    return frozenset(cause.id for cause in exercise.causes).intersection(*fits)


def shown_under(
    exercise: Exercise, feedback: Feedback, test: DiagnosticTest, left: frozenset[str]
) -> list[str]:
    """Return the outcome of a test under each cause left, as the letter of its word."""
    letters = zip(exercise.causes, feedback.plan.outcomes[test.id], strict=True)
    return [letter for cause, letter in letters if cause.id in left]


def parts(
    exercise: Exercise, feedback: Feedback, test: DiagnosticTest, left: frozenset[str]
) -> dict[str, int]:
    """Count the causes that each outcome of a test would leave, by outcome."""
    letters = shown_under(exercise, feedback, test, left)
    counts = {word: letters.count(_letter(test, word)) for word in test.outcomes}
    return {word: count for word, count in counts.items() if count}


def way_taken(planner: Planner, tests: tuple[TestDone, ...]) -> list[Step]:
    """Follow the tests that were done."""
    return [_step(planner, tests[:place], tests[place]) for place in range(len(tests))]


def planned_way(planner: Planner) -> list[Step]:
    """Follow the planned tests on this vehicle to the proved cause."""
    done, steps = tuple[TestDone, ...](), list[Step]()
    standing = standing_after(planner.exercise, planner.feedback, done)
    while (test := planner.planned(standing)) is not None:
        steps.append(_step(planner, done, TestDone(item=test.id, expected="")))
        done = (*done, TestDone(item=test.id, expected=""))
        standing = standing_after(planner.exercise, planner.feedback, done)
    return steps


def _step(planner: Planner, before: tuple[TestDone, ...], done: TestDone) -> Step:
    exercise, feedback = planner.exercise, planner.feedback
    after = standing_after(exercise, feedback, (*before, done))
    test = exercise.test(done.item)
    return Step(
        test=test,
        minutes=planner.minutes(standing_after(exercise, feedback, before), test),
        causes_left=len(after.left),
        is_proved=planner.is_proved(after),
    )


def all_causes(count: int) -> str:
    """Name some causes, more than one, together."""
    if count == 2:
        return _("Both causes")
    return _("All {count} causes").format(count=count)


def title_with_minutes(test: DiagnosticTest, minutes: float) -> str:
    """Quote a test in a sentence."""
    quoted = _("“{test}” ({minutes} min)")
    return quoted.format(test=test.title, minutes=figure(minutes))
