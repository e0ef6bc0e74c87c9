"""Wrong rules give the numbers that a student with that idea would write down."""

import pytest

from generator.writing.predictions import Misconception, Prediction
from tests.writing.drawn import every_exercise


def asked(drawn):
    """Questions of an exercise by id."""
    return {p.id: p for p in (*drawn.predictions, drawn.verification)}


def rules(prediction):
    """Values of the wrong rules by id."""
    return {m.id: m.value for m in prediction.misconceptions}


def test_control_current_is_volts_over_the_ohms_of_the_sheet():
    """What the help text tells to do lands in the right band."""
    for drawn in every_exercise():
        sheet = {row.quantity: row.value for row in drawn.specification.sheet}
        amps = drawn.specification.nominal.supply_v
        amps /= sheet["Resistance between terminals 85 and 86"]
        low, high = asked(drawn)["coil_current"].band
        assert low < amps < high


def test_load_current_is_the_rating_scaled_to_the_supply():
    """A heater or valve by the ratio of the voltages; a fan lies in its band too."""
    for drawn in every_exercise():
        nominal = drawn.specification.nominal
        amps = nominal.load_rated_a * nominal.supply_v / 13.5
        low, high = asked(drawn)["load_current"].band
        assert low < amps < high


def test_displays_are_currents_times_their_scales():
    """100 mV/A at the control fuse, 10 mV/A at the load fuse."""
    for drawn in every_exercise():
        by_id = asked(drawn)
        for display, current, scale in (
            ("control_display", "coil_current", 0.1),
            ("load_display_after_repair", "load_current", 0.01),
        ):
            assert by_id[display].unit == "V"
            assert by_id[display].value == pytest.approx(by_id[current].value * scale)


def test_wrong_rules_of_the_control_current():
    """Upside down, multiplied, other circuit, and slips of the decimal point."""
    for drawn in every_exercise():
        by_id, nominal = asked(drawn), drawn.specification.nominal
        ohms = nominal.coil_ohm * nominal.suppression_ohm
        ohms /= nominal.coil_ohm + nominal.suppression_ohm
        value = by_id["coil_current"].value
        assert rules(by_id["coil_current"]) == pytest.approx(
            {
                "other_circuit": by_id["load_current"].value,
                "ohms_over_volts": ohms / nominal.supply_v,
                "volts_times_ohms": ohms * nominal.supply_v,
                "milli_lost": value * 1000,
                "ten_times": value * 10,
                "tenth": value / 10,
            }
        )


def test_cold_ohms_are_a_wrong_rule_for_motors_only():
    """A winding or mat follows its ohms, a motor that turns does not."""
    for drawn in every_exercise():
        nominal, found = (
            drawn.specification.nominal,
            rules(asked(drawn)["load_current"]),
        )
        if drawn.specification.family.kind == "fan motor":
            assert found["cold_ohms"] == pytest.approx(
                nominal.supply_v / nominal.load_ohm
            )
        else:
            assert "cold_ohms" not in found


def test_bands_of_wrong_rules_are_as_wide_as_the_right_one():
    """Each in proportion to its own value."""
    for drawn in every_exercise():
        for prediction in asked(drawn).values():
            share = prediction.band[1] / prediction.value
            for wrong in prediction.misconceptions:
                assert wrong.band[1] / wrong.value == pytest.approx(share)
                assert wrong.text.endswith(".")


@pytest.mark.parametrize(
    ("low", "high", "is_clear"),
    [(1.2, 1.3, True), (1.05, 1.2, False), (0.5, 2.0, False)],
)
def test_prediction_is_clear_where_no_band_meets_another(low, high, is_clear):
    """Bands that touch or hold each other are not clear."""
    wrong = Misconception(id="x", value=(low + high) / 2, band=(low, high), text="No.")
    prediction = Prediction(
        id="p",
        label="",
        help="",
        unit="A",
        value=1.0,
        band=(0.9, 1.1),
        misconceptions=(wrong,),
        right="",
        wrong="",
    )
    assert prediction.is_clear is is_clear


def test_answers_are_told_in_the_circuits_own_numbers():
    """Right and wrong both name the expected value with its unit."""
    for drawn in every_exercise():
        for prediction in asked(drawn).values():
            for text in (prediction.right, prediction.wrong):
                assert any(unit in text for unit in (" mA", " A", " mV"))
