"""How hard exercises are and how well they tell students apart; pure.

Students who got different exercises are compared on one scale: the chance of a right
answer is logistic(a (ability - difficulty)), with abilities spread normally about 0.

All intervals are of 95 %. Below `ENOUGH` students none is worth giving: the standard
error of a proportion is then about 0.09, that of a correlation 0.17.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


ENOUGH = 30
"""Fewer students than this are too few for an interval to say anything."""

Z_95 = 1.959964
"""Of a normal distribution, 95 % lie within so many standard deviations."""
# The ends of a 95 % interval then have 25 values beyond them each.
_RESAMPLES = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A figure with its interval of 95 %."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How far the parts of groups differ.

    Attributes
    ----------
    chi_square, p_value : float
        Of the groups being all alike.
    sd : float
        Standard deviation of the groups' true parts: that of the observed ones less
        what chance alone brings.
    """

    chi_square: float
    p_value: float
    sd: float


def proportion(right: int, of: int) -> Estimate:
    """Return a part with its Wilson score interval.

    References
    ----------
    Wilson, J. Am. Stat. Assoc. 22 (1927), 209-212.
    """
    from scipy.stats import binomtest

    found = binomtest(right, of).proportion_ci(method="wilson")
    return Estimate(value=right / of, low=float(found.low), high=float(found.high))


def item_rest(item: Sequence[float], rest: Sequence[float]) -> Estimate | None:
    """Correlate an item with the sum of all others.

    Parameters
    ----------
    item, rest : sequence of float
        One of each a student.

    Returns
    -------
    Estimate or None
        With Fisher's interval; None where all students have the same.
    """
    from scipy.stats import pearsonr

    if np.ptp(item) == 0 or np.ptp(rest) == 0:
        return None
    found = pearsonr(item, rest)
    interval = found.confidence_interval()
    return Estimate(
        value=float(found.statistic),
        low=float(interval.low),
        high=float(interval.high),
    )


def cronbach_alpha(scores: NDArray[np.float64]) -> float:
    """Return the reliability of a sum of items; of none and all it is KR-20.

    Parameters
    ----------
    scores : ndarray of shape (n_students, n_items)

    Returns
    -------
    float
        nan where all sums are the same.

    References
    ----------
    Cronbach, Psychometrika 16 (1951), 297-334.
    """
    count = scores.shape[1]
    whole = scores.sum(axis=1).var(ddof=1)
    if whole <= 0:
        return math.nan
    parts = scores.var(axis=0, ddof=1).sum()
    return float(count / (count - 1) * (1 - parts / whole))


def reliability(scores: NDArray[np.float64]) -> Estimate | None:
    """Return alpha with an interval from students drawn again and again.

    Parameters
    ----------
    scores : ndarray of shape (n_students, n_items)
        An item is a whole exercise: its steps depend on each other, so that they would
        make alpha look better than it is.

    Returns
    -------
    Estimate or None
        None where all students have the same sum.
    """
    value = cronbach_alpha(scores)
    if math.isnan(value):
        return None
    # The same marks give the same report: the draws are no secret.
    draws = np.random.default_rng(1).integers(
        len(scores), size=(_RESAMPLES, len(scores))
    )
    alphas = [cronbach_alpha(scores[draw]) for draw in draws]
    low, high = np.nanquantile(alphas, (0.025, 0.975))
    return Estimate(value=value, low=float(low), high=float(high))


def length_factor(reliability: float, wanted: float) -> float:
    """By how much a set must be longer to reach a reliability (Spearman-Brown).

    Parameters
    ----------
    reliability, wanted : float
        Between 0 and 1.

    References
    ----------
    Spearman, Br. J. Psychol. 3 (1910), 271-295; Brown, the same, 296-322.

    Examples
    --------
    >>> round(length_factor(0.5, 0.8), 3)
    4.0
    """
    return wanted * (1 - reliability) / (reliability * (1 - wanted))


def spread(right: Sequence[int], of: Sequence[int]) -> Spread:
    """Tell whether groups that should be alike get the same part right.

    Parameters
    ----------
    right, of : sequence of int
        One of each a group; two groups or more.
    """
    from scipy.stats import chi2_contingency

    good, count = np.asarray(right), np.asarray(of)
    parts = good / count
    noise = float(np.mean(parts * (1 - parts) / count))
    table = np.vstack([good, count - good])
    chi_square, p_value = 0.0, 1.0
    # Where all is right, or nothing, there is nothing to expect in the other row.
    if table.sum(axis=1).all():
        found = chi2_contingency(table, correction=False)
        chi_square, p_value = float(found.statistic), float(found.pvalue)
    return Spread(
        chi_square=chi_square,
        p_value=p_value,
        sd=math.sqrt(max(0.0, float(parts.var(ddof=1)) - noise)),
    )


# One every half standard deviation, where students are.
_NODES = 41
# Beyond this nobody is right, or everybody: the data say no more than that.
_HARDEST = 6.0
# Small beside a logit, large beside the rounding of the slopes.
_STEP = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class RaschFit:
    """The model fitted to a class.

    Attributes
    ----------
    difficulty, error : ndarray of shape (n_items,)
        In units of the abilities' standard deviation, with its standard error.
    """

    difficulty: NDArray[np.float64]
    error: NDArray[np.float64]
    discrimination: float
    log_likelihood: float


def fit_rasch(
    right: NDArray[np.float64], discrimination: float | None = None
) -> RaschFit:
    """Fit the model by marginal maximum likelihood.

    Parameters
    ----------
    right : ndarray of shape (n_students, n_items)
        1 right, 0 wrong, nan not given.
    discrimination : float or None
        None estimates one for all items.

    References
    ----------
    Bock and Aitkin, Psychometrika 46 (1981), 443-459. Rizopoulos, J. Stat. Software
    17(5), 2006, whose figures the tests check it with.
    """
    from scipy.optimize import minimize

    model = _Model(right)
    count = right.shape[1]
    # A slope that is given has no room to move.
    slopes = (0.05, 8.0) if discrimination is None else (discrimination,) * 2
    found = minimize(
        model.loss,
        [*[0.0] * count, discrimination or 1.0],
        jac=True,
        bounds=[*[(-_HARDEST, _HARDEST)] * count, slopes],
    )
    return RaschFit(
        difficulty=found.x[:-1],
        error=_errors(model, found.x),
        discrimination=float(found.x[-1]),
        log_likelihood=-float(found.fun),
    )


class _Model:
    """Answers of a class, and abilities at the nodes of Gauss and Hermite."""

    def __init__(self, right: NDArray[np.float64]) -> None:
        self._given = np.isfinite(right).astype(float)
        self._right = np.nan_to_num(right)
        nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
        self._ability = nodes
        self._log_weight = np.log(weights / weights.sum())

    def loss(
        self, parameters: NDArray[np.float64]
    ) -> tuple[float, NDArray[np.float64]]:
        """Return minus the log likelihood of difficulties and slope, and its slopes."""
        difficulty, slope = parameters[:-1], parameters[-1]
        above = self._ability[:, None] - difficulty
        logit = slope * above
        joint = (
            self._right @ logit.T
            - self._given @ np.logaddexp(0, logit).T
            + self._log_weight
        )
        # Taken off before `exp`, or the chances of long rows would all come out as
        # nought.
        highest = joint.max(axis=1, keepdims=True)
        chance = np.exp(joint - highest)
        whole = chance.sum(axis=1, keepdims=True)
        chance /= whole
        # Of each node and item: right answers less those to be expected.
        surplus = chance.T @ self._right - (chance.T @ self._given) / (
            1 + np.exp(-logit)
        )
        slopes = np.append(
            slope * surplus.sum(axis=0), -np.sum(surplus * above, keepdims=False)
        )
        return -float(np.sum(np.log(whole) + highest)), slopes


def _errors(model: _Model, parameters: NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard errors of the difficulties, from the curvature of the likelihood."""
    count = len(parameters) - 1
    curvature = np.empty((count, count))
    for item in range(count):
        step = np.zeros(count + 1)
        step[item] = _STEP
        up, down = model.loss(parameters + step)[1], model.loss(parameters - step)[1]
        curvature[item] = (up - down)[:-1] / (2 * _STEP)
    variance = np.diag(np.linalg.pinv((curvature + curvature.T) / 2))
    return np.sqrt(np.maximum(variance, 0.0))
