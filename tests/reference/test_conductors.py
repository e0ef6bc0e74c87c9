"""Copper conductors: published tables and examples, each with its own constants.

Three values for copper are in use: 1/58 Ω·mm²/m with 0.00393/K (IACS), 1.68e-8 Ω·m with
0.0039/K (OpenStax) and 1.678e-8 Ω·m with 0.004041/K (Kuphaldt). An example is computed
with those of its own source.
"""

import math

import pytest

from generator.model.circuit import COPPER_PER_K
from generator.model.network import Branch, Network
from generator.model.parts import COPPER_OHM_MM2_PER_M, wire_resistance
from generator.model.solving import solve

MIL_MM = 0.0254


def awg_area_mm2(gauge):
    """Cross-section by the rule of ASTM B258 (from memory)."""
    return 0.012668 * 92 ** ((36 - gauge) / 19.5)


def with_resistivity(ohm, ohm_mm2_per_m):
    """A resistance of ours as copper of another resistivity has it."""
    return ohm * ohm_mm2_per_m / COPPER_OHM_MM2_PER_M


def warmed(ohm, temperature_degc, per_k):
    """A resistance at 20 °C as our rule has it warm, with another coefficient."""
    ours = wire_resistance(1.0, 1.0, temperature_degc) / wire_resistance(1.0, 1.0)
    return ohm * (1 + (ours - 1) * per_k / COPPER_PER_K)


def test_resistivity_is_that_of_the_international_standard():
    """0.15328 Ω·g/m² over 8.89 g/cm³ (NBS Handbook 100, in a note that quotes it)."""
    assert pytest.approx(0.15328 / 8.89, rel=1e-4) == COPPER_OHM_MM2_PER_M


@pytest.mark.parametrize(
    ("gauge", "inches", "ohm_per_1000_ft"),
    [
        (10, 0.1019, 0.9989),
        (12, 0.08081, 1.588),
        (14, 0.06408, 2.525),
        (16, 0.05082, 4.016),
        (18, 0.04030, 6.385),
        (20, 0.03196, 10.15),
        (22, 0.02535, 16.14),
        (24, 0.02010, 25.67),
    ],
)
def test_wire_agrees_with_the_american_wire_tables(gauge, inches, ohm_per_1000_ft):
    """Diameters of Kuphaldt, "Lessons In Electric Circuits", vol. I, ch. 12, table.

    Ohms at 20 °C of NBS Handbook 100 (from memory), within 0.05 %.
    """
    area_mm2 = awg_area_mm2(gauge)
    assert math.pi / 4 * (inches * 1000 * MIL_MM) ** 2 == pytest.approx(
        area_mm2, rel=1e-3
    )
    assert wire_resistance(304.8, area_mm2) == pytest.approx(ohm_per_1000_ft, rel=5e-4)


def test_gauges_run_from_0000_to_36_in_equal_ratios():
    """0.4600 in and 0.005000 in (the same table): 92 times, and 2.005 per 3 steps."""
    thick, thin = (math.pi / 4 * (d * 1000 * MIL_MM) ** 2 for d in (0.4600, 0.005000))
    assert awg_area_mm2(-3) == pytest.approx(thick, rel=1e-4)
    assert awg_area_mm2(36) == pytest.approx(thin, rel=1e-4)
    halves = wire_resistance(1.0, awg_area_mm2(17)) / wire_resistance(
        1.0, awg_area_mm2(14)
    )
    assert halves == pytest.approx(2.005, abs=0.001)


@pytest.mark.parametrize(("gauge", "ohm_per_km"), [(10, 3.28), (12, 5.21), (14, 8.28)])
def test_solid_wire_agrees_with_a_gauge_calculator(gauge, ohm_per_km):
    """At 1.724e-8 Ω·m (aionlinecalculator.com, wire gauge calculator), ±0.01."""
    found = with_resistivity(wire_resistance(1000.0, awg_area_mm2(gauge)), 0.01724)
    assert found == pytest.approx(ohm_per_km, abs=0.01)


@pytest.mark.parametrize(
    ("gauge", "ohm_per_m"), [(0, 0.000314), (2, 0.000499), (4, 0.000793)]
)
def test_thick_wire_agrees_with_the_handbook_of_chemistry(gauge, ohm_per_m):
    """CRC Handbook, wire tables (copy), which take 1.678e-8 Ω·m; ±0.2 %."""
    found = with_resistivity(wire_resistance(1.0, awg_area_mm2(gauge)), 0.01678)
    assert found == pytest.approx(ohm_per_m, rel=2e-3)


def test_wire_of_the_worked_example_has_its_ohms():
    """12 AWG of 2.053 mm, 5.00 m, 1.68e-8 Ω·m: 3.31 mm² and 0.025 Ω.

    OpenStax, "University Physics Volume 2", example 9.5.
    """
    area_mm2 = math.pi / 4 * 2.053**2
    assert area_mm2 == pytest.approx(3.31, abs=0.005)
    found = with_resistivity(wire_resistance(5.00, area_mm2), 0.0168)
    assert found == pytest.approx(0.025, abs=5e-4)


@pytest.mark.parametrize(
    ("area_mm2", "class_5", "class_2", "ratio"),
    [
        (0.5, 39.0, 36.0, 1.131),
        (0.75, 26.0, 24.5, 1.131),
        (1.0, 19.5, 18.1, 1.131),
        (1.5, 13.3, 12.1, 1.157),
        (2.5, 7.98, 7.41, 1.157),
        (4.0, 4.95, 4.61, 1.148),
        (6.0, 3.30, 3.08, 1.148),
    ],
)
def test_wire_lies_under_the_largest_ohms_of_cables(area_mm2, class_5, class_2, ratio):
    """IEC 60228 in mΩ/m at 20 °C (three copies agree): 13 to 16 % over pure copper.

    Solid and stranded conductors, classes 1 and 2, lie between the two.
    """
    ours = wire_resistance(1.0, area_mm2) * 1000
    assert class_5 / ours == pytest.approx(ratio, abs=0.001)
    assert ours < class_2 < class_5


@pytest.mark.parametrize(
    ("area_mm2", "most"),
    [
        *((0.5, 37.1), (0.75, 24.7), (1.0, 18.5), (1.5, 12.7), (2.0, 9.42)),
        *((2.5, 7.60), (3.0, 6.15), (4.0, 4.71), (5.0, 3.94), (6.0, 3.14)),
    ],
)
def test_wire_lies_under_the_largest_ohms_of_vehicle_cables(area_mm2, most):
    """ISO 6722-1:2011 in mΩ/m at 20 °C (from memory): 7 to 15 % over pure copper."""
    assert 1.07 <= most / 1000 / wire_resistance(1.0, area_mm2) <= 1.15


@pytest.mark.parametrize("temperature_degc", [-20.0, 0.0, 60.0, 100.0])
def test_copper_follows_the_rule_of_the_inferred_zero(temperature_degc):
    """(234.5 + T2)/(234.5 + T1) (NBS Handbook 100 and IEC 60028, from memory)."""
    ratio = warmed(1.0, temperature_degc, COPPER_PER_K)
    assert ratio == pytest.approx((234.5 + temperature_degc) / 254.5, rel=1e-4)


@pytest.mark.parametrize(
    ("temperature_degc", "factor"),
    [
        *((5, 1.064), (10, 1.042), (15, 1.020), (20, 1.000), (25, 0.980), (30, 0.962)),
        *(
            (35, 0.943),
            (40, 0.926),
            (50, 0.893),
            (60, 0.862),
            (80, 0.806),
            (100, 0.758),
        ),
    ],
)
def test_copper_agrees_with_the_factors_of_cables(temperature_degc, factor):
    """IEC 60228, factors to 20 °C (copy), whose rule takes 0.004/K; ours is near."""
    assert 1 / warmed(1.0, temperature_degc, 0.004) == pytest.approx(factor, abs=6e-4)
    ours = 1 / warmed(1.0, temperature_degc, COPPER_PER_K)
    assert ours == pytest.approx(factor, rel=4.5e-3)


def test_warm_leads_take_from_the_load_as_printed():
    """Two leads of 15 Ω at 20 °C have 15.909 Ω at 35 °C, with 0.004041/K.

    Kuphaldt, "Lessons In Electric Circuits", vol. I, ch. 12, temperature coefficient;
    14 V and 250 Ω follow from the 12.5 V and 50 mA of the text.
    """
    lead_ohm = warmed(15.0, 35.0, 0.004041)
    assert lead_ohm == pytest.approx(15.909, abs=5e-4)
    loop = (
        Branch("source", "0", "plus", 0.0, 14.0),
        Branch("feed", "plus", "load+", lead_ohm),
        Branch("load", "load+", "load-", 250.0),
        Branch("return", "load-", "0", lead_ohm),
    )
    amps = solve(Network(branches=loop)).current_a["load"]
    assert amps * 250.0 == pytest.approx(12.42, abs=0.005)
    assert amps * lead_ohm == pytest.approx(0.79, abs=0.005)
