import gc
import math
import weakref
from dataclasses import replace

import pytest
from hypothesis import given

from answer_keys.errors import KeyContentError
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.marks import marks_in, marks_packed
from answer_keys.marking.visits import causes_left, planned_tests, visits
from generator.model import reasoning
from tests.answer_keys.samples import (
    BRIDGED,
    IDS,
    NOTHING,
    RELAY_BLAMED,
    RUBRIC,
    key_content,
    marks_of,
    progress_after,
    reasoning_content,
    record_content,
    sample_record,
)
from tests.answer_keys.strategies import progresses, rubrics
from tests.keys import answer_key_of, plan_of
from workbook.record.progress import Answer, ExerciseProgress, TestDone


@pytest.mark.parametrize("fault", IDS)
def test_planned_way_gets_full_marks_whatever_the_fault(fault):
    """Who follows the plan with right answers gets every mark."""
    record = sample_record(fault)
    tests = tuple(test.id for test in planned_tests(record))
    marks = grade_exercise(record, progress_after(record, tests), RUBRIC)
    assert math.isclose(marks.mark, 100)
    assert math.isclose(marks.out_of, 100)


@given(progresses(), rubrics)
def test_marks_stay_inside_the_weights(case, rubric):
    """Every mark is between 0 and its part, and the parts make up the weight."""
    record, progress = case
    marks = grade_exercise(record, progress, rubric)
    for step in marks.steps:
        assert 0 <= step.mark <= step.out_of
        assert step.reason.endswith((".", "”"))
    for step, weight in rubric.weights.items():
        parts = [one.out_of for one in marks.steps if one.step == step]
        assert math.isclose(math.fsum(parts), weight, abs_tol=1e-9)


@given(progresses())
def test_grading_again_changes_nothing(case):
    """Grading is a function of its inputs alone."""
    record, progress = case
    first = grade_exercise(record, progress, RUBRIC)
    reasoning._PLANS.clear()
    assert grade_exercise(record, progress, RUBRIC) == first


@given(progresses())
def test_marks_are_written_alike_in_every_process(case):
    """What is read from the text is written as it stood there."""
    marks = grade_exercise(*case, RUBRIC)
    packed = marks_packed([marks])
    assert marks_packed(marks_in(packed)) == packed


def test_equal_tables_are_planned_once():
    """A table like another has its plan, one that differs in anything has its own."""
    plan = plan_of(reasoning_content())
    assert plan_of(reasoning_content()) is plan
    minutes = [1.0 for _ in reasoning_content()["tests"]]
    assert plan_of({**reasoning_content(), "reading_minutes": minutes}) is not plan
    lost = {**reasoning_content()["repair_minutes"], "replace_fan": 99.0}
    assert plan_of({**reasoning_content(), "repair_minutes": lost}) is not plan


def test_plan_is_kept_no_longer_than_somebody_holds_it():
    """All that a search has met is large: those of a class would fill the memory."""
    minutes = [7.0 for _ in reasoning_content()["tests"]]
    plan = plan_of({**reasoning_content(), "reading_minutes": minutes})
    assert plan.expected_cost > 0
    kept = weakref.ref(plan)
    gc.collect()
    del plan
    assert kept() is None
    # Nor does what the search has met hold itself until a late collection.
    assert gc.collect() == 0


@given(progresses())
def test_real_fault_stays_a_candidate(case):
    """No reading rules out the fault that is there."""
    record, progress = case
    number = IDS.index(record.fault.id)
    assert all(number in visit.after.candidates for visit in visits(record, progress))


def test_nothing_done_gets_no_marks_and_reasons():
    """An exercise that was not started says so at every step."""
    record = sample_record()
    marks = grade_exercise(record, ExerciseProgress(), RUBRIC)
    assert marks.mark == 0
    reasons = {one.step: one.reason for one in marks.steps}
    assert reasons["choices"] == reasons["findings"] == "No test was done."
    assert reasons["predictions"].startswith("Not answered; right is 151.8 mV")
    assert "You named no cause" in reasons["cause"]


@pytest.mark.parametrize(
    ("value", "unit", "mark", "words"),
    [
        (0.165, "A", 1, "You wrote “x” (read as 165 mA); right is 151.8 mA to"),
        (0.165 * 0.92, "A", 1, "right is"),
        (0.0825, "A", 0, "That is what two loads in parallel would draw."),
        (0.3, "A", 0, "(read as 300 mA); right is 151.8 mA to 178.2 mA."),
        (0.165, "V", 0, "asked in A"),
    ],
)
def test_prediction_is_judged_by_its_band(value, unit, mark, words):
    """Full inside the band, else nothing and the wrong rule if one explains it."""
    record = sample_record()
    answer = Answer(raw="x", value=value, unit=unit)
    progress = ExerciseProgress(predictions={"coil_current": answer})
    first = marks_of(record, progress, "predictions")[0]
    assert first.mark == mark * first.out_of
    assert words in first.reason
    assert bool(first.misconception) == ("parallel" in words)


def test_marks_keep_what_was_answered():
    """Numbers as typed, findings and conclusion in words, and hints by their count."""
    record = sample_record()
    progress = progress_after(record, BRIDGED)
    asked = replace(progress.tests[0], hints=2)
    marks = grade_exercise(record, replace(progress, tests=(asked,)), RUBRIC)
    answers = {(one.step, one.item): one.answer for one in marks.steps}
    raw = progress.predictions["coil_current"].raw
    assert answers["predictions", "coil_current"] == raw
    assert answers["findings", BRIDGED[0]].startswith(f"{progress.tests[0].outcome}: ")
    assert answers["cause", "cause"] == record.cause(progress.cause).label
    assert answers["correction", "correction"]
    hints = {one.item: one.hints for one in marks.steps if one.step == "choices"}
    assert hints == {BRIDGED[0]: 2, "stop": 0}


def test_causes_left_are_those_of_the_visits():
    """Both ways on a sheet count the causes that the real readings leave."""
    record = sample_record("coil_open")
    tests = ("load_current_bridged", "drop_load_ground", "control_current")
    taken = visits(record, progress_after(record, tests))
    counts = causes_left(record, [visit.test for visit in taken])
    assert counts == (4, 4, 3)
    assert counts == tuple(len(visit.after.candidates) for visit in taken)


def done(item, statement, outcome=None, expected="expected"):
    """A test done with its finding; by default with the outcome that proves it."""
    return TestDone(
        item=item, expected=expected, outcome=outcome or statement, statement=statement
    )


def findings_of(fault, *tests):
    """Share and reason of each finding."""
    progress = ExerciseProgress(tests=tests)
    marks = marks_of(sample_record(fault), progress, "findings")
    return [
        (mark.mark / mark.out_of, mark.reason, mark.misconception) for mark in marks
    ]


def mistaken_record():
    """A record with one test more, done in a wrong state."""
    content = record_content()
    wrong = content["tests"][-1] | {
        "id": "hasty_reading",
        "display": "OL",
        "outcome": "proves nothing",
        "sound_outcome": "proves nothing",
        "outcomes": ["expected", "over limit", "proves nothing"],
        "mistake": "The part was live: an ohmmeter shows anything then.",
        "statement": NOTHING,
    }
    wrong["statements"] = [
        one | {"outcomes": ["proves nothing"]} if one["id"] == NOTHING else one
        for one in wrong["statements"]
    ]
    content["tests"].append(wrong)
    table = content["reasoning"]
    table["tests"].append(wrong["id"])
    table["reading_minutes"].append(wrong["minutes"])
    table["needs"].append([])
    table["sound"].append(wrong["outcome"])
    for row in table["outcomes"]:
        row.append("proves nothing")
    whole = key_content() | {"exercises": [content]}
    return next(answer_key_of(whole).exercises), wrong


@pytest.mark.parametrize("tests", [("hasty_reading",), (*BRIDGED, "hasty_reading")])
def test_test_in_a_wrong_state_has_no_mark_and_says_why(tests):
    """It wastes all its minutes, before the proof and after it."""
    record, wrong = mistaken_record()
    progress = progress_after(record, tests)
    choice = marks_of(record, progress, "choices")[len(tests) - 1]
    assert (choice.mark, choice.reason) == (0.0, wrong["mistake"])
    assert choice.minutes_wasted == pytest.approx(wrong["minutes"])


def test_finding_that_a_wrong_state_proves_nothing_is_right():
    """Who sees it afterwards has both halves of the finding."""
    record, _ = mistaken_record()
    progress = progress_after(record, ("hasty_reading",))
    [finding] = marks_of(record, progress, "findings")
    assert finding.mark == finding.out_of
    assert finding.reason.startswith(
        "Done like this it proves nothing, in a sound circuit too, as you said. "
        "The reading, OL, proves nothing, as you found."
    )
    looked = replace(
        progress.tests[0],
        expected="expected",
        outcome="over limit",
        statement=RELAY_BLAMED,
    )
    [finding] = marks_of(record, replace(progress, tests=(looked,)), "findings")
    assert finding.mark == 0.0
    assert "you said “expected”" in finding.reason
    assert "you said “over limit”" in finding.reason


def test_no_plan_holds_a_test_in_a_wrong_state():
    """Neither along the planted fault nor as the best next one anywhere."""
    record, wrong = mistaken_record()
    assert wrong["id"] not in {test.id for test in planned_tests(record)}
    number = record.test_number(wrong["id"])
    everything = range(len(record.reasoning.faults))
    assert record.plan.cost_of(everything, number) == pytest.approx(
        wrong["minutes"] + record.plan.expected_cost
    )


@pytest.mark.parametrize(
    ("expected", "outcome", "statement", "thirds", "words"),
    [
        ("expected", "low", "low", 3, "as you said. The reading, 41.2 mV, is “low”"),
        ("expected", "high", "low", 2, "is “low”; you said “high”"),
        ("low", "low", "low", 2, "it reads “expected”; you said “low”"),
        ("expected", "high", "high", 2, "follows from the outcome that you found"),
        ("expected", "low", NOTHING, 2, "earns nothing and takes nothing off"),
        ("expected", "low", "none", 2, "suspects only what this very reading clears"),
        ("low", None, None, 0, "you recorded no finding"),
    ],
)
def test_findings_are_three_thirds(expected, outcome, statement, thirds, words):
    """A third each for a sound circuit's reading, this reading, and what it proves."""
    test = TestDone(
        item=BRIDGED[0], expected=expected, outcome=outcome, statement=statement
    )
    ((share, reason, _),) = findings_of("load_ground_high", test)
    assert share == pytest.approx(thirds / 3)
    assert words in reason


def test_misconception_of_a_statement_is_named_with_its_cure():
    """A statement that a misconception makes is told what is wrong with it."""
    test = done("load_current", RELAY_BLAMED, "none")
    ((share, reason, misconception),) = findings_of("load_wire_open", test)
    assert (round(share, 3), misconception) == (0.667, "none_blames_relay")
    assert "may still lie in the control fuse" in reason
    assert "or that nothing closes it" in reason


def test_misconception_that_holds_by_now_is_not_called_wrong():
    """Where the readings leave the relay only, to blame it clears nothing wrongly."""
    tests = (
        done("load_current_bridged", "expected"),
        done("load_current_new_relay", "yes", expected="yes"),
        done("load_current", RELAY_BLAMED, "none"),
    )
    *_, (share, reason, misconception) = findings_of("coil_open", *tests)
    assert (round(share, 3), misconception) == (0.833, "")
    assert "so it counts 50 %" in reason


def test_contradiction_is_marked_once():
    """What an earlier finding cleared wrongly takes nothing off again."""
    misread = done("control_current", "expected")
    later = done("load_current", RELAY_BLAMED, "none")
    both = findings_of("driver_stuck_off", misread, later)
    assert [round(share * 3, 3) for share, *_ in both] == [2, 2.5]
    assert [misconception for *_, misconception in both] == ["", ""]
    ((alone, _, misconception),) = findings_of("driver_stuck_off", later)
    assert (round(alone * 3, 3), misconception) == (2, "none_blames_relay")


def test_wrong_statement_takes_half_a_mark_off_what_others_earn():
    """What was right keeps half beside one wrong statement, and says why."""
    right = done("control_current", "expected")
    wrong = done("load_current", RELAY_BLAMED, "none")
    (kept, why, _), (lost, takes, _) = findings_of("load_wire_open", right, wrong)
    assert (round(kept * 3, 3), round(lost * 3, 3)) == (2.5, 2)
    assert why.endswith("Wrong statements of this exercise leave 50 % of its mark.")
    assert "takes half a mark off" in takes


def test_reading_after_the_repair_counts_only_with_the_right_correction():
    """Who mends something else cannot know what the meter shows after it."""
    record = sample_record("coil_open")
    wrong = progress_after(record, BRIDGED, correction="r07")
    (mark,) = marks_of(record, wrong, "verification")
    assert mark.mark == 0
    assert mark.reason.endswith("It counts only with the right correction.")
    assert mark.misconception == ""


def test_finding_that_is_read_off_is_not_said_twice():
    """Where the display is the outcome itself the sentence is short."""
    ((_, reason, _),) = findings_of(
        "load_ground_high", done("turn_by_hand", "yes", expected="yes")
    )
    assert "Here it reads “yes”, as you found." in reason


def test_same_reasoning_is_planned_once():
    """Records with one reasoning table share the plan."""
    assert sample_record("coil_open").plan is sample_record("motor_seized").plan


@pytest.mark.parametrize(
    ("path", "value", "problem"),
    [
        (("tests",), [], "different tests"),
        (("tests", 0, "outcome"), "maybe", "differs from the outcomes"),
        (("causes", 0, "fault"), "gremlins", "does not hold"),
        (("reasoning", "outcomes"), [], "one row of outcomes"),
        (("reasoning", "repair_minutes"), {}, "minutes of every repair"),
        (("tests", 0, "statement"), "yes", "proves another statement"),
        (("tests", 0, "statement"), "s99", "has no statement"),
        (
            ("tests", 0, "statements", 0, "misconception"),
            "gremlins",
            "no misconception 'gremlins'",
        ),
    ],
)
def test_key_record_must_fit_together(path, value, problem):
    """A record that contradicts itself is refused before it costs marks."""
    content = key_content()
    place = content["exercises"][0]
    for word in path[:-1]:
        place = place[word]
    place[path[-1]] = value
    key = answer_key_of(content)
    with pytest.raises(KeyContentError, match=rf"“\[0\].*{problem}"):
        key.of_student("s01")
