"""How hard exercises are whoever had them: the one-parameter model of Rasch; pure.

Students who got different exercises are compared on one scale: the chance of a right
answer is logistic(a (ability - difficulty)), with abilities spread normally about 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["RaschFit", "fit_rasch"]

_NODES = 41
# Beyond this nobody is right, or everybody: the data say no more than that.
_HARDEST = 6.0
_STEP = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class RaschFit:
    """The model fitted to a class.

    Attributes
    ----------
    difficulty, error : ndarray of shape (n_items,)
        In units of the abilities' standard deviation, with its standard error.
    discrimination : float
    log_likelihood : float
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
    bounds = [(-_HARDEST, _HARDEST)] * count
    if discrimination is None:
        found = minimize(
            model.loss, [*[0.0] * count, 1.0], jac=True, bounds=[*bounds, (0.05, 8.0)]
        )
        best, slope = found.x[:-1], float(found.x[-1])
    else:
        slope = discrimination
        found = minimize(
            lambda b: _all_but_last(model.loss(np.append(b, slope))),
            [0.0] * count,
            jac=True,
            bounds=bounds,
        )
        best = found.x
    return RaschFit(
        difficulty=best,
        error=_errors(model, np.append(best, slope)),
        discrimination=slope,
        log_likelihood=-float(found.fun),
    )


def _all_but_last(
    pair: tuple[float, NDArray[np.float64]],
) -> tuple[float, NDArray[np.float64]]:
    return pair[0], pair[1][:-1]


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
        """Give minus the log likelihood of difficulties and slope, and its slopes."""
        difficulty, slope = parameters[:-1], parameters[-1]
        above = self._ability[:, None] - difficulty
        logit = slope * above
        joint = (
            self._right @ logit.T
            - self._given @ np.logaddexp(0, logit).T
            + self._log_weight
        )
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
