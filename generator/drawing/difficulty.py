"""How hard an exercise will be, told from its plan before anybody has worked it.

The scale is the part of the marks, in percent, that a careful novice is expected to
lose. What is counted of an exercise is weighted by constants that were fitted to
simulated novices; ``calibration.py`` tells how, and prints them again. What graded
classes have lost beyond that is added, where a set is drawn after them. An exercise
that asks questions instead of a diagnosis is taken to be as hard as the diagnosis would
be.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable
from dataclasses import astuple, dataclass

from generator.drawing.after_repair import verification_of
from generator.drawing.exercise import Exercise
from generator.model.variant import Variant

LARGEST_SPREAD_FRAC = 0.03
"""Largest standard deviation over a class, as a fraction of the mean difficulty."""
# Two values that lie within r of a third have a standard deviation of at most
# r / sqrt(1 - r^2) of their mean, whatever the class: a little more than r.
_LARGEST_STRAY_FRAC = 0.029


# Percent of the marks for each feature, in their order, as ``calibration.py`` prints
# them: non-negative least squares on 340 exercises of all lessons, 60 novices each.
# They explain about a third of the variance between exercises (R² 0.31, on others
# 0.27). The plan's minutes and the entropy say nearly the same, and its number of tests
# says nothing more; nearly every exercise has five unit steps, so that these carry what
# all have in common.
_WEIGHTS = (0.03, 1.61, 0.41, 1.75, 0.09)


# Nothing costs nobody anything, whatever was observed.
_LEAST_PERCENT = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Features:
    """What makes an exercise hard, from where the student begins.

    Attributes
    ----------
    expected_minutes : float
        Of the plan, over all causes by their probability.
    entropy_bits : float
        How open the question is at the start: of the causes' probabilities.
    look_alikes : int
        Causes left on this vehicle after the student's first planned test.
    unit_steps : int
        Clamp scales and prefixes that the wanted numbers depend on.
    complications : int
        Ways in which the circuit is built other than the plainest.
    """

    expected_minutes: float
    entropy_bits: float
    look_alikes: int
    unit_steps: int
    complications: int


def features_of(exercise: Exercise) -> Features:
    """Count what makes an exercise hard."""
    plan, given = exercise.plan, len(exercise.given_tests)
    states = [plan.start, *(left for _test, left in exercise.way)]
    # After the next planned test, where one is left.
    state, after = states[given], states[min(given + 1, len(states) - 1)]
    chance = plan.posterior(state)
    # With 0 tests done for the student the predictions still are; None is a whole
    # diagnosis.
    is_given = exercise.radical.given_tests is not None
    asked = (*(() if is_given else exercise.predictions), verification_of(exercise))
    return Features(
        expected_minutes=plan.value(state),
        entropy_bits=-math.fsum(p * math.log2(p) for p in chance),
        look_alikes=len(after.candidates),
        unit_steps=sum(unit_steps(each.value, each.unit) for each in asked),
        complications=_complications(exercise),
    )


def unit_steps(value: float, unit: str) -> int:
    """Steps besides Ohm's law to a number: a clamp's scale, and a prefix.

    Examples
    --------
    >>> unit_steps(0.18, "A"), unit_steps(12.0, "A"), unit_steps(0.018, "V")
    (1, 0, 2)
    """
    return (unit == "V") + (abs(value) < 1)


def _complications(exercise: Exercise) -> int:
    variant, plainest = astuple(exercise.radical.variant), astuple(Variant())
    unlike = sum(own != plain for own, plain in zip(variant, plainest, strict=True))
    is_pulsed: bool = exercise.specification.nominal.duty_frac < 1
    return int(unlike + is_pulsed)


def predicted_loss_percent(features: Features) -> float:
    """Predict the part of the marks that a careful novice loses [%]."""
    return math.fsum(
        weight * count
        for weight, count in zip(_WEIGHTS, astuple(features), strict=True)
    )


def observed_percent(exercise: Exercise) -> float:
    """What graded classes have lost beyond the prediction in such exercises [%]."""
    planned = [exercise.tests[test].id for test, _left in exercise.way]
    radical = exercise.radical
    return exercise.observed.percent(radical.fault, radical.family, planned)


def difficulty_of(exercise: Exercise, features: Features | None = None) -> float:
    """Predict the difficulty of an exercise [% of its marks].

    Parameters
    ----------
    features : Features or None
        Its own, where they are known already.
    """
    percent = predicted_loss_percent(features or features_of(exercise))
    if not exercise.observed.after:
        return percent
    return max(_LEAST_PERCENT, percent + observed_percent(exercise))


def is_near(percent: float, wanted_percent: float) -> bool:
    """Whether an exercise is about as hard as is wanted.

    Where every exercise of a class is, `LARGEST_SPREAD_FRAC` holds for the class.
    """
    return abs(percent - wanted_percent) <= _LARGEST_STRAY_FRAC * wanted_percent


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassDifficulty:
    """Predicted difficulty of a class set.

    Attributes
    ----------
    mean_percent : float
        Of the students' workbooks, each the mean of its exercises.
    spread_frac : float
        Standard deviation over the class, as a fraction of the mean.
    """

    mean_percent: float
    spread_frac: float

    @property
    def is_fair(self) -> bool:
        """Whether all students have it about equally hard."""
        return self.spread_frac <= LARGEST_SPREAD_FRAC

    @property
    def text(self) -> str:
        """Both in words."""
        return (
            f"predicted difficulty: careful novices lose {self.mean_percent:.1f} % of "
            f"the marks; students differ by {100 * self.spread_frac:.1f} % of that "
            "(standard deviation)"
        )


def class_difficulty(exercises: Iterable[tuple[str, float]]) -> ClassDifficulty:
    """Sum up the predicted difficulty of all exercises of a class.

    Parameters
    ----------
    exercises : iterable of (str, float)
        Whose exercise it is, and how hard [%].
    """
    by_student: dict[str, list[float]] = {}
    for student, percent in exercises:
        by_student.setdefault(student, []).append(percent)
    means = [statistics.fmean(own) for own in by_student.values()]
    mean = statistics.fmean(means)
    return ClassDifficulty(
        mean_percent=mean, spread_frac=statistics.pstdev(means) / mean
    )
