"""Published examples of meter accuracy and of the propagation of uncertainty.

Each names where its figures stand. "Derived" marks a figure that follows from the
printed ones and is not printed itself.
"""

import math

import numpy as np
import pytest

from generator.model.catalogue.tests import TESTS
from generator.model.instruments import Clamp, Errors, Meter, Range
from generator.model.uncertainty import standard_uncertainty

# A test that is read by eye has no instrument: what is left is pure propagation.
NO_INSTRUMENT = [TESTS["read_enable"]]


def meter(percent, counts, step):
    """A meter of one range with a stated accuracy."""
    one = Range(end=1000.0, step=step, unit="V", unit_si=1.0)
    return Meter(ranges=(one,), accuracy_frac=percent / 100, accuracy_counts=counts)


@pytest.mark.parametrize(
    ("percent", "counts", "step", "reading", "limit", "apart"),
    [
        # Kwantlen Polytechnic University, physics tutorial "DMM uncertainties".
        (2.5, 3, 0.01, 32.00, 0.83, 1e-9),
        # Maker's introduction to accuracy, 98.8 V to 101.2 V (gvda-instrument.com).
        (1.0, 2, 0.1, 100.0, 1.2, 1e-9),
        # The same maker's calculation, ±10 counts (gvda-instrument.com).
        (0.8, 2, 0.1, 100.0, 1.0, 1e-9),
        # Seller's explainer, 1.9964 V to 2.0036 V (victorruoshui.com).
        (0.08, 2, 0.001, 2.000, 0.0036, 1e-9),
        # Seller's explainer, printed as ±0.0098 V (babataher-shop.com).
        (0.5, 1, 0.001, 1.755, 0.0098, 5e-5),
    ],
)
def test_limit_of_a_reading_is_as_published(
    percent, counts, step, reading, limit, apart
):
    """±(% of reading + counts of the last digit)."""
    found = meter(percent, counts, step).limit(reading)
    assert found == pytest.approx(limit, abs=apart)


def test_limits_without_knowledge_are_a_rectangle():
    """±0.83 V has a standard uncertainty of 0.479 V (JCGM 100:2008, 4.3.7)."""
    found = meter(2.5, 3, 0.01).standard_uncertainty(32.00)
    assert found == pytest.approx(0.479, abs=5e-4)


def test_clamp_adaptor_shows_a_millivolt_an_ampere():
    """8.25 A on 1 mV/A is 8.25 mV (siliconchip.com.au, clamp meter adaptor)."""
    clamp = Clamp(scale_v_per_a=0.001, accuracy_frac=0.01, zero_a=0.0, range_a=400.0)
    assert clamp.display(8.25, Errors()) == "8.25 mV"


def propagated(measured, uncertainty, of):
    """Uncertainty of a function of measured values, each varied by its own."""
    cases = [measured] + [
        [x + (u if i == j else 0.0) for i, x in enumerate(measured)]
        for j, u in enumerate(uncertainty)
    ]
    value = np.array([[[of(*case) for case in cases]]])
    return float(standard_uncertainty(value, NO_INSTRUMENT)[0, 0])


# Volts, amperes and radians of JCGM 100:2008, example H.2, without correlations, and
# their standard uncertainties (GUM Tree Calculator, "AC electric circuit").
V_I_PHI = (4.999, 19.661e-3, 1.04446)
U_V_I_PHI = (0.0032, 0.0095e-3, 0.00075)


# Five readings of volts, amperes and radians at once (the same example, table H.2).
H2_READINGS = np.array(
    [
        (5.007, 19.663e-3, 1.0456),
        (4.994, 19.639e-3, 1.0438),
        (5.005, 19.640e-3, 1.0468),
        (4.990, 19.685e-3, 1.0428),
        (4.999, 19.678e-3, 1.0433),
    ]
)


@pytest.mark.parametrize(
    ("of", "value", "spread"),
    [
        (lambda v, i, phi: v * math.cos(phi) / i, 127.73, 0.19),
        (lambda v, i, phi: v * math.sin(phi) / i, 219.85, 0.20),
        (lambda v, i, _: v / i, 254.26, 0.20),
    ],
    ids=["resistance", "reactance", "impedance"],
)
def test_impedance_has_the_published_uncertainty(of, value, spread):
    """R 127.73(19), X 219.85(20), Z 254.26(20) Ω, by steps instead of derivatives."""
    assert of(*V_I_PHI) == pytest.approx(value, abs=0.005)
    assert propagated(V_I_PHI, U_V_I_PHI, of) == pytest.approx(spread, abs=0.005)


@pytest.mark.parametrize(
    ("of", "value", "spread"),
    [
        (lambda v, i, phi: v * math.cos(phi) / i, 127.732, 0.071),
        (lambda v, i, phi: v * math.sin(phi) / i, 219.847, 0.295),
        (lambda v, i, _: v / i, 254.260, 0.236),
    ],
    ids=["resistance", "reactance", "impedance"],
)
def test_impedance_from_the_readings_has_the_published_uncertainty(of, value, spread):
    """R 127.732(71), X 219.847(295), Z 254.260(236) Ω, with the three correlated.

    JCGM 100:2008, example H.2, as GUM Tree Calculator repeats it. What each of the five
    readings is off from their mean is a part of its own; its square over n·(n - 1)
    goes into the variance of the mean.
    """
    mean = H2_READINGS.mean(axis=0)
    parts = (H2_READINGS - mean) / math.sqrt(5 * 4)

    def of_parts(*chance):
        return of(*(mean + np.array(chance) @ parts))

    assert of_parts(0, 0, 0, 0, 0) == pytest.approx(value, abs=5e-4)
    assert propagated([0.0] * 5, [1.0] * 5, of_parts) == pytest.approx(spread, abs=6e-4)


def test_gauge_block_has_the_published_uncertainty():
    """Six components make 32 nm (JCGM 100:2008, example H.1)."""
    parts = (25.0, 16.599, 6.7, 5.8, 3.9, 2.88679)
    found = propagated([0.0] * 6, parts, lambda *x: math.fsum(x))
    assert found == pytest.approx(32.0, abs=0.5)


def test_sum_of_four_standard_variables_has_uncertainty_two():
    """The additive model of JCGM 101:2008, 9.2.2."""
    found = propagated([0.0] * 4, [1.0] * 4, lambda *x: math.fsum(x))
    assert found == pytest.approx(2.0, abs=1e-12)


def test_sum_of_four_rectangles_spreads_as_published():
    """Of unit variance: u is 2.0, and 95 % lie within 3.88 (JCGM 101:2008, 9.2.3)."""
    rng = np.random.default_rng(20261125)
    drawn = rng.uniform(-(3**0.5), 3**0.5, (200_000, 4)).sum(axis=1)
    found = propagated([0.0] * 4, [1.0] * 4, lambda *x: math.fsum(x))
    assert drawn.std() == pytest.approx(found, abs=0.01)
    assert np.quantile(np.abs(drawn), 0.95) == pytest.approx(3.88, abs=0.02)


def test_resistance_of_two_readings_joins_their_errors():
    """Volts and amperes at 1 % each give ohms at 1.41 % (Kuphaldt; figure derived)."""
    found = propagated([12.0, 2.0], [0.12, 0.02], lambda v, i: v / i)
    assert found / 6.0 == pytest.approx(0.0141, abs=1e-4)
