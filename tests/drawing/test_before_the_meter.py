"""What is done before the meter comes out: what it shows, and what it is worth."""

from dataclasses import replace

import pytest

from answer_keys.marking.choice_marks import choices
from answer_keys.marking.visits import work_of
from generator.workbooks.feedback import feedback_of
from generator.workbooks.offered import codes_of
from generator.workbooks.page_records import page_record
from generator.workbooks.statements import right_statement, statements_in
from tests.drawing.test_plans import chosen_in
from tests.drawn import EACH_FAULT, exercise, key
from tests.keys import whole_of
from workbook.judging.choice_feedback import judge_choice
from workbook.judging.planned import standing_after
from workbook.record.progress import ExerciseProgress, TestDone
from workbook.views.choice_view import choice_form

BEFORE_THE_METER = {
    *("watch_load", "supply_at_battery", "feel_relay", "look_at_connector"),
    *("warmth_relay", "warmth_ground", "warmth_fuse", "warmth_connector"),
}
STEADY = ("does nothing", "works weakly")
VERIFIED = [
    radical for radical in EACH_FAULT[::4] if exercise(radical).symptom in STEADY
]


def number_of(made, test):
    """Number of a test in an exercise."""
    return [each.id for each in made.tests].index(test)


def behind_covers(table):
    """The same with fuses and load behind covers, and its ground point near."""
    minutes = {"fuse_box": 6.0, "load": 12.0, "ground": 2.0}
    places = (
        replace(place, minutes=minutes.get(place.id, place.minutes))
        for place in table.places
    )
    return replace(table, places=tuple(places))


@pytest.mark.nightly
def test_plans_take_each_test_without_a_meter():
    """Each is in the plan of some exercise: none is on the list for show.

    A click is felt first where the fuses lie deep, and so is the heat of the load's
    connector; the ground point is warm to a thermometer where the load lies deep: there
    a meter would show its drop.
    """
    taken = {
        made.tests[test].id
        for made in map(exercise, EACH_FAULT)
        for table in (made.reasoning, behind_covers(made.reasoning))
        for test in chosen_in(table.plan.tree)
    }
    assert taken >= BEFORE_THE_METER


@pytest.mark.parametrize("radical", EACH_FAULT, ids=lambda r: r.fault)
def test_watching_shows_what_was_complained_of(radical):
    """Not of what comes and goes: with nothing wrong it works all the while."""
    made = exercise(radical)
    if "watch_load" not in {test.id for test in made.tests}:
        assert made.symptom not in (*STEADY, "comes and goes")
        return
    place = number_of(made, "watch_load")
    shown = {
        fault.id: row[place]
        for fault, row in zip(made.candidates, made.outcome, strict=True)
    }
    works = {fault for fault, word in shown.items() if word == "yes"}
    assert works == {"nothing_wrong"} & set(shown)
    assert made.is_complaint(place) == (not works)
    assert made.sound_outcome[place] == "yes"


@pytest.mark.parametrize("radical", VERIFIED, ids=lambda r: r.fault)
def test_verified_complaint_proves_no_more_than_the_complaint(radical):
    """All causes are left, no section is cleared, and no cause counts as seen."""
    made = exercise(radical)
    place = number_of(made, "watch_load")
    state = made.plan.after(made.plan.start, place, made.actual_outcome[place])
    assert state == made.plan.start
    assert place not in made.plan.helping(made.plan.start)
    right = right_statement(statements_in(made)[place], made.actual_outcome[place])
    [said] = [one for one in statements_in(made)[place] if one.id == right]
    assert said.cleared == ()


@pytest.mark.parametrize("radical", VERIFIED, ids=lambda r: r.fault)
def test_complaint_verified_first_costs_no_mark_and_later_it_does(radical):
    """On the page and in the marks alike: nobody works on what is not there."""
    made, record = exercise(radical), whole_of(key(radical))
    page = page_record(made, 1, "practice")
    planned, _ = next(iter(made.way))
    first = TestDone(item="watch_load", expected="yes")
    other = TestDone(item=made.tests[planned].id, expected="")
    mark, *_ = choices(work_of(record, ExerciseProgress(tests=(first, other))))
    assert mark.mark == 1.0
    assert judge_choice(page, page.feedback, (first,)).tone == "right"
    _, late, *_ = choices(work_of(record, ExerciseProgress(tests=(other, first))))
    assert late.mark < 1.0
    assert judge_choice(page, page.feedback, (other, first)).tone == "caution"
    assert not standing_after(page, page.feedback, (first,)).has_seen


def test_temperature_is_told_in_kelvin_and_by_its_limit():
    """Display, what is expected, and the number that says from where it is hot."""
    [radical] = [one for one in EACH_FAULT if one.fault == "socket_resistance"]
    made = exercise(radical)
    place = number_of(made, "warmth_relay")
    assert made.actual_outcome[place] == "high"
    assert made.readings[place].shown.endswith(" K")
    told = feedback_of(made, codes_of(made), statements_in(made)).tests["warmth_relay"]
    assert "25 K" in told.sound_text
    page = page_record(made, 1, "practice").test("warmth_relay")
    assert page.tool == "thermometer"
    assert ("thermometer", "coil") in {(sign.kind, sign.at) for sign in page.signs}


def test_page_lists_each_where_it_is_done_and_with_what():
    """By place, then by instrument; the complaint is seen at no place of its own."""
    [radical] = [one for one in EACH_FAULT if one.fault == "socket_resistance"]
    page = page_record(exercise(radical), 1, "practice")
    [field, *_] = choice_form(page, ExerciseProgress())["fields"]
    listed = {
        option["value"]: (group["label"], kind["label"])
        for group in field["groups"]
        for kind in group["kinds"]
        for option in kind["options"]
    }
    label = {place.id: place.label for place in page.places}
    assert {test: listed[test] for test in BEFORE_THE_METER & set(listed)} == {
        "watch_load": ("At the vehicle", "By eye, ear and hand"),
        "supply_at_battery": (label["battery"], "Meter on volts"),
        "look_at_connector": (label["load"], "By eye, ear and hand"),
        "warmth_relay": (label["relay"], "Thermometer"),
        "warmth_ground": (label["ground"], "Thermometer"),
        "warmth_connector": (label["load"], "Thermometer"),
    }
    [radical] = [one for one in EACH_FAULT if one.fault == "contacts_open"]
    page = page_record(exercise(radical), 1, "practice")
    assert page.test("feel_relay").needs[-1] == "relay"
