"""Logs, shares, fuse millivolts and sensed currents: right by hand."""

import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.drawing.stream import Stream
from generator.model.fuses import COLD_OHM
from generator.model.instruments import CLAMP_100
from generator.questions.asked import questions_of
from generator.questions.shares import share_questions
from lessons.loader import read_lesson
from tests.drawn import SECRET

BOOK = read_lesson("whole-circuit")
SIZE = {"": 1.0, "m": 1e-3, "k": 1e3, "µ": 1e-6}
AMOUNT = r"([\d.]+) ([mkµ]?)"


@cache
def drawn():
    """One circuit, asked in every way at its fuses."""
    radical = Radical(lesson=BOOK.lesson.id, family="tiller-lights", fault="load_open")
    return new_exercise(BOOK, radical, SECRET.value, ("s01", "at the fuse"))


@cache
def asked_often(kind):
    """Its questions of a kind by id, many times over."""
    return [
        {
            each.id: each
            for each in questions_of(
                replace(
                    drawn(),
                    radical=replace(drawn().radical, kind=kind),
                    question_key=number.to_bytes(2),
                )
            )
        }
        for number in range(60)
    ]


def right(question):
    """The words of the right option."""
    [option] = question.right
    return option.label


def amounts(text, unit):
    """Every amount of a unit in a text, in that unit."""
    return [
        float(n) * SIZE[p] for n, p in re.findall(rf"{AMOUNT}{unit}(?![a-zA-Z/])", text)
    ]


def is_near(question, value):
    """Whether a value counts as right."""
    low, high = question.number.band
    return low <= value <= high


def coil_a():
    """Supply over coil and resistor side by side."""
    nominal = drawn().specification.nominal
    return nominal.supply_v * (1 / nominal.coil_ohm + 1 / nominal.suppression_ohm)


def test_mean_and_days_follow_from_the_log():
    """Each step counts with its length; half the ampere-hours over that mean and 24."""
    seen = set()
    for asked in asked_often("logs"):
        alt = asked["rest_mean"].picture.alt
        levels = amounts(alt, "A")
        starts = [0.0]
        corners = re.search(r"Steps after ([\d., ]+) min", alt)
        starts += [float(n) for n in corners[1].split(",")] if corners else []
        lengths = [b - a for a, b in zip(starts, [*starts[1:], 60.0], strict=True)]
        mean = sum(a * t for a, t in zip(levels, lengths, strict=True)) / 60
        assert is_near(asked["rest_mean"], mean)
        capacity = float(re.search(r"its (\d+) Ah", asked["days_left"].label)[1])
        assert is_near(asked["days_left"], capacity / 2 / mean / 24)
        verdict = right(asked["log_verdict"])
        excess = min(levels) - 0.025
        if verdict.startswith("Nothing"):
            assert max(levels) < 0.05
        elif verdict.startswith("A relay"):
            assert excess == pytest.approx(coil_a(), rel=0.15)
        elif verdict.startswith("A module"):
            assert excess > 2.5 * coil_a()
        else:
            assert len(levels) > 6
        seen.add(verdict)
    assert len(seen) == 4


def test_vehicle_sleeps_where_the_log_comes_down_to_milliamperes():
    """The last step of the log, as told in words, is the time that is asked for."""
    for asked in asked_often("logs"):
        alt = asked["sleep_min"].picture.alt
        last = float(re.search(r"Steps after \d+, (\d+) min", alt)[1])
        assert asked["sleep_min"].number.value == last
        assert amounts(alt, "A")[-1] < 0.05


def test_fuse_that_feeds_the_excess_is_the_one_of_the_largest_step():
    """Levels before and after each fuse, as told in words."""
    seen = set()
    for asked in asked_often("logs"):
        question = asked["excess_fuse"]
        levels = amounts(question.picture.alt, "A")
        falls = [a - b for a, b in pairwise(levels)]
        order = re.findall(r"(F\d+) after", question.help)
        assert right(question) == order[falls.index(max(falls))]
        seen.add(right(question))
    assert len(seen) == 4


def test_coil_is_the_difference_with_both_uncertainties():
    """On less off over the scale; squares add; and three readings decide."""
    seen = set()
    for asked in asked_often("shares"):
        off, on = amounts(asked["coil_share"].label.partition("100 mV/A")[2], "V")
        share_a = (on - off) / CLAMP_100.scale_v_per_a
        assert is_near(asked["coil_share"], share_a)
        assert share_a == pytest.approx(coil_a(), rel=0.02)
        first, second = amounts(asked["share_uncertainty"].label, "A")
        assert is_near(asked["share_uncertainty"], (first**2 + second**2) ** 0.5)
        text = asked["share_verdict"].label
        shown = amounts(text.partition("mV/A: ")[2].partition("The sheet")[0], "V")
        scale = float(re.search(r"(\d+) mV/A", text)[1]) * 1e-3
        off_a, on_a, again_a = (volts / scale for volts in shown)
        verdict = right(asked["share_verdict"])
        if verdict.startswith("The coil draws its"):
            assert on_a - off_a == pytest.approx(coil_a(), rel=0.1)
            assert again_a == pytest.approx(off_a, abs=0.01)
        elif verdict == "The coil draws nothing":
            assert max(shown) - min(shown) < 0.1 * coil_a() * scale
        elif verdict.startswith("Another"):
            assert again_a - off_a > 2 * coil_a()
        else:
            assert 0.01 * off_a > coil_a()
            # Nor may its own step stand there, up and down.
            assert on_a - off_a > 1.5 * coil_a()
            assert again_a == pytest.approx(off_a, abs=0.03)
        seen.add(verdict)
    assert len(seen) == 4


def test_coil_is_told_from_the_own_current_of_its_module_at_its_ground():
    """On the low side, at the fuse or at the module's ground; there some flows always.

    Behind a high-side driver the coil's current never comes back through the module.
    """
    low = [asked["coil_share"] for asked in asked_often("shares")]
    at_ground = ["module's ground wire" in asked.label for asked in low]
    assert {*at_ground} == {True, False}
    for asked in low:
        off, _on = amounts(asked.label.partition("100 mV/A")[2], "V")
        assert off / CLAMP_100.scale_v_per_a > 0.3
    specification = drawn().specification
    nominal = replace(specification.nominal, is_high_side=True)
    high = replace(specification, nominal=nominal)
    for number in range(8):
        asked, *_others = share_questions(high, Stream(bytes(32), number))
        assert "ground" not in asked.label


def test_equal_loads_and_trailers_are_counted_by_their_share():
    """So many of so many, and what the plug adds."""
    seen = set()
    for asked in asked_often("shares"):
        text = asked["shares_out"].label
        count = int(text.split(" ")[0])
        [together], [volts] = amounts(text, "A"), amounts(text.split("shows")[1], "V")
        out = round(count * (1 - volts / 0.01 / together))
        assert right(asked["shares_out"]) == ("None", "One", "Two")[out]
        seen.add(out)
        text = asked["trailer_share"].label
        [own], [volts] = amounts(text, "A"), amounts(text.split("shows")[1], "V")[:1]
        assert is_near(asked["trailer_share"], volts / 0.01 - own)
    assert seen == {0, 1, 2}


def test_fuse_current_is_drop_over_the_ohms_of_its_row():
    """By the table in the question itself, and 15 % more at the most."""
    seen = set()
    for asked in asked_often("millivolts"):
        question = asked["fuse_current"]
        table = dict(re.findall(r"([\d.]+) A ([\d.]+) mΩ", question.help))
        rating = re.search(r"fuse of ([\d.]+) A", question.label)[1]
        [volts] = amounts(question.label, "V")
        current_a = volts / float(table[rating]) * 1000
        assert is_near(question, current_a)
        assert is_near(asked["fuse_current_most"], current_a / 0.85)
        assert current_a < 0.65 * float(rating)
        seen.add(right(asked["drop_verdict"]))
    assert len(seen) == 3


def test_tables_of_fuses_are_those_that_were_published():
    """1 mV is 130 mA at a standard fuse of 10 A, and 218 mA at a small one of 15 A.

    mvwautotechniek.nl, "Voltage drop over fuses"; MACS Service Reports, June 2017,
    which has 22 mA for 0.1 mV. The others are from memory; a fuse drops some 50 to
    100 mV at its rating (common practice, no source).
    """
    assert 1e-3 / COLD_OHM["standard"][10.0] == pytest.approx(0.130, rel=0.01)
    assert 1e-3 / COLD_OHM["small"][15.0] == pytest.approx(0.218, rel=0.01)
    assert 1e-4 / COLD_OHM["small"][15.0] == pytest.approx(0.022, rel=0.02)
    for table in COLD_OHM.values():
        drops = [rating * ohm for rating, ohm in table.items()]
        assert all(0.05 < drop_v < 0.1 for drop_v in drops)
        assert list(table.values()) == sorted(table.values(), reverse=True)


def test_sensed_current_is_the_ratio_times_volts_over_ohms():
    """Both ways, by the figures in the question."""
    for asked in asked_often("switches"):
        question = asked["sensed_current"]
        ratio = float(re.search(r"is (\d+) times", question.help)[1])
        [volts] = amounts(question.label, "V")
        assert is_near(question, volts / 1000 * ratio)
        [amperes] = amounts(asked["sense_voltage"].label, "A")
        assert is_near(asked["sense_voltage"], amperes / ratio * 1000)


def test_command_output_and_current_decide_together():
    """Each state has its own values, and none of them fits another."""
    words = {"state": set(), "belief": set()}
    for asked in asked_often("switches"):
        text, verdict = asked["switch_state"].label, right(asked["switch_state"])
        [current_a, _sheet_a] = amounts(text, "A")
        is_on, works = "command on" in text, "The load works" in text
        output_v = amounts(text, "V")[0]
        expected = {
            (True, True): "The load draws",
            (True, False): "The path" if output_v > 1 else "It was",
            (False, True): "Something else",
        }[is_on, works]
        assert verdict.startswith(expected)
        assert (current_a > 1) == verdict.startswith("The load draws")
        words["state"].add(verdict)
        text, verdict = asked["switch_belief"].label, right(asked["switch_belief"])
        reported_a, sheet_a = amounts(text, "A")
        fuse_v, plug_v = amounts(text.partition("shows")[2], "V")
        leaks = fuse_v > 1.1 * plug_v
        assert leaks == verdict.startswith("Current flows")
        is_wrong = not leaks and reported_a < 0.5 * sheet_a
        assert is_wrong == verdict.startswith("The module's own")
        words["belief"].add(verdict)
    assert (len(words["state"]), len(words["belief"])) == (4, 3)
