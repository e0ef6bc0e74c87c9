"""Difficulty is predicted from the plan, and holds for simulated novices."""

import math
from dataclasses import astuple, replace
from functools import cache
from statistics import fmean

import numpy as np
import pytest

from generator.drawing.difficulty import (
    LARGEST_SPREAD_FRAC,
    Features,
    class_difficulty,
    features_of,
    is_near,
    predicted_loss_percent,
)
from generator.drawing.stream import Stream
from generator.model.variant import Variant
from tests.drawn import EACH_FAULT, exercise
from tests.upkeep.calibration import Sample, fit, losses_of, new_sample

PLAIN = next(r for r in EACH_FAULT if r.variant == Variant())


@cache
def extremes():
    """Of exercises that no weight was fitted to, the easiest and the hardest four."""
    sample = new_sample("test", 2)
    places = sorted(
        range(len(sample.features)),
        key=lambda place: predicted_loss_percent(sample.features[place]),
    )
    return [
        Sample(
            features=tuple(sample.features[place] for place in some),
            records=tuple(sample.records[place] for place in some),
        )
        for some in (places[:4], places[-4:])
    ]


@pytest.mark.parametrize("radical", EACH_FAULT[::6], ids=lambda radical: radical.fault)
def test_features_are_those_of_the_plan(radical):
    """Minutes of the plan, entropy by its formula, and what is left by walking."""
    made, found = exercise(radical), features_of(exercise(radical))
    plan = made.plan
    chance = plan.posterior(range(len(made.candidates)))
    assert found.expected_minutes == pytest.approx(plan.expected_cost)
    entropy = sum(p * math.log2(1 / p) for p in chance)
    assert found.entropy_bits == pytest.approx(entropy)
    after = walked(plan, made.candidates.index(made.fault))[0]
    assert found.look_alikes == len(after.candidates)


def walked(plan, cause):
    """Where the search stands after each planned test where this is the cause."""
    state, steps = plan.start, []
    while (test := plan.best_test(state)) is not None:
        state = plan.after(state, test, plan.outcome[cause][test])
        steps.append(state)
    return steps


def test_unit_steps_count_scales_and_prefixes():
    """A fan: milliamperes, then two displays, each with a scale and millivolts."""
    assert features_of(exercise(PLAIN)).unit_steps == 5


def test_complications_count_what_is_unlike_the_plainest_circuit():
    """A circuit of another variant has one for each way in which it differs."""
    made = exercise(PLAIN)
    variant = Variant(fuses="shared", drive="high side")
    other = replace(made, radical=replace(made.radical, variant=variant))
    assert features_of(made).complications == 0
    assert features_of(other).complications == 2


def test_nothing_that_is_counted_makes_an_exercise_easier():
    """The weights are of at least zero, and nothing to do costs nothing."""
    nothing = Features(
        expected_minutes=0.0,
        entropy_bits=0.0,
        look_alikes=0,
        unit_steps=0,
        complications=0,
    )
    assert predicted_loss_percent(nothing) == 0
    for name in Features.__slots__:
        assert predicted_loss_percent(replace(nothing, **{name: 1})) >= 0


@pytest.mark.nightly
def test_prediction_holds_for_novices_that_it_was_not_fitted_to():
    """Novices lose about what is predicted, and clearly more where it is more."""
    stream = Stream(bytes(32), "test")
    found = [fmean(losses_of(some, "novice", 60, stream)) for some in extremes()]
    predicted = [
        fmean(predicted_loss_percent(each) for each in some.features)
        for some in extremes()
    ]
    assert predicted[1] > predicted[0] + 5
    assert found[1] > found[0] + 2.5
    assert found == pytest.approx(predicted, abs=4)


def test_fit_finds_the_weights_that_losses_were_made_by():
    """Losses that follow the features exactly give their weights back."""
    features = [features_of(exercise(radical)) for radical in EACH_FAULT]
    weights = (0.1, 2.0, 0.5, 1.0, 0.25)
    found = fit(features, [float(np.dot(weights, astuple(f))) for f in features])
    again = [float(np.dot(found.weights, astuple(f))) for f in features]
    assert again == pytest.approx([np.dot(weights, astuple(f)) for f in features])
    assert found.explained_frac == pytest.approx(1)
    assert min(found.weights) >= 0


def test_class_difficulty_is_of_the_students_means():
    """Two students at 10 and 12: a mean of 11, and a deviation of 1."""
    found = class_difficulty([("a", 8.0), ("a", 12.0), ("b", 12.0), ("b", 12.0)])
    assert found.mean_percent == 11
    assert found.spread_frac == pytest.approx(1 / 11)
    assert found.text == (
        "predicted difficulty: careful novices lose 11.0 % of the marks; students "
        "differ by 9.1 % of that (standard deviation)"
    )
    assert not found.is_fair


def test_near_exercises_keep_the_spread_bounded():
    """Even a class of which one half is as easy as allowed and one half as hard."""
    percents = np.linspace(9, 11, 2001).tolist()
    near = [percent for percent in percents if is_near(percent, 10.0)]
    assert 9.5 < min(near) < 10 < max(near) < 10.5
    found = class_difficulty([("a", min(near)), ("b", max(near))])
    assert found.spread_frac <= LARGEST_SPREAD_FRAC
    assert found.is_fair
