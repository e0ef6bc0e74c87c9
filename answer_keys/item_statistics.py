"""Statistics of exercises and classes, each with an interval; pure.

All intervals are of 95 %. Below `ENOUGH` students none is worth giving: the standard
error of a proportion is then about 0.09, that of a correlation 0.17.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = [
    "ENOUGH",
    "Estimate",
    "Spread",
    "cronbach_alpha",
    "item_rest",
    "length_factor",
    "proportion",
    "reliability",
    "spread",
]

ENOUGH = 30
"""Fewer students than this are too few for an interval to say anything."""

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
    """Give a part with its Wilson score interval.

    Parameters
    ----------
    right, of : int

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
    """Give the reliability of a sum of items; of none and all it is KR-20.

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
    """Give alpha with an interval from students drawn again and again.

    Parameters
    ----------
    scores : ndarray of shape (n_students, n_items)
        An item is a whole exercise: its steps hang on each other, so that they would
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
