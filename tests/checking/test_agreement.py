"""JSON values agree where their words are the same and numbers differ by rounding."""

import math

import pytest

from generator.checking.agreement import first_difference


@pytest.mark.parametrize(
    "other", [14.1 * (1 + 5e-10), 14.1 * (1 - 5e-10), math.nextafter(14.1, 15)]
)
def test_rounding_is_no_difference(other):
    """What another processor may make of a number is the same number."""
    assert first_difference({"v": [14.1]}, {"v": [other]}) is None


@pytest.mark.parametrize(
    "one", [1e-15, 0, 2.0], ids=["left of rounding", "nothing", "a whole number"]
)
def test_whole_and_no_numbers_are_compared_as_numbers(one):
    """Nothing may be a little less than nothing, and 2.0 may be written 2."""
    other = -1e-15 if one < 1 else 2
    assert first_difference([one], [other]) is None


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (14.1, 14.1 * (1 + 2e-9)),
        (3, 4),
        (1.0, "1.0"),
        (None, 0.0),
        ("12.6 V", "12.7 V"),
        ([1.0], [1.0, 2.0]),
        ({"a": 1.0}, {"b": 1.0}),
    ],
)
def test_everything_else_is_a_difference(one, other):
    """Its place is told."""
    assert first_difference({"x": [0, one]}, {"x": [0, other]}) == "x[1]"
