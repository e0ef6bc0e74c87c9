"""Two groups compared among those who are alike: published figures."""

import math

import pytest

from answer_keys.reports.odds import Counts, mantel_haenszel

# Admitted and rejected men, then women, of the six largest departments of Berkeley in
# 1973: Bickel, Hammel and O'Connell, Science 187 (1975), 398-404, as in the data set
# UCBAdmissions of R.
ADMITTED = (
    (512, 313, 89, 19),
    (353, 207, 17, 8),
    (120, 205, 202, 391),
    (138, 279, 131, 244),
    (53, 138, 94, 299),
    (22, 351, 24, 317),
)


def counts(rows):
    return [
        Counts(right=a, wrong=b, other_right=c, other_wrong=d) for a, b, c, d in rows
    ]


def test_odds_are_those_published():
    """R's mantelhaen.test(UCBAdmissions, correct = FALSE), from memory."""
    found = mantel_haenszel(counts(ADMITTED))
    assert found.ratio.value == pytest.approx(0.9046968, abs=1e-6)
    assert found.ratio.low == pytest.approx(0.7719074, abs=1e-4)
    assert found.ratio.high == pytest.approx(1.0603298, abs=1e-4)
    assert found.chi_square == pytest.approx(1.5246, abs=1e-4)
    assert found.p_value == pytest.approx(0.2169, abs=1e-4)


def test_odds_are_those_of_another_program():
    """Statsmodels' StratifiedTable on the same and on small tables."""
    from statsmodels.stats.contingency_tables import StratifiedTable

    for rows in (ADMITTED, ((3, 2, 1, 7), (9, 1, 6, 4), (5, 5, 0, 3))):
        other = StratifiedTable([[[a, b], [c, d]] for a, b, c, d in rows])
        found = mantel_haenszel(counts(rows))
        assert found.ratio.value == pytest.approx(other.oddsratio_pooled)
        low, high = other.oddsratio_pooled_confint()
        assert (found.ratio.low, found.ratio.high) == pytest.approx((low, high))
        test = other.test_null_odds(correction=False)
        assert found.chi_square == pytest.approx(test.statistic)
        assert found.p_value == pytest.approx(test.pvalue)


def test_delta_is_below_nought_where_it_is_harder():
    """On the scale of educational testing."""
    found = mantel_haenszel(counts([(10, 20, 20, 10)]))
    assert found.delta == pytest.approx(2.35 * math.log(1 / 4))


@pytest.mark.parametrize("rows", [[], [(0, 5, 0, 7)], [(5, 0, 3, 2)], [(0, 0, 3, 2)]])
def test_nothing_is_told_where_nothing_can_be(rows):
    """All right, all wrong, or one group alone."""
    assert mantel_haenszel(counts(rows)) is None
