"""A display shows what a real meter would: its range, its steps, its errors."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model.instruments import (
    CLAMP_1,
    CLAMP_10,
    CLAMP_100,
    MILLIOHMMETER,
    OHMMETER,
    SCOPE,
    VOLTMETER,
    Errors,
    Range,
    ohmmeter_for,
)

PERFECT = Errors()
shares = st.floats(-1.0, 1.0)
errors = st.builds(Errors, gain=shares, counts=shares, zero=shares, noise=shares)
UNIT_SI = {"mV": 1e-3, "V": 1.0, "Ω": 1.0, "kΩ": 1e3}


def amount(display):
    """The quantity that a display shows, in the base unit."""
    number, unit = display.split()
    return float(number) * UNIT_SI[unit]


@pytest.mark.parametrize(
    ("volts", "shown"),
    [
        (0.0, "0.00 mV"),
        (0.01647, "16.47 mV"),
        (0.0599, "59.90 mV"),
        (0.0601, "60.1 mV"),
        (0.3, "300.0 mV"),
        (0.601, "0.601 V"),
        (5.9994, "5.999 V"),
        (14.08, "14.08 V"),
        (-14.08, "-14.08 V"),
        (60.5, "OL"),
        (-60.5, "OL"),
        (math.inf, "OL"),
    ],
)
def test_voltmeter_shows_the_lowest_range_that_holds(volts, shown):
    """6000 counts, from tenths of a millivolt up to sixty volts."""
    assert VOLTMETER.display(volts, PERFECT) == shown


@pytest.mark.parametrize(
    ("ohms", "shown"),
    [
        (0.86, "0.9 Ω"),
        (6.5, "6.5 Ω"),
        (75.56, "75.6 Ω"),
        (680.0, "0.680 kΩ"),
        (6800.0, "6.80 kΩ"),
        (61e3, "OL"),
        (math.inf, "OL"),
    ],
)
def test_ohmmeter_shows_the_lowest_range_that_holds(ohms, shown):
    """Tenths of an ohm at the least (common practice, no source); an open reads OL."""
    assert OHMMETER.display(ohms, PERFECT) == shown


@pytest.mark.parametrize(
    ("ohms", "shown"), [(0.126, "0.126 Ω"), (0.86, "0.860 Ω"), (6.5, "6.50 Ω")]
)
def test_milliohm_meter_shows_what_an_ohmmeter_cannot(ohms, shown):
    """A lamp bank and a third of its ohms, which a plain meter takes for one."""
    assert MILLIOHMMETER.display(ohms, PERFECT) == shown
    assert OHMMETER.limit(0.126) > 0.126 * 2 / 3
    assert MILLIOHMMETER.limit(0.126) < 0.126 / 25


def test_two_leads_have_up_to_half_an_ohm():
    """Besides the three counts of the meter (common practice, no source)."""
    assert OHMMETER.limit(0.0) == pytest.approx(0.5 + 3 * 0.1)
    assert ohmmeter_for("coil") is OHMMETER
    assert ohmmeter_for("load") is MILLIOHMMETER


@pytest.mark.parametrize(
    ("volts", "shown"),
    [
        (0.000005, "0.01 mV"),
        (0.000015, "0.02 mV"),
        (0.000025, "0.03 mV"),
        (0.000024, "0.02 mV"),
        (-0.000005, "-0.01 mV"),
        (1.0005, "1.001 V"),
        (2.0005, "2.001 V"),
    ],
)
def test_display_rounds_half_away_from_zero(volts, shown):
    """Half a step counts as a whole one, odd or even, whatever binary makes of it."""
    assert VOLTMETER.display(volts, PERFECT) == shown


@pytest.mark.parametrize("volts", [-0.0, -1e-6, -4.9e-6])
def test_display_never_shows_minus_zero(volts):
    """What rounds to nothing has no sign."""
    assert VOLTMETER.display(volts, PERFECT) == "0.00 mV"


def test_range_shows_whole_steps_only():
    """A range in steps of two shows even numbers."""
    coarse = Range(end=100.0, step=2.0, unit="V", unit_si=1.0)
    assert [coarse.text(v) for v in (0.9, 1.0, 2.9, 98.0)] == [
        "0 V",
        "2 V",
        "2 V",
        "98 V",
    ]


@pytest.mark.parametrize(
    ("volts", "limit"),
    [(12.0, 0.06 + 0.03), (-12.0, 0.06 + 0.03), (0.05, 0.00025 + 0.00003)],
)
def test_limit_is_percent_of_reading_plus_counts(volts, limit):
    """±(0.5 % + 3 counts), a count being the step of the range."""
    assert VOLTMETER.limit(volts) == pytest.approx(limit)


def test_limit_above_the_last_range_uses_its_step():
    """An overload has the count of the last range."""
    assert VOLTMETER.limit(100.0) == pytest.approx(0.5 + 0.03)


@given(st.floats(-59, 59), errors)
def test_display_stays_within_the_limit(volts, chance):
    """Whatever the errors, the display is off by the limit and half a step at most."""
    step = VOLTMETER.range_for(volts).step
    shown = amount(VOLTMETER.display(volts, chance))
    assert abs(shown - volts) <= VOLTMETER.limit(volts) + step / 2 + 1e-12


def test_errors_at_their_ends_move_the_display_by_the_limit():
    """Full gain and full counts: 12 V + 60 mV + 30 mV."""
    assert VOLTMETER.display(12.0, Errors(gain=1, counts=1)) == "12.09 V"
    assert VOLTMETER.display(12.0, Errors(gain=-1, counts=-1)) == "11.91 V"


@given(st.floats(-70, 70), errors)
def test_display_is_a_number_with_its_unit_or_overload(volts, chance):
    """No exponent, no bare number, no minus zero."""
    shown = VOLTMETER.display(volts, chance)
    assert re.fullmatch(r"OL|-?\d+(\.\d+)? m?V", shown)
    assert not re.fullmatch(r"-0(\.0+)? .*", shown)


@pytest.mark.parametrize(
    ("clamp", "amps", "shown"),
    [
        (CLAMP_100, 0.165, "16.50 mV"),
        (CLAMP_100, 1.0, "100.0 mV"),
        (CLAMP_100, -0.165, "-16.50 mV"),
        (CLAMP_10, 14.1, "141.0 mV"),
        (CLAMP_1, 14.1, "14.10 mV"),
        (CLAMP_1, 0.165, "0.17 mV"),
        (CLAMP_100, 10.1, "OL"),
        (CLAMP_10, 101.0, "OL"),
        (CLAMP_10, -101.0, "OL"),
    ],
)
def test_clamp_shows_current_times_scale(clamp, amps, shown):
    """The meter behind it shows millivolts, and OL beyond the probe's range."""
    assert clamp.display(amps, PERFECT) == shown


@pytest.mark.parametrize(
    ("clamp", "text"), [(CLAMP_100, "100"), (CLAMP_10, "10"), (CLAMP_1, "1")]
)
def test_clamp_names_its_scale(clamp, text):
    """As it stands on the probe."""
    assert clamp.scale_text == f"{text} mV/A"


def test_zero_offset_shows_without_current():
    """What is left after zeroing reads as 2 mA, and its meter adds three counts."""
    assert CLAMP_100.display(0.0, Errors(zero=1.0)) == "0.20 mV"
    assert CLAMP_100.display(0.0, Errors(zero=-1.0, counts=1.0)) == "-0.17 mV"


def test_noise_swings_the_display_by_its_own_amount():
    """1 mA of noise is 0.10 mV on the 100 mV/A scale, to either side."""
    shown = [CLAMP_100.display(0.1, Errors(noise=share)) for share in (-1.0, 0.0, 1.0)]
    assert shown == ["9.90 mV", "10.00 mV", "10.10 mV"]


@given(st.floats(-9.9, 9.9), errors)
def test_clamp_output_stays_within_its_limit(amps, chance):
    """The probe alone is off by 1 %, its zero offset and its noise at most."""
    off_a = abs(CLAMP_100.output_v(amps, chance) / 0.1 - amps)
    assert off_a <= CLAMP_100.limit(amps) + CLAMP_100.noise_a + 1e-12
    assert CLAMP_100.limit(amps) == pytest.approx(0.01 * abs(amps) + 0.002)


def test_clamp_uncertainty_joins_probe_noise_and_meter():
    """Squares of (1 % + 20 mA), of 10 mA and of (0.5 % + 3 x 0.1 mV) add, over √3."""
    probe_a = (0.01 * 14.0 + 0.02) / math.sqrt(3)
    noise_a = 0.01 / math.sqrt(3)
    meter_a = (0.005 * 0.14 + 3e-4) / 0.01 / math.sqrt(3)
    expected = math.sqrt(probe_a**2 + noise_a**2 + meter_a**2)
    assert CLAMP_10.standard_uncertainty(14.0) == pytest.approx(expected)


@pytest.mark.parametrize("clamp", [CLAMP_1, CLAMP_10, CLAMP_100])
def test_probe_with_more_range_has_more_offset_and_noise(clamp):
    """Both lie a thousand times below the range or more, and noise below the offset.

    Common practice, no source.
    """
    assert 0 < clamp.noise_a < clamp.zero_a < clamp.range_a / 1000


@pytest.mark.parametrize(
    ("ohms", "volts", "shown"),
    [
        (85.0, 0.0, "85.0 Ω"),
        (0.86, 0.01, "10.9 Ω"),
        (85.0, 0.1, "185.0 Ω"),
        (85.0, 0.55, "5.585 kΩ"),
        (85.0, 0.7, "OL"),
        (85.0, 14.0, "OL"),
        (0.86, 13.2, "OL"),
        (85.0, -0.05, "35.0 Ω"),
        (85.0, -2.0, "OL"),
        (math.inf, 0.0, "OL"),
    ],
)
def test_ohmmeter_takes_a_voltage_for_resistance(ohms, volts, shown):
    """Ohm's law on its own test current: 1 mA, 100 µA and 10 µA.

    Any voltage present makes a resistance reading wrong (section 6.3 of a meter's
    manual at manualslib.mx/manual/61933); the currents are common practice, no source.
    """
    assert OHMMETER.display_live(ohms, volts, PERFECT) == shown


@given(st.floats(0.1, 59e3), errors)
def test_ohmmeter_on_a_dead_part_shows_its_ohms(ohms, chance):
    """Without a voltage there is no difference to a part out of its circuit."""
    dead = OHMMETER.display_live(ohms, 0.0, chance)
    shown = {dead, OHMMETER.display(ohms, chance)}
    # A reading that its errors carry over the end of a range may come in either.
    assert len(shown) == 1 or OHMMETER.range_for(ohms) != OHMMETER.range_for(
        ohms * 1.01
    )


@given(st.floats(-59, 59))
def test_standard_uncertainty_is_that_of_a_rectangle(volts):
    """Half-width over the root of three."""
    ratio = VOLTMETER.limit(volts) / VOLTMETER.standard_uncertainty(volts)
    assert ratio == pytest.approx(1.7320508)


@given(st.floats(0.0, 1600.0), errors)
def test_scope_stays_within_its_limit(volts, off):
    """±3 % of the screen and one of its 256 steps (common practice, no source)."""
    shown = SCOPE.shown(volts, off)
    full_v = SCOPE.range_for(volts)
    assert volts <= full_v
    assert abs(shown - volts) <= 0.03 * full_v + full_v / 256
    assert abs(shown - volts) <= SCOPE.limit(volts) + 1e-9


@pytest.mark.parametrize(
    ("volts", "off", "shown"),
    [
        (14.6, Errors(), "Peak to peak 14.6 V"),
        (358.0, Errors(), "Peak to peak 358 V"),
        (358.0, Errors(gain=1.0), "Peak to peak 370 V"),
        (0.0, Errors(gain=-1.0), "Peak to peak 0 V"),
    ],
)
def test_scope_shows_an_amplitude(volts, off, shown):
    """In steps of its converter, and never below nothing."""
    assert SCOPE.display(volts, off) == shown
