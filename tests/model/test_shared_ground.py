"""A ground point that a neighbour shares: where the current goes when it is open."""

from dataclasses import replace

import pytest
from hypothesis import given

from generator.model.measure import Setup
from tests.circuits import SOURCE_OHM, VALVE, WITH_NEIGHBOUR, broken, current
from tests.strategies import relay_circuits

NEIGHBOUR_OUT = Setup(neighbour_unplugged=True)
# A valve whose ohms do not rise: its currents can be worked out by hand.
STEADY = replace(WITH_NEIGHBOUR, hot_frac=1.0)
# Load fuse, feed, socket, contacts, wire, connector, winding and ground wire.
PATH_OHM = 0.004 + 0.010 + 0.003 + 0.005 + 0.010 + 0.003 + 4.0 + 0.010


def test_current_goes_back_through_the_neighbour():
    """By hand: 14 V over the path and, one behind the other, the 1.5 Ω of the lamps."""
    back = broken(STEADY, "shared_ground_open")
    # The coil's fifth of an ampere makes a few millivolts at the battery.
    by_hand = 14.0 / (SOURCE_OHM + PATH_OHM + 1.5)
    assert current(back, "load") == pytest.approx(by_hand, rel=1e-3)
    assert current(back, "neighbour") == pytest.approx(current(back, "load"))


def test_sound_ground_point_leaves_the_neighbour_dark():
    """A few milliohms beside it: no one notices that both hang at one bolt."""
    sound = replace(STEADY, ground_point_ohm=0.003)
    assert current(sound, "neighbour") < 0.003 * current(sound, "load")
    alone = replace(sound, neighbour_ohm=VALVE.neighbour_ohm)
    assert current(sound, "load") == pytest.approx(current(alone, "load"), rel=1e-4)


def test_unplugged_neighbour_stops_the_load():
    """A load whose own ground is bad goes on as weakly as before."""
    back = broken(STEADY, "shared_ground_open")
    assert current(back, "load", NEIGHBOUR_OUT) == pytest.approx(0.0, abs=1e-9)
    own = broken(STEADY, "load_ground_resistance")
    without = current(own, "load", NEIGHBOUR_OUT)
    assert without == pytest.approx(current(own, "load"), rel=1e-6)


def test_load_without_a_ground_wire_finds_no_way_back():
    """What is open before the ground point leaves the neighbour out of it."""
    cut = broken(STEADY, "load_ground_open")
    assert current(cut, "load") == pytest.approx(0.0, abs=1e-9)
    assert current(cut, "neighbour") == pytest.approx(0.0, abs=1e-9)


@given(relay_circuits(neighbour_ohm=1.5))
def test_way_back_is_as_good_as_a_resistance_in_the_ground_wire(sound):
    """Whatever the load: the network behind its ground pin is the same."""
    back = broken(sound, "shared_ground_open")
    own = replace(sound, load_ground_ohm=sound.load_ground_ohm + sound.neighbour_ohm)
    own = replace(own, neighbour_ohm=VALVE.neighbour_ohm)
    assert current(back, "load") == pytest.approx(current(own, "load"), rel=1e-6)
