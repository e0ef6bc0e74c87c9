"""The targets of the fuzzer hold for sound inputs, and for a few bent ones."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import read_hand_in
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


def test_narrow_space_in_a_field_name_may_be_quoted():
    """It is a space, and looks like one; what turns text around is written out."""
    line = rb'{"edit\u202fi\u202eon":1,"format":1,"kind":"hand-in"}'
    targets.on(bytes([0]) + line)
    with pytest.raises(RefusedError, match="edit\u202fi\\\\u202eon"):
        read_hand_in("a", line)
