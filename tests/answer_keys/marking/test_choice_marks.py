"""Each choice is marked by the minutes it wastes, with a reason in words."""

import math
from dataclasses import replace

import pytest
from hypothesis import given

from answer_keys.marking.choice_marks import MINUTES_TO_A_THIRD
from answer_keys.marking.visits import planned_tests
from tests.answer_keys.samples import (
    BRIDGED,
    TEST_IDS,
    key_content,
    marks_of,
    progress_after,
    record_content,
    sample_record,
)
from tests.answer_keys.strategies import progresses
from tests.keys import answer_key_of


@given(progresses())
def test_choice_loses_by_wasted_minutes_and_hints_alone(case):
    """A choice loses marks by the minutes that it wastes and the hints it took."""
    record, progress = case
    hints = {done.item: done.hints for done in progress.tests}
    for mark in marks_of(record, progress, "choices"):
        if mark.item in TEST_IDS:
            share = math.exp(-mark.minutes_wasted / MINUTES_TO_A_THIRD)
            kept = {0: 1, 1: 0.8, 2: 0.5, 3: 0}[hints[mark.item]]
            assert math.isclose(mark.mark, mark.out_of * share * kept)


def test_hints_cost_what_they_said():
    """The marks tell the part that hints took, at each test and at the end."""
    record = sample_record()
    right = progress_after(record, tuple(t.id for t in planned_tests(record)))
    tests = (replace(right.tests[0], hints=1), *right.tests[1:])
    hinted = replace(right, tests=tests, hints=2)
    first, *_, last = marks_of(record, hinted, "choices")
    assert math.isclose(first.mark, 0.8 * first.out_of)
    assert first.reason.endswith("Minus 20 % for the hint you took for this choice.")
    assert math.isclose(last.mark, 0.5 * last.out_of)
    assert last.reason.endswith("Minus 50 % for the 2 hints you took for this choice.")


@pytest.mark.parametrize(
    ("fault", "tests", "misconception", "words"),
    [
        (
            "coil_open",
            ("control_current", "drop_load_ground"),
            "drop_without_current",
            "All 3 causes that were still possible give the same reading here, so it "
            "told nothing. Without current nothing drops. “Look at the control fuse” "
            "(2 min) would have told more.",
        ),
        (
            "coil_open",
            ("drop_load_ground", "load_current"),
            "same_thing_again",
            "told nothing. “Voltage drop load to ground” had told it before. ",
        ),
        (
            "coil_open",
            ("control_current", "look_load_fuse"),
            "nothing_to_tell",
            "All 3 causes that were still possible give the same reading here, so it "
            "told nothing. ",
        ),
        (
            "motor_seized",
            ("load_current",),
            "dear_for_cheap",
            "“Voltage drop load to ground” would have told the same in 5 min. From",
        ),
        (
            "coil_open",
            ("load_current_new_relay",),
            "part_before_proof",
            "A new part came before the proof. It may leave 6 of the 8 causes",
        ),
        (
            "coil_open",
            ("turn_by_hand",),
            "least_telling_first",
            "Of all tests on offer it splits the 8 causes that were still possible "
            "worst: it may leave 7 of them.",
        ),
        (
            "coil_open",
            ("control_current",),
            "",
            "It may leave 5 of the 8 causes that were still possible. From here this "
            "way takes",
        ),
        (
            "load_ground_high",
            ("load_current_bridged", "turn_by_hand"),
            "measured_after_proof",
            "The cause was proved already; this test took another 4 min.",
        ),
    ],
)
def test_waste_is_explained(fault, tests, misconception, words):
    """Every way to waste minutes has its reason, in this circuit's names."""
    record = sample_record(fault)
    *_, last, _ = marks_of(record, progress_after(record, tests), "choices")
    assert last.minutes_wasted > 0
    assert words in last.reason
    assert last.misconception == misconception


def test_dearer_way_names_the_planned_test():
    """A choice that costs more than the plan says how much and what was better."""
    record = sample_record()
    first = marks_of(record, progress_after(record, ("turn_by_hand",)), "choices")[0]
    assert "than starting with “Look at the load fuse” (2 min)" in first.reason


def test_test_in_a_wrong_state_has_no_mark():
    """Whatever minutes it takes, a test that misleads or hurts is worth nothing."""
    content = record_content()
    why = "The part was live: an ohmmeter shows a number without meaning."
    wrong = {"id": "load_resistance_plugged_in", "mistake": why}
    content["tests"][-1] |= wrong
    content["reasoning"]["tests"][-1] = wrong["id"]
    key = answer_key_of(key_content() | {"exercises": [content]})
    record = next(key.exercises)
    first = marks_of(record, progress_after(record, (wrong["id"],)), "choices")[0]
    assert (first.mark, first.reason) == (0, why)
    assert first.misconception == "ohmmeter_on_live_part"


def test_choice_as_good_as_the_planned_one_has_full_marks():
    """Of two tests that cost the same either may come first."""
    content = record_content(fault="motor_seized")
    twin = {**content["tests"][1], "id": "look_again", "title": "Once more"}
    content["tests"].append(twin)
    table = content["reasoning"]
    table["tests"].append(twin["id"])
    table["reading_minutes"].append(twin["minutes"])
    table["needs"].append([])
    table["sound"].append(twin["sound_outcome"])
    for row in table["outcomes"]:
        row.append(row[1])
    (record,) = answer_key_of(key_content() | {"exercises": [content]}).exercises
    for test in ("look_load_fuse", twin["id"]):
        first = marks_of(record, progress_after(record, (test,)), "choices")[0]
        assert first.mark == first.out_of
        assert first.reason.startswith("A good choice")


def test_misread_outcome_costs_its_finding_and_no_choice():
    """Choices are judged from the real readings, and a wasteful one recalls that."""
    record = sample_record("coil_open")
    right = progress_after(record, ("load_current_bridged", "turn_by_hand"))
    done = (replace(right.tests[0], outcome="high"), right.tests[1])
    lost = replace(right, tests=done)
    choices, misread = (marks_of(record, one, "choices") for one in (right, lost))
    assert [one.mark for one in misread] == [one.mark for one in choices]
    assert misread[1].reason.endswith(
        "This is judged from what “Load current with 30-87 bridged” really read, "
        "“expected”, not from your “high”."
    )
    findings, found = (marks_of(record, one, "findings") for one in (right, lost))
    lost_marks = [a.mark - b.mark for a, b in zip(findings, found, strict=True)]
    assert lost_marks == pytest.approx([10 / 3, 0])


def test_tests_left_out_weigh_as_much_as_tests_done():
    """Who concludes at once has not earned the marks of the tests still needed."""
    record = sample_record("coil_open")
    progress = progress_after(record, BRIDGED)
    first, stop = marks_of(record, progress, "choices")
    left_out = len(planned_tests(record)) - 1
    assert left_out > 1
    assert stop.mark == 0
    assert stop.out_of == pytest.approx(left_out * first.out_of)


@pytest.mark.parametrize(
    ("fault", "tests", "share", "words"),
    [
        ("motor_seized", BRIDGED, 1, "one cause was left"),
        ("load_wire_open", BRIDGED, 0, "while 2 causes were still possible"),
        (
            "coil_open",
            (
                "load_current",
                "load_current_bridged",
                "look_control_fuse",
                "load_current_new_relay",
            ),
            1,
            "the 2 causes left all need the same repair",
        ),
        (
            "coil_open",
            ("load_current_bridged", "look_control_fuse", "load_current_new_relay"),
            0,
            "before any reading had shown something abnormal",
        ),
    ],
)
def test_stopping_is_judged_by_the_causes_left(fault, tests, share, words):
    """To stop is right when all causes left need one repair."""
    record = sample_record(fault)
    stop = marks_of(record, progress_after(record, tests), "choices")[-1]
    assert stop.mark == share * stop.out_of
    assert words in stop.reason


def test_stopping_is_right_where_no_test_goes_further():
    """Nobody is marked down for causes that no test on offer tells apart."""
    record = record_content(fault="coil_open")
    record["reasoning"]["faults"][2]["repair"] = "replace_contacts"
    record["reasoning"]["repair_minutes"]["replace_contacts"] = 40.0
    record["reasoning"]["outcomes"][2][TEST_IDS.index("control_current")] = "none"
    content = key_content() | {"exercises": [record]}
    changed = next(answer_key_of(content).exercises)
    tests = tuple(test.id for test in planned_tests(changed))
    stop = marks_of(changed, progress_after(changed, tests), "choices")[-1]
    assert stop.mark == stop.out_of
    assert "no test on offer tells the 2 causes left apart" in stop.reason


def test_without_a_conclusion_stopping_has_no_mark():
    """Who draws no conclusion has not stopped."""
    record = sample_record()
    progress = replace(progress_after(record, BRIDGED), cause=None, correction=None)
    stop = marks_of(record, progress, "choices")[-1]
    assert (stop.mark, stop.reason) == (0, "You drew no conclusion.")
