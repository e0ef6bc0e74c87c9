"""A load that its switch pulses: right by a square wave, and told apart surely."""

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.instruments import CLAMP_10, VOLTMETER
from generator.model.variant import Variant
from generator.questions.asked import questions_of
from generator.questions.pulse_width import PULSE_SIGNS
from lessons.loader import read_lesson
from tests.drawn import SECRET

BOOK = read_lesson("smart-switches")
HEATER = "windscreen-heater"
NUMBERS = {"pulse_current", "pulse_voltage", "pulse_heating"}
WELL, STAYS_ON, LITTLE, SENSE = PULSE_SIGNS


@cache
def drawn(family):
    """One circuit of a family behind a smart switch."""
    radical = Radical(
        lesson=BOOK.lesson.id,
        family=family,
        fault="load_wire_open",
        kind="switches",
        variant=Variant(switch="smart"),
    )
    return new_exercise(BOOK, radical, SECRET.value, (family, "pulse width"))


@cache
def asked_often(family):
    """Its questions by id, many times over."""
    return [
        {
            each.id: each
            for each in questions_of(
                replace(drawn(family), question_key=number.to_bytes(2))
            )
        }
        for number in range(60)
    ]


def numbers_in(question, *patterns):
    """What stands in the words of a question, a number for each pattern."""
    return [float(re.search(pattern, question.label)[1]) for pattern in patterns]


def square_wave(high, share_frac):
    """A period in ten thousand steps, on for a share of them."""
    return np.where(np.arange(10_000) < round(10_000 * share_frac), high, 0.0)


def test_numbers_are_those_of_a_square_wave():
    """Summed up step by step: the mean of current and voltage, the root of squares."""
    seen = set()
    for asked in asked_often(HEATER):
        for id_ in NUMBERS & asked.keys():
            question = asked[id_]
            percent, high = numbers_in(
                question, r"command (\d+) %", r"(?:while on|supply) ([\d.]+) [AV]"
            )
            wave = square_wave(high, percent / 100)
            found = np.sqrt((wave**2).mean()) if id_ == "pulse_heating" else wave.mean()
            assert question.number.value == pytest.approx(found, rel=0.003)
            seen.add(id_)
    assert seen == NUMBERS


def test_heater_is_asked_of_pulses_and_of_its_switch():
    """Five questions: one number and one verdict of the switch, three of the pulses."""
    for asked in asked_often(HEATER):
        assert len(asked) == 5
        assert len(NUMBERS & asked.keys()) == 2
        assert len({"sensed_current", "sense_voltage"} & asked.keys()) == 1
        assert len({"switch_state", "switch_belief"} & asked.keys()) == 1
        assert "switch_pulses" in asked


@pytest.mark.parametrize("family", ["cab-blower", "crane-lights", "seat-heater"])
def test_motor_lamps_and_regulated_mat_are_not_asked_of_pulses(family):
    """Current goes on in the pauses, or changes with the share; the mat has its own."""
    for asked in asked_often(family):
        assert not (NUMBERS | {"switch_pulses"}) & asked.keys()
        assert len(asked) == 4


def readings(question):
    """What the verdict is to be found from, in amperes and volts, the share apart."""
    percent, *rest = numbers_in(
        question,
        r"command (\d+) %",
        r"current while on ([\d.]+) A",
        r"shows ([\d.]+) mV",
        r"voltmeter ([\d.]+) V",
        r"supply is ([\d.]+) V",
        r"draws ([\d.]+) A while on",
    )
    module_a, clamp_mv, output_v, supply_v, sheet_a = rest
    return percent / 100, module_a, clamp_mv / 10, output_v, supply_v, sheet_a


def word(low, high):
    """Right, low or high, of a ratio that is one of them wherever it lies."""
    assert high < 0.75 or 0.9 < low <= high < 1.1 or low > 1.3
    return "low" if high < 0.75 else "high" if low > 1.3 else "right"


def test_verdict_follows_from_what_is_shown_whatever_the_errors():
    """Module, clamp and voltmeter by their limits: each case has words of its own."""
    cases = {
        ("right", "right", "right"): WELL,
        ("right", "high", "high"): STAYS_ON,
        ("low", "low", "right"): LITTLE,
        ("low", "right", "right"): SENSE,
    }
    seen = set()
    for asked in asked_often(HEATER):
        question = asked["switch_pulses"]
        share, module_a, clamp_a, output_v, supply_v, sheet_a = readings(question)
        clamp, volts = CLAMP_10.limit(clamp_a), VOLTMETER.limit(output_v)
        found = (
            word(module_a / sheet_a, module_a / sheet_a),
            word(*((clamp_a + e) / share / sheet_a for e in (-clamp, clamp))),
            word(*((output_v + e) / share / supply_v for e in (-volts, volts))),
        )
        [right] = question.right
        assert right.label == cases[found]
        seen.add(right.label)
    assert seen == set(PULSE_SIGNS)


def test_verdict_gives_no_number_away():
    """Its own share is another than the numbers are asked of."""
    for asked in asked_often(HEATER):
        share = readings(asked["switch_pulses"])[0]
        for id_ in NUMBERS & asked.keys():
            assert f"command {100 * share:.0f} %" not in asked[id_].label
