"""Item statistics against published figures, and against another library.

LSAT section 6 (Bock and Lieberman, Psychometrika 35, 1970): the answers are those of
``data/LSAT.rda`` in the R package ltm, and the figures those of Rizopoulos, "ltm: An R
Package for Latent Variable Modelling and Item Response Theory Analyses", J. Stat.
Software 17(5), 2006, pages 5 to 12. Item-rest correlations and alpha are computed from
these answers with the formulas of the package's manual; alpha 0.295 is also what the
package prints (from memory).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from answer_keys.reports.statistics import (
    cronbach_alpha,
    fit_rasch,
    item_rest,
    length_factor,
    proportion,
    reliability,
    spread,
)

PATTERNS = {
    "00000": 3, "00001": 6, "00010": 2, "00011": 11, "00100": 1, "00101": 1,
    "00110": 3, "00111": 4, "01000": 1, "01001": 8, "01011": 16, "01101": 3,
    "01110": 2, "01111": 15, "10000": 10, "10001": 29, "10010": 14, "10011": 81,
    "10100": 3, "10101": 28, "10110": 15, "10111": 80, "11000": 16, "11001": 56,
    "11010": 21, "11011": 173, "11100": 11, "11101": 61, "11110": 28, "11111": 298,
}  # fmt: skip


@cache
def lsat():
    """Answers of 1,000 people to five questions."""
    rows = [[int(sign) for sign in each] for each in PATTERNS]
    return np.repeat(np.array(rows, dtype=float), list(PATTERNS.values()), axis=0)


def test_lsat_6_has_its_proportions_and_totals():
    """The answers were copied right: page 5 and 6 of the paper."""
    assert lsat().mean(axis=0) == pytest.approx([0.924, 0.709, 0.553, 0.763, 0.870])
    totals = np.bincount(lsat().sum(axis=1).astype(int))
    assert totals.tolist() == [3, 20, 85, 237, 357, 298]


def test_correlation_with_the_total_is_that_of_the_paper():
    """The item included, page 6; item 2 is printed as .566 and is .5668."""
    total = lsat().sum(axis=1)
    found = [item_rest(item, total).value for item in lsat().T]
    assert found == pytest.approx([0.362, 0.566, 0.618, 0.534, 0.435], abs=0.001)


def test_correlation_with_the_rest_leaves_the_item_out():
    """Without itself an item agrees far less with the others."""
    total = lsat().sum(axis=1)
    found = [item_rest(item, total - item) for item in lsat().T]
    values = [0.1128, 0.1532, 0.1728, 0.1444, 0.1216]
    assert [one.value for one in found] == pytest.approx(values, abs=5e-5)
    # Fisher's z: tanh(atanh(r) ± 1.96 / sqrt(n - 3)).
    half = 1.959964 / math.sqrt(len(total) - 3)
    for one in found:
        z = math.atanh(one.value)
        edges = (math.tanh(z - half), math.tanh(z + half))
        assert (one.low, one.high) == pytest.approx(edges, abs=1e-6)


def test_alpha_of_lsat_6():
    """KR-20 of five questions answered right or wrong."""
    from scipy.stats import f

    assert cronbach_alpha(lsat()) == pytest.approx(0.2950, abs=5e-5)
    found = reliability(lsat())
    # Feldt's interval (Psychometrika 30, 1965, from memory): 1 - (1 - alpha) F, with
    # F of n - 1 and (n - 1)(k - 1) degrees of freedom.
    high, low = (1 - 0.705 * f.ppf(p, 999, 3996) for p in (0.025, 0.975))
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.02)


@pytest.mark.parametrize(
    ("discrimination", "difficulty", "slope", "log_likelihood"),
    [
        (1.0, [-2.8720, -1.0630, -0.2576, -1.3881, -2.2188], 1.0, -2473.054),
        (None, [-3.6153, -1.3224, -0.3176, -1.7301, -2.7802], 0.7551, -2466.938),
    ],
)
def test_rasch_difficulties_are_those_of_the_paper(
    discrimination, difficulty, slope, log_likelihood
):
    """Discrimination fixed, page 7, and free, page 10."""
    fit = fit_rasch(lsat(), discrimination)
    assert fit.difficulty == pytest.approx(difficulty, abs=6e-4)
    assert fit.discrimination == pytest.approx(slope, abs=2e-4)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=6e-4)


def test_likelihood_ratio_of_both_models_is_that_of_the_paper():
    """One free discrimination against 1: page 11."""
    from scipy.stats import chi2

    fixed, free = (fit_rasch(lsat(), each).log_likelihood for each in (1.0, None))
    ratio = 2 * (free - fixed)
    assert ratio == pytest.approx(12.23, abs=0.01)
    assert chi2.sf(ratio, 1) < 0.001


def test_rasch_puts_students_of_different_exercises_on_one_scale():
    """Answers left out at random change the difficulties within their errors."""
    rng = np.random.default_rng(3)
    sparse = np.where(rng.random(lsat().shape) < 0.5, np.nan, lsat())
    fit, whole = fit_rasch(sparse, 1.0), fit_rasch(lsat(), 1.0)
    assert np.all(fit.error > whole.error)
    assert np.all(np.abs(fit.difficulty - whole.difficulty) < 3 * fit.error)


@pytest.mark.parametrize(
    ("right", "of"), [(0, 30), (1, 30), (17, 30), (30, 30), (924, 1000)]
)
def test_wilson_interval_is_that_of_statsmodels(right, of):
    """Also where all or nothing is right."""
    from statsmodels.stats.proportion import proportion_confint

    low, high = proportion_confint(right, of, method="wilson")
    found = proportion(right, of)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-9)
    assert found.value == right / of


def test_chi_square_of_groups_is_that_of_statsmodels():
    """Three groups, one of which finds it harder."""
    from statsmodels.stats.proportion import proportions_chisquare

    right, of = [25, 28, 14], [40, 38, 41]
    statistic, p_value, _ = proportions_chisquare(right, of)
    found = spread(right, of)
    assert found.chi_square == pytest.approx(statistic)
    assert found.p_value == pytest.approx(p_value)


def test_spread_leaves_out_what_chance_brings():
    """Groups with the same part differ by chance alone; others by more than that."""
    rng = np.random.default_rng(4)
    of = np.full(200, 40)
    alike = spread(rng.binomial(of, 0.6), of)
    unlike = spread(rng.binomial(of, rng.normal(0.6, 0.12, 200).clip(0, 1)), of)
    assert alike.sd < 0.04
    assert unlike.sd == pytest.approx(0.12, abs=0.03)
    assert spread([30, 30], [30, 30]).p_value == 1.0


def test_spearman_brown_is_its_own_reverse():
    """A test k times as long has k r / (1 + (k - 1) r), the textbook formula."""
    for alpha, wanted in ((0.295, 0.7), (0.6, 0.8), (0.9, 0.8)):
        k = length_factor(alpha, wanted)
        assert k * alpha / (1 + (k - 1) * alpha) == pytest.approx(wanted)
