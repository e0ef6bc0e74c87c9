"""Numbers stay with their units, and nothing else changes."""

import re
from pathlib import Path

import pytest

import workbook
from workbook.no_break import _UNITS, keep_units


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("14.1 V, ± 5 %", "14.1_V, ±_5_%"),
        ("on the 10 mV/A scale (5 min)", "on the 10_mV/A scale (5_min)"),
        ("BN 0.75 mm² |", "BN 0.75_mm² |"),
        ("2,4 A nach 15 Minuten", "2,4_A nach 15_Minuten"),
        ("<b>680 Ω</b>", "<b>680_Ω</b>"),
    ],
)
def test_a_number_stays_with_its_unit(text, kept):
    assert keep_units(text).replace("\u00a0", "_") == kept


@pytest.mark.parametrize(
    "text",
    ["terminals 30 and 87", "2 Voltmeters", "relay K2 mends", "4 A3 modules", "7 of 9"],
)
def test_words_after_a_number_are_left_alone(text):
    assert keep_units(text) == text


def test_the_page_knows_the_same_units():
    """Its script keeps the numbers of what it draws by an expression of its own."""
    script = Path(workbook.__file__).parent / "page" / "elements.js"
    (units,) = re.findall(r"\(\?=\(\?:(.+)\)\(\?!", script.read_text("utf-8"))
    assert units.replace(r"\/", "/") == _UNITS
