"""Work in steps: what fails stands for its own result, and keeps nothing."""

import gc
import weakref

import numpy as np

from generator.model.steps import together


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
