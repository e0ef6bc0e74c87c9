"""The targets of the fuzzer hold for sound inputs, and for a few bent ones."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fuzz import targets

SEEDS = tuple(targets.seeds())


@pytest.mark.parametrize("seed", SEEDS, ids=range(len(SEEDS)))
def test_sound_input_is_no_fault(seed):
    """What the fuzzer begins with is right."""
    targets.on(seed)


@given(st.sampled_from(SEEDS), st.data())
def test_bent_input_is_refused_and_no_fault(seed, data):
    """Pieces overwritten anywhere: the fuzzer's own work, for a moment."""
    bent = bytearray(seed)
    for _ in range(data.draw(st.integers(1, 4))):
        piece = data.draw(st.binary(max_size=8))
        start = data.draw(st.integers(1, len(bent)))
        bent[start : start + data.draw(st.integers(0, 8))] = piece
    targets.on(bytes(bent))
