"""Works in steps give the same alone and side by side, and keep nothing."""

import gc
import weakref

import numpy as np
import pytest

from generator.model import steps
from generator.model.circuit import columns_of
from generator.model.measure import Setup
from generator.model.settling import Unsettled
from generator.model.steps import all_together, both, settled_of, together
from tests.circuits import HEATER

CHANGES = {"load_ohm": 1.5}, {"coil_ohm": 120.0}, {"supply_v": 11.0}


class Dropped(Exception):  # noqa: N818 - ends a work, and is no error
    """A work that gives up."""


def load_currents(changes, count):
    """Ask for the current of a changed circuit so many times, once a step."""
    columns = columns_of([HEATER.with_values(**changes)])
    found = []
    for _ in range(count):
        one = Unsettled(columns=columns, sound=columns, setups=[Setup()])
        settled = yield from settled_of(one)
        found.append(float(settled.current("load")[0, 0, 0]))
    return found


def dropped():
    """Give up behind one step."""
    yield from load_currents({}, 1)
    raise Dropped


@pytest.fixture
def batches(monkeypatch):
    """Sizes of the batches that are settled."""
    sizes, settle_all = [], steps.settle_all

    def counted(asked):
        sizes.append(len(asked))
        return settle_all(asked)

    monkeypatch.setattr(steps, "settle_all", counted)
    return sizes


def test_works_together_take_their_steps_in_one_batch(batches):
    """Each goes on for as many steps as it has, and finds what it finds alone."""
    works = [load_currents(each, n) for n, each in enumerate(CHANGES, start=1)]
    found = all_together(works)
    assert batches == [3, 2, 1]
    alone = [all_together([load_currents(each, 1)])[0][0] for each in CHANGES]
    assert found == [[amps] * n for n, amps in enumerate(alone, start=1)]


def test_two_works_as_one_share_the_batch_of_others(batches):
    """Both are one work among others, with the steps of the longer one."""
    pair = both(load_currents(CHANGES[0], 2), load_currents(CHANGES[1], 1))
    (first, second), third = all_together([pair, load_currents(CHANGES[2], 2)])
    assert batches == [3, 2]
    assert (len(first), len(second), len(third)) == (2, 1, 2)
    assert first[0] != second[0]


def test_error_that_is_kept_ends_its_own_work_alone():
    """Inside a pair it ends the pair; what is not kept is raised."""
    pair = both(load_currents({}, 3), dropped())
    first, second = together([pair, load_currents({}, 2)], Dropped)
    assert isinstance(first, Dropped)
    assert len(second) == 2
    with pytest.raises(Dropped):
        all_together([dropped()])


class Values(np.ndarray):
    """Many values, of which can be told whether they are still there."""


def failing(values):
    """Work that fails while it has values."""
    if values.size:
        raise ValueError("it cannot be drawn")
    yield


def test_work_that_fails_keeps_none_of_its_values():
    """Its error is kept for long, and arrays of a hundred megabytes hang on it else."""
    gc.disable()
    try:
        values = np.zeros(3).view(Values)
        kept = weakref.ref(values)
        [error] = together([failing(values)], ValueError)
        del values
        assert str(error) == "it cannot be drawn"
        assert kept() is None
    finally:
        gc.enable()
