"""Currents in time: what is right follows from the circuit, by hand and model."""

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.drawing.stream import Stream
from generator.model.parts import running_emf
from generator.model.solving import solve
from generator.questions.asked import questions_of
from generator.questions.load_traces import pulse_questions, series_ohm
from generator.questions.pulled import coil_at_fuse
from lessons.loader import read_lesson
from tests.drawn import SECRET

BOOK = read_lesson("current-shape")
FAULTS = {"tiller-lock": "contacts_open", "tiller-lights": "load_open"}
FAMILIES = [family.id for family in BOOK.families]


@cache
def drawn(family):
    """One circuit of a family, to be asked about its traces."""
    fault = FAULTS.get(family, "load_open")
    radical = Radical(lesson=BOOK.lesson.id, family=family, fault=fault, kind="traces")
    return new_exercise(BOOK, radical, SECRET.value, (family, "traces"))


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
        for number in range(40)
    ]


def right(question):
    """The words of the right option."""
    [option] = question.right
    return option.label


def points(question):
    """Times and readings that the picture is told by: seconds and volts."""
    size = {"": 1.0, "m": 1e-3, "µ": 1e-6}
    rows = [
        (time.split(" "), value.split(" ")) for time, value, _ in question.picture.rows
    ]
    return np.array(
        [
            (float(t) * size[tu[:-1]], float(v) * size[vu[:-1]])
            for (t, tu), (v, vu) in rows
        ]
    )


@pytest.mark.parametrize("family", FAMILIES)
def test_coil_settles_at_the_current_of_the_network(family):
    """Supply over coil and resistor in parallel, as the solved circuit has it."""
    specification = drawn(family).specification
    trace, arrived_s = coil_at_fuse(specification.nominal, stays=False)
    current = solve(drawn(family).sound_network).current_a
    wanted = current["control_fuse"]
    assert trace.final_a == pytest.approx(wanted, rel=0.1)
    assert 5e-4 < arrived_s < 6e-3


@pytest.mark.parametrize("family", FAMILIES)
def test_dip_is_there_where_the_armature_moves_and_nowhere_else(family):
    """Whoever reads the points alone sees the dip, or the low current."""
    nominal = drawn(family).specification.nominal
    sound_a = coil_at_fuse(nominal, stays=True)[0].final_a
    seen = set()
    for asked in asked_often(family):
        readings = points(asked["coil_settled"])[:, 1]
        verdict = right(asked["coil_verdict"])
        assert bool((np.diff(readings) < 0).any()) == verdict.startswith("It moves")
        is_low = asked["coil_settled"].number.value < 0.6 * sound_a
        assert is_low == verdict.startswith("It has too little")
        seen.add(verdict)
    assert len(seen) == 3


def heights_of(svg):
    """Tops of the humps of a drawn curve, from the top of its picture [px]."""
    points = max(re.findall(r'd="M([^"M]*)"', svg), key=len).split(" L")
    y = [float(point.split()[1]) for point in points]
    flat = [one for n, one in enumerate(y) if n == 0 or one != y[n - 1]]
    return [b for a, b, c in zip(flat, flat[1:], flat[2:], strict=False) if a > b < c]


@pytest.mark.parametrize("family", ["cooler-fan", "transfer-pump"])
def test_speed_is_that_of_the_counted_ripples(family):
    """60 × ripples ÷ time ÷ bars, as told in words beside the picture."""
    seen = set()
    for asked in asked_often(family):
        if "motor_speed" not in asked:
            continue
        speed = asked["motor_speed"]
        count, time, unit = re.search(
            r"there are (\d+) ripples in ([\d.]+) (m?s)", speed.picture.alt
        ).groups()
        seconds = float(time) * (1e-3 if unit == "ms" else 1.0)
        bars = int(re.search(r"has (\d+) bars", speed.label)[1])
        low, high = speed.number.band
        assert low < 60 * int(count) / seconds / bars < high
        assert 800 < speed.number.value < 6000
        deep = re.search(r"dip deeply: ([\d, ]+)", speed.picture.alt)
        numbers = [int(n) for n in deep[1].split(",")] if deep else []
        apart = set(np.diff(numbers).tolist())
        verdict = right(asked["ripple_verdict"])
        heights = heights_of(speed.picture.svg)
        if verdict == "All bars make good contact":
            assert not numbers
            assert max(heights) - min(heights) <= 2
        elif verdict == "The brushes press unevenly":
            assert not numbers
            assert max(heights) - min(heights) > 20
            assert len(heights) in (int(count) - 1, int(count), int(count) + 1)
        elif verdict == "One bar makes a bad contact":
            assert apart == {bars // 2}
        else:
            assert len(apart) == len(numbers) - 1 > 1
        seen.add(verdict)
    assert len(seen) == 4


@pytest.mark.parametrize("family", ["cooler-fan", "transfer-pump"])
def test_start_falls_to_the_running_current_or_stays(family):
    """Peak near stall; the end at the running current, above it, or at the peak."""
    nominal = drawn(family).specification.nominal
    ohm = np.array(series_ohm(nominal) + nominal.load_ohm)
    emf_v = running_emf(
        np.array(nominal.supply_v),
        ohm,
        np.array(nominal.motor_constant_vs),
        (np.array(nominal.fan_nms2), np.array(nominal.friction_nm)),
    )
    running_a = float((nominal.supply_v - emf_v) / ohm)
    seen = set()
    for asked in asked_often(family):
        if "load_peak" not in asked:
            continue
        end_a, peak_a = (
            asked[id_].number.value for id_ in ("load_settled", "load_peak")
        )
        assert 0.85 * nominal.supply_v / ohm < peak_a < 1.01 * nominal.supply_v / ohm
        verdict = right(asked["load_verdict"])
        if verdict.startswith("It runs"):
            assert end_a == pytest.approx(running_a, rel=0.08)
        elif verdict.startswith("It stands"):
            assert end_a == pytest.approx(peak_a, rel=0.02)
        else:
            assert 1.5 * running_a < end_a < 0.8 * peak_a
        seen.add(verdict)
    assert len(seen) == 3


def test_each_lamp_takes_an_equal_share():
    """With one of four out three quarters flow, and a little more for the wires."""
    settled_a = {}
    for asked in asked_often("tiller-lights"):
        settled_a[right(asked["load_count"])] = asked["load_settled"].number.value
    assert settled_a["One"] / settled_a["None"] == pytest.approx(0.75, rel=0.03)
    assert settled_a["Two"] / settled_a["None"] == pytest.approx(0.5, rel=0.05)


def test_mean_of_pulses_is_that_of_the_sheet():
    """Current while on times the share of the time; by the sheet the rated current."""
    nominal = drawn("oil-heater").specification.nominal
    rated_a = nominal.load_rated_a * nominal.supply_v / nominal.rated_v
    seen = set()
    for asked in asked_often("oil-heater"):
        mean, peak = (asked[id_].number.value for id_ in ("load_mean", "load_peak"))
        verdict = right(asked["load_duty"])
        if verdict.startswith("On as long"):
            assert mean == pytest.approx(rated_a, rel=0.12)
        assert 0.2 < mean / peak < 0.99
        seen.add(verdict)
    assert len(seen) == 3


@pytest.mark.parametrize("duty_frac", [0.55, 0.68, 0.70, 0.9, 0.98])
def test_pulses_pause_in_every_period(duty_frac):
    """Nobody is shown a load that is on for more than the whole of the time."""
    specification = drawn("oil-heater").specification
    nominal = replace(specification.nominal, duty_frac=duty_frac)
    pulsed = replace(specification, nominal=nominal)
    for number in range(30):
        peak, mean, _verdict = pulse_questions(pulsed, Stream(bytes(32), number))
        share = mean.number.value / peak.number.value
        assert share < 0.995


def test_valve_is_told_from_its_load_fuse():
    """Its own dip, its own current: as the coil's, hundreds of times slower."""
    for asked in asked_often("tiller-lock"):
        readings = points(asked["load_settled"])
        moves = right(asked["load_verdict"]).startswith("It moves")
        assert bool((np.diff(readings[:, 1]) < 0).any()) == moves
        assert readings[-1, 0] > 0.1


def test_pulses_are_those_of_a_heater_that_is_warm():
    """Supply over the path's ohms, the heater's as its rated current gives them."""
    specification = drawn("oil-heater").specification
    nominal = specification.nominal
    hot_ohm = nominal.rated_v / nominal.load_rated_a * nominal.duty_frac
    by_hand_a = nominal.supply_v / (hot_ohm + series_ohm(nominal))
    peak, *_others = pulse_questions(specification, Stream(bytes(32), 0))
    assert peak.number.value == pytest.approx(by_hand_a, rel=0.005)
