"""The proof of every exercise holds, for every fault of every family."""

from dataclasses import replace
from itertools import pairwise

import pytest

from generator.drawing import exercise_draw as exercise_module
from generator.drawing.after_repair import verification_of
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.drawing.stream import Stream
from generator.errors import DrawError
from generator.model.diagnostics import PROVES_NOTHING, outcomes, readings
from generator.model.steps import InSteps
from lessons.loader import read_lesson
from tests.drawn import (
    BOOK,
    IDENTITY,
    RADICALS,
    SECRET,
    exercise,
    for_each_radical,
    for_every_exercise,
    key,
    page,
)
from tests.keys import key_content_of, page_content_of, plan_of
from workbook.texts import ENGLISH, LANGUAGES, speaking

UNIT_SI = {"A": 1.0, "mV": 1e-3, "V": 1.0, "Ω": 1.0, "kΩ": 1e3, "K": 1.0}


def shown_value(test, reading):
    """What a student reads off: the display, behind a clamp over its scale."""
    *_, number, unit = reading.display.split()
    clamp = test.measure.clamp
    return float(number) * UNIT_SI[unit] / (clamp.scale_v_per_a if clamp else 1.0)


@for_each_radical
def test_exercise_is_what_was_asked_for(radical):
    """Fault, family and a complaint that the fault can cause."""
    drawn = exercise(radical)
    assert drawn.fault.id == radical.fault
    assert drawn.specification.family.id == radical.family
    assert drawn.fault in drawn.candidates
    said = drawn.specification.family.complaint.said(drawn.symptom)
    assert drawn.complaint in [text for _, text in said]


@for_each_radical
def test_outcomes_leave_one_repair(radical):
    """All readings together prove what to do."""
    drawn = exercise(radical)
    fitting = {
        fault.repair
        for fault, row in zip(drawn.candidates, drawn.outcome, strict=True)
        if row == drawn.actual_outcome
    }
    assert fitting == {drawn.fault.repair}


@for_each_radical
def test_plan_leads_to_the_cause(radical):
    """Who follows the plan ends at the right repair, within the number of tests."""
    drawn = exercise(radical)
    plan = plan_of(key(radical)["reasoning"])
    state = plan.start
    for _ in drawn.tests:
        if (test := plan.best_test(state)) is None:
            break
        state = plan.after(state, test, drawn.actual_outcome[test])
    assert plan.best_test(state) is None
    assert {drawn.candidates[i].repair for i in state.candidates} == {
        drawn.fault.repair
    }
    assert drawn.candidates.index(drawn.fault) in state.candidates


@for_each_radical
def test_display_says_the_outcome(radical):
    """Who reads the meter with its errors sorts it as the true value is sorted."""
    drawn = exercise(radical)
    for test, scale, reading, word in zip(
        drawn.tests, drawn.scales, drawn.readings, drawn.actual_outcome, strict=True
    ):
        if test.is_by_eye or test.mistake:
            continue
        read, _, _ = word.partition(", fuse ")  # the fuse is seen, not metered
        if reading.display == "OL" or "opened" in reading.display:
            assert read == "over limit"
        else:
            assert scale.word(shown_value(test, reading)) == read, test.id


@for_each_radical
def test_reading_with_a_lead_says_what_its_fuse_is_like(radical):
    """Whole or not: what was taken out is in the hand, and decides the outcome."""
    drawn = exercise(radical)
    for test, reading, word in zip(
        drawn.tests, drawn.readings, drawn.actual_outcome, strict=True
    ):
        has_lead = test.setup.control_lead or test.setup.load_lead
        is_clamped = has_lead and test.measure.clamp is not None
        assert ("the fuse that came out is" in reading.said) == is_clamped, test.id
        if is_clamped and not test.mistake:
            assert reading.fuse == (word.partition(", fuse ")[2] or "intact"), test.id


@for_each_radical
def test_clamp_display_lies_within_its_limits(radical):
    """Probe of 1 %, zero and noise, meter of 0.5 % + 3 counts, and half a count."""
    drawn = exercise(radical)
    for test, reading in zip(drawn.tests, drawn.readings, strict=True):
        clamp = test.measure.clamp
        if clamp is None or test.mistake or "opened" in reading.display:
            continue
        volts = abs(reading.value) * clamp.scale_v_per_a
        meter_v = 0.006 * volts + 3.5 * (1e-5 if volts < 0.059 else 1e-4)
        off = abs(shown_value(test, reading) - reading.value)
        limit = clamp.limit(reading.value) + clamp.noise_a
        assert off <= limit + meter_v / clamp.scale_v_per_a


@for_each_radical
def test_currents_stay_inside_the_ratings(radical):
    """No volts read OL, nor a current unless far over what its circuit is fused for."""
    drawn = exercise(radical)
    shown = zip(drawn.tests, drawn.readings, drawn.actual_outcome, strict=True)
    for test, reading, outcome in shown:
        if test.measure.kind in ("current", "voltage") and reading.display == "OL":
            # One in a wrong state may be read on too small a scale.
            assert outcome.partition(",")[0] in ("over limit", PROVES_NOTHING)
            assert reading.value > drawn.specification.nominal.load_fuse_rating_a
    nominal = drawn.specification.nominal
    assert nominal.load_rated_a < nominal.load_fuse_rating_a
    assert nominal.supply_v / nominal.coil_ohm < nominal.driver_limit_a


def test_fault_that_the_drawn_values_rule_out_is_drawn_again():
    """A fuse holder heats from 8 A on, and the tilt pump draws 7 to 8.5 A."""
    book = read_lesson("whole-circuit")
    radical = Radical(
        lesson=book.lesson.id, family="cab-tilt-pump", fault="fuse_holder_hot"
    )
    for number in range(4):
        drawn = new_exercise(book, radical, SECRET.value, ("holder", number))
        assert drawn.specification.nominal.load_rated_a >= 8


@for_each_radical
def test_predictions_are_told_from_wrong_rules(radical):
    """No wrong rule falls into the right band or another rule's."""
    drawn = exercise(radical)
    for asked in (*drawn.predictions, verification_of(drawn)):
        assert asked.band[0] <= asked.value <= asked.band[1]
        bands = sorted([asked.band, *(m.band for m in asked.misconceptions)])
        assert all(a[1] < b[0] for a, b in pairwise(bands))
        assert asked.is_clear


@pytest.mark.parametrize("family", ["cooler-fan", "wiper-heater", "tiller-lock"])
def test_sound_vehicles_show_what_is_promised(family):
    """Of vehicles built to the sheet fewer than 1 % show another outcome in a test."""
    drawn = exercise(Radical(lesson=BOOK.lesson.id, family=family, fault="coil_open"))
    stream = Stream(SECRET.value, "sound vehicles", family)
    built = [drawn.specification.built(stream) for _ in range(1000)]
    pairs = [(circuit, circuit) for circuit in built]
    value = readings(pairs, drawn.specification.nominal, drawn.tests).value[..., 0]
    shown = outcomes(value, drawn.scales, built, drawn.tests)
    for column, promised in zip(
        zip(*shown, strict=True), drawn.sound_outcome, strict=True
    ):
        assert sum(word != promised for word in column) < 10


@for_every_exercise
def test_sound_outcomes_hold_nothing_amiss(radicals):
    """A sound circuit shows no low, no high and no open."""
    for drawn in map(exercise, radicals):
        assert not set(drawn.sound_outcome) & {"low", "high", "open", "over limit"}
        for test, word in zip(drawn.tests, drawn.sound_outcome, strict=True):
            # A sound switch measures the current of its load.
            assert (word == "present") == (test.sorting == "sensed current")


@for_every_exercise
def test_load_without_mechanism_has_no_test_of_one(radicals):
    """Nobody is asked to move a heater by hand."""
    for drawn in map(exercise, radicals):
        of_mechanism = {"move_by_hand", "load_check", "load_check_driven"}
        offered = of_mechanism & {test.id for test in drawn.tests}
        assert bool(offered) == (drawn.specification.family.kind != "heater")


@for_every_exercise
def test_complaint_leaves_several_repairs(radicals):
    """No complaint gives its repair away."""
    for drawn in map(exercise, radicals):
        assert len({fault.repair for fault in drawn.candidates}) > 1


def test_same_secret_and_labels_draw_the_same_exercise():
    """Nothing else decides, and either of them changes everything."""
    radical = RADICALS[0]
    one = new_exercise(BOOK, radical, SECRET.value, ("s01", 0))
    assert one == exercise(radical)
    other = new_exercise(BOOK, radical, SECRET.value, ("s02", 0))
    assert other.specification.nominal != one.specification.nominal
    assert other.fault == one.fault


@pytest.mark.parametrize("language", LANGUAGES)
def test_exercise_is_the_same_in_every_language(language):
    """Nothing of the language in which it was drawn is in it; shown, it speaks one."""
    radical = RADICALS[0]
    with speaking(language):
        drawn = new_exercise(BOOK, radical, SECRET.value, ("s01", 0))
    assert drawn == exercise(radical)
    assert key_content_of(drawn, 3, IDENTITY) == key(radical)
    with speaking(language):
        shown = page_content_of(drawn, 3, "practice")
    assert (shown == page(radical, "practice")) == (language == ENGLISH)


def book_with(**changes):
    """Our lesson with some of it changed."""
    lesson = BOOK.lesson.model_copy(update=changes)
    return replace(BOOK, lesson=lesson)


def test_thermometer_is_offered_where_it_is_sure_whatever_the_fault():
    """A seat heater's relay is hardly warm; a list without it tells nothing."""
    book = read_lesson("mixed-diagnosis")

    def listed(family, fault):
        drawn = new_exercise(
            book, Radical(lesson="x", family=family, fault=fault), SECRET.value, (1,)
        )
        return [test.id for test in drawn.tests if test.measure.kind == "warmth"]

    joints = "load_wire_resistance", "load_ground_resistance"
    seat, wiper = (
        [listed(f, j) for j in joints] for f in ("seat-heater", "wiper-heater")
    )
    assert seat == [["warmth_connector"]] * 2
    assert wiper == [["warmth_relay", "warmth_ground", "warmth_connector"]] * 2


def test_look_alike_causes_are_not_drawn(monkeypatch):
    """With two tests only, an open feed cannot be told from other opens."""
    monkeypatch.setattr(exercise_module, "_ATTEMPTS", 2)
    book = book_with(tests=("control_current", "load_current"))
    radical = Radical(lesson="x", family="wiper-heater", fault="load_feed_open")
    with pytest.raises(DrawError, match="wiper-heater with load_feed_open") as caught:
        new_exercise(book, radical, SECRET.value, ("s01", 1))
    assert "looks like another cause in every test" in caught.value.reason
    assert (caught.value.family, caught.value.fault) == (radical.family, radical.fault)


def test_fault_without_symptom_is_not_drawn(monkeypatch):
    """Where nothing is noticed there is nothing to diagnose."""
    monkeypatch.setattr(exercise_module, "_ATTEMPTS", 2)

    @InSteps
    def unfelt(pairs, _):
        yield from ()
        return ("none",) * len(pairs)

    monkeypatch.setattr("generator.drawing.proof.symptoms", unfelt)
    radical = Radical(lesson="x", family="wiper-heater", fault="coil_open")
    with pytest.raises(DrawError, match="the fault has no complaint"):
        new_exercise(BOOK, radical, SECRET.value, ("s01", 1))


def test_complaint_with_one_repair_is_not_drawn(monkeypatch):
    """Where whatever it is needs the same repair, no test would tell anything."""
    monkeypatch.setattr(exercise_module, "_ATTEMPTS", 2)
    book = book_with(faults=("coil_open", "contacts_open"))
    radical = Radical(lesson="x", family="wiper-heater", fault="coil_open")
    with pytest.raises(DrawError, match="the repair is the same: nothing is asked"):
        new_exercise(book, radical, SECRET.value, ("s01", 1))


def test_what_is_warmed_or_was_on_is_not_cold(monkeypatch):
    """What comes and goes is wiggled and warmed; what never stops was on all night."""
    monkeypatch.setattr(exercise_module, "_ATTEMPTS", 2)
    book = book_with(coil=("cold morning",))
    radical = Radical(lesson="x", family="wiper-heater", fault="coil_open_at_times")
    with pytest.raises(DrawError, match="a harness that is warmed has no cold relay"):
        new_exercise(book, radical, SECRET.value, ("s01", 1))
    on = replace(radical, fault="contacts_welded")
    with pytest.raises(DrawError, match="what was on all night is not as cold"):
        new_exercise(book, on, SECRET.value, ("s01", 1))
    calm = replace(radical, fault="coil_open")
    drawn = new_exercise(book, calm, SECRET.value, ("s01", 1))
    assert drawn.specification.nominal.coil_degc < 0


def test_draw_with_fewer_causes_than_are_asked_for_is_not_kept(monkeypatch):
    """However many its complaint has on a typical circuit."""
    monkeypatch.setattr(exercise_module, "_ATTEMPTS", 2)
    radical = replace(RADICALS[0], causes=99)
    with pytest.raises(DrawError, match="fewer causes bring the complaint"):
        new_exercise(BOOK, radical, SECRET.value, ("s01", 1))
