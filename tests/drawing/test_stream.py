"""Draws are even, separate by label, and tied to the whole secret."""

import hashlib
import hmac
from collections import Counter
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.drawing.stream import Stream

SECRET = hashlib.sha256(b"a class secret for tests").digest()


def chi_square(drawn, cells):
    """Pearson's sum of squares against equal shares."""
    counts = Counter(drawn)
    expected = len(drawn) / len(cells)
    assert set(counts) <= set(cells)
    return sum((counts[cell] - expected) ** 2 / expected for cell in cells)


# Critical values at 0.1 % by degrees of freedom (any table of the distribution).
@pytest.mark.parametrize(
    ("stop", "critical"), [(6, 20.515), (10, 27.877), (21, 45.315)]
)
def test_whole_numbers_are_drawn_evenly(stop, critical):
    """Twenty thousand draws are as even as chance makes them, no power of two."""
    stream = Stream(SECRET, "even", stop)
    drawn = [stream.integer(stop) for _ in range(20_000)]
    assert chi_square(drawn, range(stop)) < critical


def test_even_draws_fill_their_interval_evenly():
    """Twenty cells of [2, 4) get equal shares."""
    stream = Stream(SECRET, "interval")
    drawn = [stream.uniform(2.0, 4.0) for _ in range(20_000)]
    cells = [int((x - 2.0) * 10) for x in drawn]
    assert chi_square(cells, range(20)) < 43.820


def test_orders_are_drawn_evenly():
    """Each of six orders of three things is as likely."""
    stream = Stream(SECRET, "orders")
    drawn = [stream.shuffled("abc") for _ in range(6_000)]
    assert chi_square(drawn, list(permutations("abc"))) < 20.515


def test_weights_are_kept():
    """Weights 1, 2 and 5 come in these proportions; what weighs nothing never comes."""
    stream = Stream(SECRET, "weights")
    counts = Counter(stream.weighted("abcd", [1, 2, 0, 5]) for _ in range(8_000))
    expected = {"a": 1000, "b": 2000, "d": 5000}
    assert set(counts) == set(expected)
    assert sum((counts[k] - n) ** 2 / n for k, n in expected.items()) < 13.816


@pytest.mark.parametrize("weights", [[0.0, 0.0], [0, 0]])
def test_weights_of_nothing_are_refused(weights):
    """Something must be able to come."""
    with pytest.raises(ValueError, match="no weight is above 0"):
        Stream(SECRET).weighted("ab", weights)


@pytest.mark.parametrize("stop", [0, -3])
def test_empty_range_is_refused(stop):
    """There is no whole number below nought from nought up."""
    with pytest.raises(ValueError, match="Give 1 or more"):
        Stream(SECRET).integer(stop)


@given(st.integers(1, 2**70), st.integers(0, 1000))
def test_whole_number_lies_in_its_range(stop, label):
    """However large the range."""
    assert 0 <= Stream(SECRET, label).integer(stop) < stop


@given(st.lists(st.integers()), st.integers(0, 1000))
def test_shuffled_keeps_every_item(items, label):
    """An order loses nothing, and the list given stays as it was."""
    before = list(items)
    assert sorted(Stream(SECRET, label).shuffled(items)) == sorted(items)
    assert items == before


def test_choice_reaches_every_item():
    """Nothing that can be chosen is left out."""
    stream = Stream(SECRET, "choice")
    assert {stream.choice("abcde") for _ in range(200)} == set("abcde")


def test_stream_is_shake_256_under_a_key_of_its_own():
    """Written out with the standard library: HMAC of the labels, then SHAKE-256."""
    key = hmac.new(SECRET, b"clampbook 1\x1fs01\x1f3", "sha256").digest()
    blocks = [
        hashlib.shake_256(key + number.to_bytes(8, "big")).digest(1024)
        for number in range(2)
    ]
    stream = Stream(SECRET, "s01", 3)
    assert bytes(stream.integer(256) for _ in range(2048)) == b"".join(blocks)


def test_same_labels_repeat_the_draw():
    """Secret and labels fix everything."""
    one, other = Stream(SECRET, "s01", 3), Stream(SECRET, "s01", 3)
    assert [one.integer(99) for _ in range(50)] == [
        other.integer(99) for _ in range(50)
    ]


@pytest.mark.parametrize(
    "labels", [("s01", 4), ("s013",), ("s0", 13), ("s01",), (3, "s01"), ("s01", 3, 0)]
)
def test_labels_separate_streams(labels):
    """No other use of the secret has the same stream."""
    mine, other = Stream(SECRET, "s01", 3), Stream(SECRET, *labels)
    assert mine.integer(2**64) != other.integer(2**64)


def test_small_seeds_reproduce_nothing():
    """Going through 65 536 small secrets finds no draw of a real one."""
    wanted = Stream(SECRET, "exercise", "s01", 1, 0).integer(2**64)
    assert all(
        Stream(seed.to_bytes(32, "big"), "exercise", "s01", 1, 0).integer(2**64)
        != wanted
        for seed in range(2**16)
    )


def test_every_bit_of_the_secret_counts():
    """Secrets that differ in one bit anywhere share no draw."""
    secrets = [SECRET] + [
        (int.from_bytes(SECRET, "big") ^ (1 << bit)).to_bytes(32, "big")
        for bit in range(256)
    ]
    assert len({Stream(secret, "x").integer(2**64) for secret in secrets}) == 257
