"""Exercises behind a smart switch: whole, solvable, and told without a relay."""

import re
from dataclasses import replace
from functools import cache

import pytest

from generator.checking.exercise_check import problems_of_exercise
from generator.drawing.course import Course, read_course
from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.variant import Variant
from generator.workbooks.key_records import key_record
from generator.workbooks.page_records import page_record
from lessons.loader import read_lesson
from tests.circuits import HEATER, VALVE, smart
from tests.drawing.classes import exercises_of_class
from tests.drawn import SECRET
from workbook.texts import LANGUAGES, speaking

BOOK = read_lesson("smart-switches")
ALL = read_lesson("whole-circuit")
SMART = Variant(switch="smart")
OF_SWITCH = [
    test.id
    for test in TESTS.values()
    if any(map(test.applies, (smart(HEATER), smart(VALVE))))
    and not any(map(test.applies, (HEATER, VALVE)))
]
# Of these loads one has each fault of the lesson; a valve that is held has no jumper.
FAMILIES = ("windscreen-heater", "cab-blower", "crane-valve")
IDENTITY = {"set_id": "abcd2345", "student": "s01", "lesson": "whole-circuit"}


def faults_drawn():
    """Each fault of the lesson with the families that can have it, in turn."""
    for number, name in enumerate(BOOK.lesson.faults):
        kinds = {f.id: f.kind for f in ALL.families if f.id in FAMILIES}
        can = [id_ for id_, kind in kinds.items() if kind in FAULTS[name].kinds]
        yield can[number % len(can)], name


@cache
def drawn(family, fault):
    """One exercise behind a smart switch, fed by an ignition switch where it must."""
    upstream = "ignition switch" if fault == "upstream_open" else "bus bar"
    variant = Variant(switch="smart", upstream=upstream)
    radical = Radical(lesson=ALL.lesson.id, family=family, fault=fault, variant=variant)
    return new_exercise(ALL, radical, SECRET.value, ("switch", family, fault))


EVERY = [pytest.param(*each, id="-".join(each)) for each in faults_drawn()]


@pytest.mark.parametrize(("family", "fault"), EVERY)
def test_exercise_of_each_fault_is_sound(family, fault):
    """Its key holds: networks, bands, plan, statements and outcomes, derived anew."""
    exercise = drawn(family, fault)
    record = key_record(exercise, 1, IDENTITY, has_bench=True)
    assert problems_of_exercise(record, exercise) == []
    assert record.bench.is_smart


def test_every_test_of_a_switch_is_in_some_plan():
    """None is there for nothing."""
    # Where the way to the load is long, a jumper at the module is the shorter one.
    far = [(family.id, "sense_too_high") for family in ALL.families]
    planned = {
        exercise.tests[place].id
        for each in (*faults_drawn(), *far)
        for exercise in [drawn(*each)]
        for place in plan_of(exercise)
    }
    assert {*OF_SWITCH} <= planned


def plan_of(exercise):
    """Places of the tests that the plan takes under any of the causes."""
    return {
        place
        for row in exercise.outcome
        for place, _ in exercise.plan.way(exercise.plan.start, row)
    }


@pytest.mark.parametrize("spoken", LANGUAGES)
@pytest.mark.parametrize(("family", "fault"), EVERY[::4])
def test_page_speaks_of_no_relay(family, fault, spoken):
    """No coil, no terminal of a relay, in neither language; but the list of causes."""
    with speaking(spoken):
        page = page_record(drawn(family, fault), 1, "practice")
    said = [text for text in texts_of(page) if RELAY.search(text)]
    assert said == []
    places = {place.id for place in page.places}
    assert not {"relay", "relay_pins"} & places
    assert {contact.place for contact in contacts_of(page)} <= {*places, ""}


# That there is none may be said.
RELAY = re.compile(r"(?<!no )(?<!Ein )\b(relay|Relais|coil|Spule|8[567]a?)\b")


def contacts_of(page):
    """Where leads and clamp can be put, and what can be unplugged."""
    return (*page.bench.points, *page.bench.wires, *page.bench.parts)


def texts_of(page):
    """What a student can read of tests, causes, corrections, sections and sheet."""
    yield from (contact.label for contact in contacts_of(page))
    yield from page.bench.cautions.values()
    for test in page.tests:
        yield from (test.title, test.how, test.before, test.display, test.instrument)
        yield from (*test.hazards, *test.outcomes)
    yield from (each.label for each in (*page.causes, *page.corrections))
    yield from (section.label for section in page.sections)
    yield from (" ".join(row) for row in page.circuit.sheet)
    yield from (asked.label + asked.help for asked in page.predictions)
    yield page.circuit.alt
    feedback = page.feedback
    yield from (told.text + told.sound_text for told in feedback.tests.values())


def test_scan_tool_and_clamp_disagree_within_the_ratio():
    """The same current twice: coarse on the scan tool, fine behind the clamp."""
    for each in (("windscreen-heater", "work_hindered"), ("cab-blower", "supply_low")):
        exercise = drawn(*each)
        read = dict(zip([t.id for t in exercise.tests], exercise.readings, strict=True))
        shown_a = float(read["read_sensed_current"].display.removesuffix(" A"))
        true_a = read["load_current"].value
        assert shown_a == pytest.approx(true_a, rel=0.22)


@pytest.mark.parametrize("mode", ["practice", "graded"])
def test_class_of_the_lesson_gets_smart_switches_alone(mode):
    """Students get different faults, all of them to be found by the list."""
    course = read_course(("smart-switches",))
    students = ("s01", "s02", "s03")
    made = dict(exercises_of_class(course, mode, SECRET.value, students, 4, "own"))
    whole = [exercise for own in made.values() for exercise in own]
    # Between them are repeats of earlier lessons.
    every = [one for one in whole if one.radical.lesson == BOOK.lesson.id]
    assert all(one.specification.nominal.is_smart for one in every)
    assert {one.radical.kind for one in every} == {"diagnosis", "switches"}
    assert len({one.fault.id for one in every}) > 4


def test_exercise_without_a_list_still_has_its_scan_tool():
    """Codes and sensed current are read out; all else is set up at the circuit."""
    lesson = ALL.lesson
    allowed = lesson.variants.model_copy(update={"switch": ("smart",)})
    lesson = lesson.model_copy(update={"variants": allowed, "kinds": ("diagnosis",)})
    course = Course(lessons=(replace(ALL, lesson=lesson),))
    made = exercises_of_class(course, "practice", SECRET.value, ("s01",), 5)
    ((_, own),) = made
    unlisted = [one for one in own if one.radical.is_unlisted]
    assert len(unlisted) == lesson.unlisted
    for one in unlisted:
        record = page_record(one, 1, "practice")
        scanned = {test.id for test in record.tests if test.tool == "scan tool"}
        assert scanned >= {"read_codes", "codes_unplugged", "read_sensed_current"}
        assert record.bench is not None


def test_switch_bears_what_a_pulsed_load_draws_while_on():
    """By the sheet alone: the mean over the share stays well below the limit."""
    rows = drawn("seat-heater", "load_wire_open").specification.sheet
    sheet = {row.quantity: row.value for row in rows}
    on_a = sheet["Load current at 13.5 V"] / (
        sheet["Share of the time that its own regulator has the load on"] / 100
    )
    [limit_a] = (a for name, a in sheet.items() if name.startswith("Switch shuts off"))
    assert 1.5 * on_a < limit_a < 2 * on_a
