"""A search by halves finds where a wire is open, in as few readings as there can be."""

import math

import pytest

from generator.workbooks.halves import search_by_halves
from tests.drawn import EACH_FAULT, exercise

OPEN = {
    "load_feed_open": ("far side of load fuse", "terminal 30"),
    "load_wire_open": ("terminal 87", "wire side of connector"),
}


def drawn(fault):
    """An exercise with a fault."""
    return exercise(next(each for each in EACH_FAULT if each.fault == fault))


@pytest.mark.parametrize("fault", OPEN)
def test_open_is_found_between_two_neighbours(fault):
    """Each reading leaves half; the last one leaves the wire that is open."""
    found = search_by_halves(drawn(fault))
    last = found.steps[-1]
    assert all(map(str.startswith, (last.start, last.end), OPEN[fault]))
    assert len(found.steps) <= math.ceil(math.log2(len(found.places) - 1))
    for step in found.steps:
        assert step.is_fed == (float(step.display.split()[0]) > 1)


def test_circuit_that_is_not_open_is_refused():
    """A resistance leaves the voltage where no current flows."""
    with pytest.raises(ValueError, match="not open"):
        search_by_halves(drawn("load_wire_resistance"))
