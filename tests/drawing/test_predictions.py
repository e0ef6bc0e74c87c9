"""Wrong rules give the numbers that a student with that idea would write down."""

import re
from dataclasses import replace

import pytest

from generator.drawing.after_repair import verification_of
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.predictions import Prediction, SoundCurrents, new_predictions
from generator.drawing.radical import Radical
from generator.drawing.wrong_rules import WrongNumber, wrong_numbers
from lessons.loader import read_lesson
from tests.circuits import HEATER, VALVE
from tests.drawn import SECRET, exercise, for_every_exercise, has_relay


def asked(drawn):
    """Questions of an exercise by id."""
    return {p.id: p for p in (*drawn.predictions, verification_of(drawn))}


def rules(prediction):
    """Values of the wrong rules by id."""
    return {m.id: m.value for m in prediction.misconceptions}


@for_every_exercise
def test_control_current_is_volts_over_the_ohms_of_the_sheet(radicals):
    """What the help text tells to do lands in the right band."""
    for drawn in map(exercise, filter(has_relay, radicals)):
        sheet = {row.quantity: row.value for row in drawn.specification.sheet}
        amps = drawn.specification.nominal.supply_v
        (degc,) = (v for name, v in sheet.items() if "in all tests" in name)
        warm = 1 + 0.0039 * (degc - 20)
        amps /= sheet["Resistance between terminals 85 and 86"] * warm
        low, high = asked(drawn)["coil_current"].band
        assert low < amps < high


@for_every_exercise
def test_load_current_is_the_rating_scaled_to_the_supply(radicals):
    """A heater or valve by the ratio of the voltages; a fan lies in its band too.

    A valve that stood outside has fewer ohms, besides.
    """
    for drawn in map(exercise, radicals):
        nominal = drawn.specification.nominal
        amps = nominal.load_rated_a * nominal.supply_v / 13.5
        if nominal.is_cold_winding:
            amps /= nominal.load_cold_frac
        low, high = asked(drawn)["load_current"].band
        assert low < amps < high


@for_every_exercise
def test_displays_are_currents_times_their_scales(radicals):
    """100 mV/A at the control fuse, 10 mV/A at the load fuse."""
    for drawn in map(exercise, filter(has_relay, radicals)):
        by_id = asked(drawn)
        again = {"load_current": 0.01, "control_current": 0.1}
        test = by_id["after_repair"].test
        current = {"control_current": "coil_current"}.get(test, test)
        displays = [("control_display", "coil_current", 0.1)]
        if test in again:
            displays.append(("after_repair", current, again[test]))
        for display, current, scale in displays:
            assert by_id[display].unit == "V"
            assert by_id[display].value == pytest.approx(by_id[current].value * scale)


@for_every_exercise
def test_display_behind_a_smart_switch_is_that_of_the_load_fuse(radicals):
    """There is one current, on 10 mV/A; no coil has ohms to be mistaken."""
    for drawn in map(exercise, radicals):
        if drawn.specification.nominal.has_relay:
            continue
        current, display = drawn.predictions
        assert (current.id, display.id) == ("load_current", "load_display")
        assert display.value == pytest.approx(0.01 * current.value)
        assert "coil_ohms_for_load" not in rules(current)
        assert rules(display)["clamp_scale_100"] == pytest.approx(10 * display.value)


@for_every_exercise
def test_wrong_rules_of_the_control_current(radicals):
    """Upside down, multiplied, the other circuit, a limit, a resistor too many."""
    for drawn in map(exercise, filter(has_relay, radicals)):
        by_id, nominal = asked(drawn), drawn.specification.nominal
        ohms = nominal.coil_ohm * nominal.suppression_ohm
        ohms /= nominal.coil_ohm + nominal.suppression_ohm
        found = rules(by_id["coil_current"])
        expected = {
            "load_current_for_coil": by_id["load_current"].value,
            "ohms_over_volts": ohms / nominal.supply_v,
            "volts_times_ohms": ohms * nominal.supply_v,
            "driver_limit_as_current": nominal.driver_limit_a,
            "suppression_in_series": nominal.supply_v
            / (ohms + nominal.suppression_ohm),
            "milliamperes_as_amperes": by_id["coil_current"].value * 1000,
        }
        assert {name: found[name] for name in expected} == pytest.approx(expected)


@for_every_exercise
def test_sum_that_is_told_of_the_control_current_is_right(radicals):
    """Volts over ohms as they stand there, which are those of the sheet; less flows."""
    told = r"([\d.]+) V ÷ ([\d.]+) Ω is (\d+) mA, .* leave about (\d+) mA"
    for drawn in map(exercise, filter(has_relay, radicals)):
        coil = asked(drawn)["coil_current"]
        for text in (coil.right, coil.wrong):
            volts, ohms, found_ma, flows_ma = map(float, re.search(told, text).groups())
            assert found_ma == float(f"{1000 * volts / ohms:.3g}")
            assert flows_ma < found_ma
        nominal, [row, *_others] = (
            drawn.specification.nominal,
            [r for r in drawn.specification.sheet if r.unit == "Ω"],
        )
        assert nominal.coil_degc != 20 or ohms == row.value


def test_ohms_of_the_sheet_are_a_wrong_rule_where_the_coil_is_warm():
    """By hand: 80 Ω at 20 °C are 95 Ω at 70 °C, and with them the current is less."""
    warm = replace(HEATER, coil_ohm=80 * (1 + 0.00393 * 50), coil_degc=70.0)
    warm = replace(warm, suppression_ohm=680.0, supply_v=14.0)
    right_a = 14.0 / warm.coil_ohm + 14.0 / 680.0
    currents = SoundCurrents(
        control=(right_a, (right_a * 0.9, right_a * 1.1)), load=(15.0, (13.0, 17.0))
    )
    coil, *_others = new_predictions(warm, currents)
    expected = 14.0 / 80 + 14.0 / 680.0
    assert rules(coil)["coil_temperature_ignored"] == pytest.approx(expected)
    # 1 ÷ (1/80 + 1/680) and 1 ÷ (1/95.72 + 1/680).
    told = "At 70 °C the 71.6 Ω of the sheet are 83.9 Ω: 14.0 V ÷ 83.9 Ω is 167 mA"
    assert told in coil.right
    assert "0.39 % for each degree" in coil.help
    plain, *_others = new_predictions(HEATER, currents)
    assert "coil_temperature_ignored" not in rules(plain)


OUTSIDE = read_lesson("whole-circuit")


@pytest.mark.parametrize("state", ["cold morning", "after work"])
@pytest.mark.parametrize("family", [family.id for family in OUTSIDE.families])
def test_temperature_decides_and_the_sheet_is_enough(family, state):
    """Without it the coil's number is outside the band; with it both are inside."""
    lesson = OUTSIDE.lesson.model_copy(update={"coil": (state,)})
    radical = Radical(lesson=lesson.id, family=family, fault="contacts_open")
    made = new_exercise(
        replace(OUTSIDE, lesson=lesson), radical, SECRET.value, ("warm", family)
    )
    nominal, by_id = made.specification.nominal, asked(made)
    if nominal.coil_degc == 20:
        assert made.specification.family.needs_heat
        return
    warm = 1 + 0.0039 * (nominal.coil_degc - 20)
    beside = 1 / nominal.suppression_ohm
    with_it = nominal.supply_v * (1 / (nominal.sheet_coil_ohm * warm) + beside)
    without = nominal.supply_v * (1 / nominal.sheet_coil_ohm + beside)
    low, high = by_id["coil_current"].band
    assert low < with_it < high
    assert without < low if nominal.coil_degc < 20 else without > high
    load = nominal.load_rated_a * nominal.supply_v / nominal.rated_v
    if nominal.is_cold_winding:
        load /= warm
        assert "as the coil" in by_id["load_current"].help
        assert f"At {nominal.coil_degc:g} °C its winding" in by_id["load_current"].wrong
    low, high = by_id["load_current"].band
    assert low < load < high


def test_current_of_a_cold_valve_by_its_rating_is_a_wrong_rule():
    """By hand: 3 A at 13.5 V, as if its winding had its ohms of 20 °C.

    Of 4 Ω at 20 °C it has lost 0.8 Ω, and as much of its 4.5 Ω at work.
    """
    warm = replace(VALVE, load_rated_a=3.0, supply_v=14.0, rated_v=13.5, load_ohm=4.0)
    outside = replace(warm, coil_degc=-31.0, load_ohm=3.2, load_cold_frac=0.8)
    currents = SoundCurrents(control=(0.2, (0.18, 0.22)), load=(3.6, (3.4, 3.8)))
    _coil, load, _display = new_predictions(outside, currents)
    found = rules(load)["coil_temperature_ignored"]
    assert found == pytest.approx(3.0 * 14.0 / 13.5)
    told = "At -31 °C its winding has 800 mΩ less than at 20 °C: at work some 3.7 Ω"
    assert told in load.wrong
    assert told in load.right
    _coil, load, _display = new_predictions(warm, currents)
    assert "coil_temperature_ignored" not in rules(load)
    assert "its winding" not in load.wrong


def test_two_rules_that_give_one_number_explain_nothing():
    """12 V for 14 V, and the ohms of 20 °C at -20 °C: who can tell which it was?"""
    right = 0.2, (0.18, 0.22)
    apart = {"nominal_supply": 0.16, "coil_temperature_ignored": 0.172}
    assert {w.id for w in wrong_numbers(right, apart, {})} == {*apart}
    near = {"nominal_supply": 0.168, "coil_temperature_ignored": 0.170}
    assert not wrong_numbers(right, near, {})


@for_every_exercise
def test_wrong_rules_of_the_load_current(radicals):
    """The coil's ohms, the fuse's rating, and watts instead of amperes."""
    for drawn in map(exercise, filter(has_relay, radicals)):
        by_id, nominal = asked(drawn), drawn.specification.nominal
        found = rules(by_id["load_current"])
        expected = {
            "coil_ohms_for_load": by_id["coil_current"].value,
            "fuse_rating_as_current": nominal.load_fuse_rating_a,
            "power_for_current": nominal.supply_v * nominal.load_rated_a,
        }
        assert {name: found[name] for name in expected} == pytest.approx(expected)


@for_every_exercise
def test_cold_ohms_are_a_wrong_rule_for_motors_only(radicals):
    """A winding or mat follows its ohms, a motor that turns does not."""
    for drawn in map(exercise, radicals):
        nominal, by_id = drawn.specification.nominal, asked(drawn)
        found = rules(by_id["load_current"])
        if drawn.specification.family.kind == "fan motor":
            cold_a = nominal.supply_v / nominal.load_ohm
            assert found["cold_motor"] == pytest.approx(cold_a)
            if by_id["after_repair"].test == "load_current":
                shown = rules(by_id["after_repair"])
                assert shown["cold_motor"] == pytest.approx(cold_a * 0.01)
        else:
            assert "cold_motor" not in found


@for_every_exercise
def test_twelve_volts_are_a_wrong_rule_where_their_number_is_not_right(radicals):
    """On a charging supply 12 V gives too little, if the band does not reach there."""
    for drawn in map(exercise, radicals):
        for prediction in asked(drawn).values():
            for wrong in prediction.misconceptions:
                if wrong.id == "nominal_supply":
                    assert wrong.band[1] < prediction.band[0]


@for_every_exercise
def test_bands_of_wrong_rules_are_those_of_rounding_or_of_the_right_one(radicals):
    """Three in a hundred about a sum of its own; a slip moves the whole right band."""
    for drawn in map(exercise, radicals):
        for prediction in asked(drawn).values():
            for wrong in prediction.misconceptions:
                share = prediction.band[1] / prediction.value
                reach = wrong.band[1] / wrong.value
                assert reach in (pytest.approx(1.03), pytest.approx(share))
                assert wrong.text.endswith(".")


@pytest.mark.parametrize(
    ("low", "high", "is_clear"),
    [(1.2, 1.3, True), (1.05, 1.2, False), (0.5, 2.0, False)],
)
def test_prediction_is_clear_where_no_band_meets_another(low, high, is_clear):
    """Bands that touch or hold each other are not clear."""
    wrong = WrongNumber(id="tenth", value=(low + high) / 2, band=(low, high))
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


def test_slip_that_a_thought_explains_too_is_left_out():
    """A rule of thought comes first where both give one number."""
    thought = {"fuse_rating_as_current": 10.2, "clamp_scale_1": 0.5}
    found = wrong_numbers((1.0, (0.9, 1.1)), thought, {"ten_times": 10.0, "tenth": 0.1})
    assert [wrong.id for wrong in found] == [*thought, "tenth"]


@for_every_exercise
def test_answers_are_told_in_the_circuits_own_numbers(radicals):
    """Right and wrong both name the expected value with its unit."""
    for drawn in map(exercise, radicals):
        for prediction in asked(drawn).values():
            for text in (prediction.right, prediction.wrong):
                assert any(unit in text for unit in (" mA", " A", " mV", " V"))
