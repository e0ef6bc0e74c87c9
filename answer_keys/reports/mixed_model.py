"""Mixed model: what of a loss comes from fault, family, class and student; pure.

A loss is a level, plus an effect of each group that it belongs to, plus chance. Effects
are taken as drawn from a normal distribution of each kind of group, whose spread is
found with them: so a group with few losses is drawn towards the others, as far as its
own losses say little, and small classes are pooled.

References
----------
Henderson, Biometrics 31 (1975), 423-447, for the equations; Schall, Biometrika 78
(1991), 719-727, for how the spreads are found, which is restricted maximum likelihood
(both from memory). The tests check it with figures that were published.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from answer_keys.reports.statistics import Z_95, Estimate

if TYPE_CHECKING:
    from numpy.typing import NDArray

_ROUNDS = 500
# Spreads that change by less than this part of themselves have been found.
_CLOSE = 1e-5
# A spread below this part of that of all losses is none.
_NONE = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True)
class MixedFit:
    """The model fitted.

    Attributes
    ----------
    level : float
        Of an average group of every kind, with its variance in ``covariance[0, 0]``.
    effects : mapping of str to ndarray of shape (n_groups,)
        By kind of group.
    places : mapping of str to slice
        Where the effects of a kind stand in ``covariance``.
    covariance : ndarray of shape (n, n)
        Of the level and all effects: how far they may be off.
    sd : mapping of str to float
        Spread of the effects of each kind, the nested one too, and ``rest``.
    """

    level: float
    effects: Mapping[str, NDArray[np.float64]]
    places: Mapping[str, slice]
    covariance: NDArray[np.float64]
    sd: Mapping[str, float]

    def effect(self, kind: str, group: int) -> Estimate:
        """How far a group is off the average of its kind, with its interval."""
        own, place = np.zeros(len(self.covariance)), self.places[kind]
        # The effects of a kind add up to nought by themselves.
        own[place] = -1.0 / len(self.effects[kind])
        own[place.start + group] += 1.0
        return self._estimate(float(self.effects[kind][group]), own)

    def expected(self, kind: str, group: int, offset: float = 0.0) -> Estimate:
        """The loss of a group, averaged over those of all other kinds, likewise."""
        own = np.zeros(len(self.covariance))
        for place in self.places.values():
            own[place] = 1.0 / (place.stop - place.start)
        own[self.places[kind]] = 0.0
        own[[0, self.places[kind].start + group]] = 1.0
        value = self.level + float(self.effects[kind][group]) + offset
        return self._estimate(value, own)

    def _estimate(self, value: float, own: NDArray[np.float64]) -> Estimate:
        margin = Z_95 * math.sqrt(max(0.0, float(own @ self.covariance @ own)))
        return Estimate(value=value, low=value - margin, high=value + margin)


def fit_mixed(
    losses: Sequence[float],
    groups: Mapping[str, Sequence[int]],
    nested: Sequence[int],
) -> MixedFit:
    """Fit the model by restricted maximum likelihood.

    Parameters
    ----------
    losses : sequence of float, length n_losses
    groups : mapping of str to sequence of int, length n_losses
        By kind, the number of the group that each loss belongs to, from 0.
    nested : sequence of int, length n_losses
        Likewise, of the kind with the most groups, which are not told of one by one:
        the students.
    """
    equations = _Equations(np.asarray(losses, dtype=float), groups, nested)
    variances = equations.first
    for _ in range(_ROUNDS):
        solved = equations.solved(variances)
        found = equations.variances_of(solved, variances)
        if np.all(np.abs(found - variances) <= _CLOSE * variances + equations.none):
            break
        variances = found
    solved = equations.solved(variances)
    places = equations.places
    # No spread gets below `none`, so that none divides by nought: what stays there is
    # 0.
    sd = np.sqrt(np.where(variances <= 10 * equations.none, 0.0, variances))
    return MixedFit(
        level=float(solved.effects[0]),
        effects={kind: solved.effects[place] for kind, place in places.items()},
        places=places,
        covariance=variances[-1] * solved.inverse,
        sd=dict(zip([*places, "nested", "rest"], map(float, sd), strict=True)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solved:
    """Effects under some variances, and the inverse of their equations."""

    effects: NDArray[np.float64]
    inverse: NDArray[np.float64]
    nested: NDArray[np.float64]
    nested_trace: float


class _Equations:
    """Henderson's mixed model equations, the nested groups eliminated from them."""

    def __init__(
        self,
        losses: NDArray[np.float64],
        groups: Mapping[str, Sequence[int]],
        nested: Sequence[int],
    ) -> None:
        from scipy import sparse

        self._losses, count = losses, len(losses)
        # The level comes first, and then a column for each group of each kind.
        blocks: list[Any] = [sparse.csr_array(np.ones((count, 1)))]
        self.places, start = dict[str, slice](), 1
        for kind, numbers in groups.items():
            blocks.append(_one_hot(numbers))
            width = blocks[-1].shape[1]
            self.places[kind] = slice(start, start + width)
            start += width
        self._design = sparse.csr_array(sparse.hstack(blocks))
        self._nested = _one_hot(nested)
        self._square = (self._design.T @ self._design).toarray()
        self._across = sparse.csr_array(self._design.T @ self._nested)
        self._each = np.asarray(self._nested.sum(axis=0)).ravel()
        self._right = self._design.T @ losses
        self._nested_right = self._nested.T @ losses
        spread = max(float(losses.var()), 1e-12)
        self.none = _NONE * spread
        # One share for each kind, for the nested one, and for what is left.
        self.first = np.full(len(self.places) + 2, spread / (len(self.places) + 2))

    def solved(self, variances: NDArray[np.float64]) -> _Solved:
        # Henderson's equations are those of least squares, with this ratio added to
        # each group's own place: the less its kind spreads, the more it is drawn to
        # nought.
        ratios = variances[-1] / variances[:-1]
        square = self._square.copy()
        for place, ratio in zip(self.places.values(), ratios[:-1], strict=True):
            inside = np.arange(place.start, place.stop)
            square[inside, inside] += ratio
        # Each loss is of one student, so their block has a diagonal alone: it is taken
        # out by a division each, and the square that is inverted is that of the others.
        weight = 1.0 / (self._each + ratios[-1])
        weighed = self._across.multiply(weight).tocsr()
        square -= (weighed @ self._across.T).toarray()
        inverse = np.linalg.inv(square)
        effects = inverse @ (self._right - weighed @ self._nested_right)
        nested = weight * (self._nested_right - self._across.T @ effects)
        twice = (weighed @ weighed.T).toarray()
        # Trace of the students' block of the whole inverse, by the rule for parted
        # matrices.
        trace = float(weight.sum() + np.sum(inverse * twice))
        return _Solved(
            effects=effects, inverse=inverse, nested=nested, nested_trace=trace
        )

    def variances_of(
        self, solved: _Solved, variances: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Schall's step: a sum of squares over what it is free to choose."""
        ratios, found, free = variances[-1] / variances[:-1], list[float](), 1.0
        diagonal = np.diag(solved.inverse)
        parts = [(solved.effects[p], diagonal[p].sum()) for p in self.places.values()]
        parts.append((solved.nested, solved.nested_trace))
        for (effects, trace), ratio in zip(parts, ratios, strict=True):
            own = max(len(effects) - ratio * trace, 1e-9)
            found.append(float(effects @ effects) / own)
            free += own
        left = self._losses - self._design @ solved.effects
        left = left - self._nested @ solved.nested
        found.append(float(left @ left) / max(len(left) - free, 1.0))
        return np.maximum(found, self.none)


def _one_hot(numbers: Sequence[int]) -> Any:  # noqa: ANN401 - scipy types none of its
    """A column for each group with 1 where a loss belongs to it."""
    from scipy import sparse

    places = np.asarray(numbers)
    entries = np.ones(len(places)), (np.arange(len(places)), places)
    return sparse.csr_array(entries, shape=(len(places), int(places.max()) + 1))
