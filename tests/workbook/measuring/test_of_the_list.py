"""Tests of the list, set up on the page, read what the list says that they read."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.model import instruments as theirs
from generator.workbooks.bench_records import set_up_of_test
from tests.workbook.measuring.set_ups import SHARED_GROUND, SMART, bench_and_exercise
from workbook.measuring import instruments as ours
from workbook.measuring.set_up import set_up_of
from workbook.measuring.settling import circuits_of
from workbook.measuring.truth import truth_of
from workbook.record.set_up import SetUp

errors = st.floats(-1, 1)
amounts = st.floats(-200, 2000)


@pytest.mark.parametrize("number", [0, 9, 31, SHARED_GROUND, *SMART])
def test_true_values_are_those_of_the_list(number):
    """Currents, voltages, resistances out of circuit and the spike of a turn-off."""
    bench, exercise = bench_and_exercise(number)
    circuits = circuits_of(bench.known)
    read = {t.id: r for t, r in zip(exercise.tests, exercise.readings, strict=True)}
    tests = {test.id: test for test in exercise.tests}
    compared = 0
    for code, item in bench.listed.items():
        set_up, measure = set_up_of(code, bench), tests[item].measure
        if measure.back or set_up_of_test(tests[item]).plus == set_up.minus:
            continue  # two wires in one jaw; an ohmmeter the other way round
        truth = truth_of(circuits, bench.known.actual, set_up)
        value = truth.live_v if measure.is_live else truth.value
        expected = read[item].value
        if truth.blown:
            continue
        if math.isfinite(expected):
            assert value == pytest.approx(expected, rel=1e-9, abs=1e-9), item
        else:
            assert math.isinf(value), item
        compared += 1
    assert compared > 5


@given(amounts, errors, errors, errors, errors)
def test_displays_are_those_of_the_instruments(amount, gain, counts, zero, noise):
    """The same number, errors and scale give the same digits."""
    hand = bench_and_exercise(0)[0].known.instruments
    here = ours.Errors(gain=gain, counts=counts, zero=zero, noise=noise)
    there = theirs.Errors(gain=gain, counts=counts, zero=zero, noise=noise)
    shown = theirs.VOLTMETER.display(amount, there)
    assert ours.meter_display(hand.volts, amount, here) == shown
    clamps = (theirs.CLAMP_1, theirs.CLAMP_10, theirs.CLAMP_100)
    for clamp, known in zip(hand.clamps, clamps, strict=True):
        set_up = SetUp(instrument="clamp", scale=clamp.id)
        zeroed = ours.clamp_of(hand, set_up)
        shown = ours.clamp_display(zeroed, hand.volts, amount, here)
        assert shown == known.display(amount, there)
        own_u = ours.clamp_u(zeroed, hand.volts, amount)
        assert own_u == pytest.approx(known.standard_uncertainty(amount))
    ohm = abs(amount)
    live = ours.live_display(hand.ohms, ohm, amount / 1e3, here)
    assert live == theirs.OHMMETER.display_live(ohm, amount / 1e3, there)


def test_noise_is_the_same_for_the_same_set_up_and_no_other():
    """Whoever measures twice reads twice the same."""
    hand = bench_and_exercise(0)[0].known.instruments
    one, again, other = (
        ours.errors_at(hand, code)
        for code in ("@off volts 86 0", "@off volts 86 0", "@off volts 85 0")
    )
    assert one == again
    assert one.noise != other.noise
    assert (one.gain, one.counts) == (other.gain, other.counts)
    assert -1 <= one.noise <= 1
