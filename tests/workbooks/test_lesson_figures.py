"""Traces for a lesson's text: what takes a coil's energy, and how loads start."""

from dataclasses import replace
from typing import get_args

import pytest

from generator.model.variant import LoadKind
from generator.workbooks.examples import (
    SUPPRESSIONS,
    inrush_markdown,
    turn_off_markdown,
    turn_off_peak_v,
)
from tests.circuits import HEATER, LOADS, STEADY, current
from tests.drawn import RADICALS, exercise


def names():
    """What the parts of a drawn circuit are called."""
    return exercise(RADICALS[0]).specification.names


def told(markdown):
    """First, highest and last amount of a figure's table."""
    cells = [line.split("|")[2].split() for line in markdown.splitlines()[4:]]
    amounts = [float(n) * {"m": 1e-3, "µ": 1e-6}.get(u[:-1], 1.0) for n, u in cells]
    return amounts[0], max(amounts), amounts[-1]


def test_peaks_stand_in_the_order_of_the_books():
    """The diode gives the lowest voltage, the bare coil the highest.

    T. R. Kuphaldt, "Lessons In Electric Circuits", vol. III, ch. 3; that a driver
    clamps between resistor and diode is common practice, no source.
    """
    peaks = {across: turn_off_peak_v(HEATER, across) for across in SUPPRESSIONS}
    order = sorted(peaks, key=peaks.get)
    assert order == ["diode", "clamping driver", "resistor", "nothing"]
    assert peaks["diode"] == pytest.approx(14.7, abs=0.1)
    assert peaks["clamping driver"] == pytest.approx(14.0 + 35.0, rel=0.01)
    assert 200 < peaks["nothing"] < 1000


@pytest.mark.parametrize("across", SUPPRESSIONS)
def test_figure_has_a_picture_and_its_points(across):
    """The table's peak is the one that the text gives."""
    figure = turn_off_markdown(HEATER, names(), across)
    assert figure.startswith("<img alt=")
    peak_v = turn_off_peak_v(HEATER, across)
    assert told(figure)[1] == pytest.approx(peak_v, rel=0.01)


def test_unknown_suppression_is_told_with_those_that_there_are():
    """What is asked wrongly in a text says what to do."""
    with pytest.raises(ValueError, match=r"'zener' .* Name one of nothing, resistor"):
        turn_off_peak_v(HEATER, "zener")


def test_start_ends_where_the_circuit_settles():
    """Socket and connector are in the path of the load here as in its network."""
    bad = replace(STEADY, socket_ohm=0.05, load_connector_ohm=0.04)
    for circuit in (STEADY, bad):
        ends = told(inrush_markdown(circuit, "heater", names()))[2]
        assert ends == pytest.approx(current(circuit, "load"), rel=4e-3)


@pytest.mark.parametrize("kind", get_args(LoadKind))
def test_load_starts_as_its_kind_does(kind):
    """Motors and lamps overshoot; heaters and windings only rise."""
    first, peak, last = told(inrush_markdown(LOADS[kind], kind, names()))
    assert first == 0
    overshoots = kind in ("fan motor", "pump motor", "lamp bank")
    assert (peak > 1.5 * last) is overshoots
    assert "is switched on" in inrush_markdown(LOADS[kind], kind, names())
