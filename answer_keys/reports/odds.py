"""Whether two groups do equally well, like students compared with each other.

References
----------
Mantel and Haenszel, J. Natl. Cancer Inst. 22 (1959), 719-748; Robins, Breslow and
Greenland, Biometrics 42 (1986), 311-323, for the interval; Holland and Thayer, in
Wainer and Braun (eds.), Test Validity, 1988, for its use on items, and Zwick, ETS
Research Report 12-08, 2012, for how large is what (all from memory; figures that were
published are in the tests).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from answer_keys.reports.statistics import Z_95, Estimate

# A natural logarithm of odds times this is the delta of educational testing.
_DELTA = 2.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """Of students who are alike: right and wrong in one group, and in the other."""

    right: int
    wrong: int
    other_right: int
    other_wrong: int

    @property
    def total(self) -> int:
        """All of them."""
        return self.right + self.wrong + self.other_right + self.other_wrong


@dataclass(frozen=True, slots=True, kw_only=True)
class Odds:
    """How the odds of a right answer differ between the groups.

    Attributes
    ----------
    ratio : Estimate
        Odds of the one over those of the other, with its interval of 95 %.
    chi_square, p_value : float
        Of both being alike, without a correction for continuity.
    """

    ratio: Estimate
    chi_square: float
    p_value: float

    @property
    def delta(self) -> float:
        """The same on the scale of educational testing: below 0 is harder."""
        return _DELTA * math.log(self.ratio.value)


def mantel_haenszel(strata: Iterable[Counts]) -> Odds | None:
    """Compare two groups within each stratum, and sum up.

    Parameters
    ----------
    strata : iterable of Counts
        One of each degree of ability.

    Returns
    -------
    Odds or None
        None where one group had everything right, or nothing, in all strata.
    """
    from scipy.stats import chi2

    some = [one for one in strata if _tells(one)]
    for_it = [one.right * one.other_wrong / one.total for one in some]
    against = [one.wrong * one.other_right / one.total for one in some]
    if not sum(for_it) or not sum(against):
        return None
    ratio = sum(for_it) / sum(against)
    margin = Z_95 * math.sqrt(_log_variance(some, for_it, against))
    difference = math.fsum(one.right - _expected(one) for one in some)
    chi_square = difference**2 / math.fsum(map(_variance, some))
    return Odds(
        ratio=Estimate(
            value=ratio,
            low=ratio * math.exp(-margin),
            high=ratio * math.exp(margin),
        ),
        chi_square=chi_square,
        p_value=float(chi2.sf(chi_square, 1)),
    )


def _tells(one: Counts) -> bool:
    """Whether both groups are there, and both right and wrong answers."""
    sizes = one.right + one.wrong, one.other_right + one.other_wrong
    answers = one.right + one.other_right, one.wrong + one.other_wrong
    return all(sizes) and all(answers)


def _expected(one: Counts) -> float:
    """Right answers of the first group, were both alike."""
    return (one.right + one.wrong) * (one.right + one.other_right) / one.total


def _variance(one: Counts) -> float:
    right, wrong = one.right + one.other_right, one.wrong + one.other_wrong
    first, other = one.right + one.wrong, one.other_right + one.other_wrong
    return first * other * right * wrong / (one.total**2 * (one.total - 1))


def _log_variance(
    some: Sequence[Counts], for_it: Sequence[float], against: Sequence[float]
) -> float:
    """Variance of the logarithm of the ratio, by Robins, Breslow and Greenland."""
    agree = [(one.right + one.other_wrong) / one.total for one in some]
    differ = [1 - each for each in agree]
    whole, other = sum(for_it), sum(against)
    rows = list(zip(agree, differ, for_it, against, strict=True))
    return (
        math.fsum(p * r for p, _, r, _ in rows) / (2 * whole**2)
        + math.fsum(p * s + q * r for p, q, r, s in rows) / (2 * whole * other)
        + math.fsum(q * s for _, q, _, s in rows) / (2 * other**2)
    )
