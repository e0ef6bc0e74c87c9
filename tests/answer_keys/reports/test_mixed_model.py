"""What is fitted over many classes: published figures, and planted ones found again."""

from random import Random

import numpy as np
import pytest

from answer_keys.reports.mixed_model import fit_mixed

# Yield of a dyestuff by batch [g of standard colour]: Davies and Goldsmith, Statistical
# Methods in Research and Production, 1972, table 6.1, as in the data set Dyestuff of
# the R package lme4 (from memory).
DYESTUFF = (
    (1545, 1440, 1440, 1520, 1580),
    (1540, 1555, 1490, 1560, 1495),
    (1595, 1550, 1605, 1510, 1560),
    (1445, 1440, 1595, 1465, 1545),
    (1595, 1630, 1515, 1635, 1625),
    (1520, 1455, 1450, 1480, 1445),
)
YIELDS = [one for batch in DYESTUFF for one in batch]
BATCHES = [number for number, batch in enumerate(DYESTUFF) for _ in batch]


def test_spreads_are_those_published():
    """Bates, lme4: Mixed-effects modeling with R, 2010, ch. 1, from memory."""
    fit = fit_mixed(YIELDS, {}, BATCHES)
    assert fit.level == pytest.approx(1527.5)
    assert fit.sd["nested"] ** 2 == pytest.approx(1764.05, abs=0.1)
    assert fit.sd["rest"] ** 2 == pytest.approx(2451.25, abs=0.1)
    assert fit.covariance[0, 0] ** 0.5 == pytest.approx(19.383, abs=0.01)


def test_effects_are_those_published():
    """The same: conditional modes of the batches."""
    fit = fit_mixed(YIELDS, {"batch": BATCHES}, range(len(YIELDS)))
    published = [-17.6069, 0.3913, 28.5622, -23.0845, 56.7331, -44.9952]
    assert fit.effects["batch"] == pytest.approx(published, abs=0.01)


def school(seed, classes=30, faults=20, families=5, tries=4):
    """Losses of a school of classes of 2 to 30, with what was planted in them."""
    chance = Random(seed)
    planted = {
        "fault": [chance.gauss(0, 5) for _ in range(faults)],
        "family": [chance.gauss(0, 3) for _ in range(families)],
        "class": [chance.gauss(0, 6) for _ in range(classes)],
    }
    groups = {kind: [] for kind in planted}
    losses, students, who = [], [], -1
    for place in range(classes):
        for _ in range(chance.choice((2, 5, 12, 30))):
            able, who = chance.gauss(0, 8), who + 1
            for _ in range(tries):
                own = {
                    "fault": min(int(chance.expovariate(0.15)), faults - 1),
                    "family": chance.randrange(families),
                    "class": place,
                }
                # Nobody loses less than nothing: not what the model takes for granted.
                effect = sum(planted[kind][group] for kind, group in own.items())
                loss = 40 + effect + able + chance.gauss(0, 15)
                losses.append(min(100.0, max(0.0, loss)))
                students.append(who)
                for kind, group in own.items():
                    groups[kind].append(group)
    return planted, groups, losses, students


def covered(seed):
    """Of how many planted differences from the average the intervals hold, and all."""
    planted, groups, losses, students = school(seed)
    fit = fit_mixed(losses, groups, students)
    inside = []
    for kind, effects in planted.items():
        met = effects[: len(fit.effects[kind])]
        for group, effect in enumerate(met):
            found = fit.effect(kind, group)
            inside.append(found.low <= effect - np.mean(met) <= found.high)
    return inside


def test_intervals_hold_what_was_planted_as_often_as_they_say():
    """Nineteen times of twenty, over faults, families and classes large and small."""
    inside = [one for seed in range(12) for one in covered(seed)]
    assert 0.92 <= np.mean(inside) <= 0.98


def test_expected_losses_are_averages_over_what_was_met():
    """Of many losses of two loads each mean is known well, however faults differ."""
    chance = Random(3)
    faults, loads = zip(*[(f, n) for f in range(4) for n in (0, 1)] * 60, strict=True)
    losses = [
        30 + 12 * fault + 5 * load + chance.gauss(0, 6)
        for fault, load in zip(faults, loads, strict=True)
    ]
    fit = fit_mixed(losses, {"fault": faults, "load": loads}, range(len(losses)))
    first, second = (fit.expected("load", load) for load in (0, 1))
    assert first.low < 48 < first.high < second.low < 53 < second.high
    assert second.high - second.low < 4


def test_small_class_is_drawn_towards_the_others():
    """Two students who lose much say less of their class than thirty who do."""
    chance = Random(4)
    sizes, losses, classes = [2, 30, *[15] * 12], [], []
    for place, size in enumerate(sizes):
        above = 15.0 if place < 2 else chance.gauss(0, 5)
        for _ in range(size):
            losses.append(20 + above + chance.gauss(0, 10))
            classes.append(place)
    fit = fit_mixed(losses, {"class": classes}, range(len(losses)))
    small, large = (fit.effect("class", place) for place in (0, 1))
    raw = [
        np.mean([x for x, c in zip(losses, classes, strict=True) if c == p])
        for p in (0, 1)
    ]
    drawn = [
        one.value / (mean - fit.level)
        for one, mean in zip((small, large), raw, strict=True)
    ]
    assert drawn[0] < 0.8 < drawn[1] < 1
    assert small.high - small.low > 1.5 * (large.high - large.low)
