"""Numbers as students type them."""

import re
from contextlib import suppress
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook.errors import QuantityError
from workbook.number_text import quantity_text
from workbook.quantities import Ambiguous, read_quantity

PINT = pint.UnitRegistry()
UNITS = {"A": "A", "V": "V", "Ω": "Ω"}
PREFIX_NAMES = (*"fpnuµmcdhkMGT", "da", "milli", "kilo", "micro", "mega")
PREFIXES = {"": 0, "m": -3, "µ": -6, "k": 3}


@pytest.mark.parametrize(
    ("raw", "unit", "value"),
    [
        ("12.5 A", "A", 12.5),
        ("12,5 A", "A", 12.5),
        ("350 mA", "A", 0.35),
        ("0,165A", "A", 0.165),
        ("0.165 A", "A", 0.165),
        ("12 500 mA", "A", 12.5),
        ("12\u00a0500\u202fmA", "A", 12.5),
        ("1.2e-3 A", "A", 0.0012),
        ("\u221216,4 mV", "V", -0.0164),
        ("+.5 V", "V", 0.5),
        ("4k7", "Ω", 4700.0),
        ("4R7 Ω", "Ω", 4.7),
        ("85 ohms", "Ω", 85.0),
        ("85 \u2126", "Ω", 85.0),
        ("5 Amps", "A", 5.0),
        ("3 \u03bcV", "V", 3e-6),
        ("1 234,567 A", "A", 1234.567),
        ("0 A", "A", 0.0),
        ("12.3 V / 78.3 Ω", "A", 123 / 783),
        ("14.1/80 A", "A", 0.17625),
        ("14,1 V : 80 Ω", "A", 0.17625),
        ("(13.9 V - 0,4 V) / (84 Ω + 6 Ω)", "A", 0.15),
        ("100 mV/A × 163 mA", "V", 0.0163),
        ("2 * (3 + 4) A", "A", 14.0),
        ("0.17 A + 250 mA", "A", 0.42),
        ("12 V / 0.16 A", "Ω", 75.0),
        ("1.5 h - 10 min", "min", 80.0),
        ("-(3 A)", "A", -3.0),
    ],
)
def test_spelling_is_read(raw, unit, value):
    """Every spelling that the grammar allows gives its value to the last bit."""
    read = read_quantity(raw, unit)
    assert (read.raw, read.value, read.unit) == (raw, value, unit)


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        ("", "Write a number with its unit"),
        ("85", "Write the unit too"),
        ("12.5 V", "“V” is not a unit of current"),
        ("12 NaN", "“NaN” is not a unit of current"),  # found by fuzzing
        ("12.5 a", "Capital and small letters count"),
        ("4k7", "is a way to write resistances, which"),
        ("1.234,5 A", "more than one point or comma"),
        ("12 50 A", "groups of three digits"),
        ("nan A", "cannot be read"),
        ("inf A", "cannot be read"),
        ("\u0663 A", "cannot be read"),
        ("1e99 A", "far outside"),
        ("1" * 81, "81 characters"),
        ("__import__('os') A", "cannot be read"),
        ("5 dBm", "is not a unit of current"),
        ("12 / 5", "Write the unit too"),
        ("12 V / 5", "comes out in V, and A is asked for"),
        ("12 V * 5 V", "does not come out in A"),
        ("12 V / (3 A - 3 A)", "divided by zero"),
        ("12 V / 3 W", "“W” is no unit"),
        ("2 A + 3", "one unit can be added"),
        ("1,234 V / 80 Ω", "two ways: write 1,2340 or 1234"),
        ("142-183 mA", "each number with its unit"),
        ("(12 V / 80 Ω", "not complete"),
        ("9**9 A", "does not fit where it stands"),
        ("12 V ÷÷ 80 Ω", "“÷” does not fit where it stands"),
        (
            "12 V : 80\u00a0§",
            "“12 V : 80\u00a0§” cannot be read as a number with a unit",
        ),
        ("(" * 5 + "1 A" + ")" * 5, "too many brackets"),
    ],
)
def test_unreadable_text_is_refused_with_a_reason(raw, says):
    """What cannot be read is refused in a sentence, with the raw text kept."""
    with pytest.raises(QuantityError, match=says) as caught:
        read_quantity(raw, "A")
    assert caught.value.raw == raw


@pytest.mark.parametrize("unit", ["ampere", "A", "amp", "volt", "V", "ohm"])
def test_prefixes_are_those_of_the_si(unit):
    """Names and signs of prefixes give what pint's own, whole list of units gives."""
    asked = {"a": "A", "v": "V", "o": "Ω"}[unit[0].lower()]
    for prefix in PREFIX_NAMES:
        one = PINT.Quantity(1, f"{prefix}{unit}").to(asked).magnitude
        if abs(one) >= 1e-12:
            read = read_quantity(f"1 {prefix}{unit}", asked)
            if isinstance(read, Ambiguous):
                assert prefix == "M"
                read = read_quantity(read.readings[-1], asked)
            assert read.value == pytest.approx(one, rel=1e-12)


@pytest.mark.parametrize("unit", list(UNITS))
def test_capital_m_is_asked_back(unit):
    """It is mega, which no circuit here has, and was mostly meant for milli."""
    asked = read_quantity(f"1,7 M{unit}", unit)
    assert asked.readings == (f"1,7 m{unit}", f"1700000 {unit}")
    milli, mega = (read_quantity(text, unit).value for text in asked.readings)
    assert (milli, mega) == (0.0017, 1.7e6)


@pytest.mark.parametrize(
    ("raw", "unit", "is_doubtful"),
    [("999 A", "A", False), ("-1.2 kA", "A", True), ("3 h", "min", False)],
)
def test_what_no_circuit_carries_is_doubtful(raw, unit, is_doubtful):
    """A battery gives no more when it is shorted."""
    assert read_quantity(raw, unit).is_doubtful == is_doubtful


@given(
    numbers=st.lists(st.integers(1, 999), min_size=2, max_size=5),
    signs=st.lists(st.sampled_from("+-*/"), min_size=4, max_size=4),
)
def test_sum_is_worked_out_as_arithmetic_has_it(numbers, signs):
    """Products before sums, from left to right, to the last bit."""
    plain = str(numbers[0])
    for sign, number in zip(signs, numbers[1:], strict=False):
        plain += f" {sign} {number}"
    typed = re.sub(r"(?<![*/] )\b(\d+)", r"\1 A", plain)
    exact = eval(re.sub(r"(\d+)", r"Fraction(\1)", plain), {"Fraction": Fraction})
    if exact == 0 or abs(exact) >= 1e-12:
        assert read_quantity(typed, "A").value == float(exact)


@pytest.mark.parametrize("raw", ["1,234 A", "1.234 A"])
def test_possible_thousands_are_asked(raw):
    """Three digits after a single mark can be read in two ways."""
    asked = read_quantity(raw, "A")
    assert asked == Ambiguous(raw=raw, readings=("1.2340 A", "1234 A"))


@given(whole=st.integers(1, 999), rest=st.integers(0, 999), mark=st.sampled_from(".,"))
def test_readings_offered_are_not_ambiguous(whole, rest, mark):
    """Both readings offered are read, and as different numbers."""
    asked = read_quantity(f"{whole}{mark}{rest:03} mA", "A")
    first, second = (read_quantity(text, "A").value for text in asked.readings)
    assert first == pytest.approx((whole + rest / 1000) / 1000)
    assert second == pytest.approx((whole * 1000 + rest) / 1000)


@given(
    thousandths=st.integers(-(10**9), 10**9),
    unit=st.sampled_from(list(UNITS)),
    prefix=st.sampled_from(list(PREFIXES)),
    mark=st.sampled_from(".,"),
    minus=st.sampled_from("-\u2212"),
    gap=st.sampled_from(["", " ", "\u00a0", "\u2009", "\u202f"]),
    is_grouped=st.booleans(),
)
def test_every_spelling_round_trips(
    thousandths, unit, prefix, mark, minus, gap, is_grouped
):
    """However a number is spelt, the same number comes out."""
    whole, rest = divmod(abs(thousandths), 1000)
    digits = f"{whole:,}".replace(",", gap or " ") if is_grouped else str(whole)
    sign = minus if thousandths < 0 else ""
    raw = f"{sign}{digits}{mark}{rest:03}0{gap}{prefix}{unit}"
    expected = float(f"{thousandths}e{PREFIXES[prefix] - 3}")
    assert read_quantity(raw, unit).value == expected


# From a million on a capital M would be written, which is asked back.
@given(value=st.floats(1e-9, 999_999.0), unit=st.sampled_from(list(UNITS)))
def test_text_written_is_read_back(value, unit):
    """What the echo shows is the value that is recorded."""
    text = quantity_text(value, unit)
    read = read_quantity(text, unit)
    if isinstance(read, Ambiguous):
        read = read_quantity(read.readings[0], unit)
    assert read.value == value


@given(raw=st.text(max_size=50), unit=st.sampled_from(list(UNITS)))
def test_any_text_is_read_asked_or_refused(raw, unit):
    """No text makes anything else than a number, a question or a refusal."""
    with suppress(QuantityError):
        assert read_quantity(raw, unit).raw == raw
