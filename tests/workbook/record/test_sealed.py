"""Sealing and opening."""

import base64
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook.errors import SealError
from workbook.record import sealed
from workbook.record.sealed import seal, unseal

json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(max_size=20),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=10,
)


@given(extra=json_values)
def test_payload_round_trips(extra):
    """What is sealed is what is opened."""
    payload = {"format": 1, "exercises": [], "extra": extra}
    assert unseal(seal(payload)) == payload


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "cut off"),
        ("not base64!", "damaged"),
        ("Ω", "damaged"),
        (seal({"format": 1})[:-8], "cut off|damaged"),
        (seal({"format": 2}), "format 1"),
        (base64.b64encode(zlib.compress(b"[1]")).decode(), "format 1"),
        (base64.b64encode(zlib.compress(b"{")).decode(), "damaged"),
        (base64.b64encode(zlib.compress(b"[" * 200_000)).decode(), "deep"),
    ],
)
def test_damaged_text_is_refused(text, says):
    """A damaged or foreign text is refused with the reason."""
    with pytest.raises(SealError, match=says):
        unseal(text)


def test_bomb_is_not_opened(monkeypatch):
    """A short text that opens to far more than a workbook needs is refused."""
    monkeypatch.setattr(sealed, "MAX_JSON", 1000)
    bomb = base64.b64encode(zlib.compress(bytes(10_000))).decode()
    with pytest.raises(SealError, match="more than 1000 bytes"):
        unseal(bomb)


def test_long_text_is_refused(monkeypatch):
    """A text longer than any workbook's is not even decoded."""
    monkeypatch.setattr(sealed, "MAX_TEXT", 10)
    with pytest.raises(SealError, match="longer than 10"):
        unseal("A" * 11)
