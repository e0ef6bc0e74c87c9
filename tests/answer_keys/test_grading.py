import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys import key_record
from answer_keys.errors import KeyContentError
from answer_keys.grading import grade_exercise
from answer_keys.hand_in import journal_rows, read_hand_in
from answer_keys.key_record import answer_key_from_content
from answer_keys.reading_path import causes_left, planned_tests, visits
from answer_keys.rubric import STEPS, Rubric, default_rubric_text, rubric_from_text
from tests.answer_keys.samples import (
    IDS,
    TESTS,
    Writer,
    key_content,
    record_content,
    sample_record,
    work_through,
)
from workbook.progress import Answer, ExerciseProgress, TestDone, replay

RUBRIC = rubric_from_text(default_rubric_text())
TEST_IDS = tuple(test[0] for test in TESTS)
BRIDGED = ("load_current_bridged",)


def progress_after(record, tests, **more):
    """The progress of a student who works through some tests without a slip."""
    writer = Writer()
    work_through(writer, record, tests)
    rows = journal_rows(read_hand_in("a", writer.bytes()))
    return replace(replay(rows)[record.exercise], **more)


def marks_of(record, progress, step, rubric=RUBRIC):
    """The marks of one step."""
    steps = grade_exercise(record, progress, rubric).steps
    return [one for one in steps if one.step == step]


def cause_of(record, fault):
    """The id under which a fault is on offer as a cause."""
    return next(one.id for one in record.causes if one.fault == fault)


@st.composite
def progresses(draw):
    """A record and any progress that the form allows in it."""
    record = sample_record(draw(st.sampled_from(IDS)))
    asked = draw(st.lists(st.sampled_from(record.predictions), unique=True))
    answers = st.floats(0, 50).map(lambda v: Answer(raw=f"{v} A", value=v, unit="A"))
    tests = draw(st.lists(st.sampled_from(record.tests), unique=True))
    done = tuple(
        TestDone(
            item=test.id,
            expected=draw(st.sampled_from(test.outcomes)),
            outcome=draw(st.sampled_from((*test.outcomes, None))),
            hints=draw(st.integers(0, 3)),
        )
        for test in tests
    )
    concluded = draw(st.booleans())
    return record, ExerciseProgress(
        predictions={key.id: draw(answers) for key in asked},
        tests=done,
        cause=draw(st.sampled_from(record.causes)).id if concluded else None,
        correction=draw(st.sampled_from(record.corrections)).id if concluded else None,
        verification=draw(answers) if concluded else None,
        hints=draw(st.integers(0, 3)),
    )


rubrics = st.lists(st.floats(0, 100), min_size=6, max_size=6).map(
    lambda weights: Rubric(weights=dict(zip(STEPS, weights, strict=True)))
)


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
    key_record._plan.cache_clear()
    assert grade_exercise(record, progress, RUBRIC) == first


@given(progresses())
def test_choice_loses_by_wasted_minutes_and_hints_alone(case):
    """A choice loses marks by the minutes that it wastes and the hints it took."""
    record, progress = case
    hints = {done.item: done.hints for done in progress.tests}
    for mark in marks_of(record, progress, "choices"):
        if mark.item in TEST_IDS:
            share = math.exp(-mark.minutes_wasted / 10)
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


@given(progresses())
def test_real_fault_stays_a_candidate(case):
    """No reading rules out the fault that is there."""
    record, progress = case
    number = IDS.index(record.fault.id)
    assert all(number in visit.after for visit in visits(record, progress))


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


def test_causes_left_are_those_of_the_visits():
    """Both ways on a sheet count the causes that the real readings leave."""
    record = sample_record("coil_open")
    tests = ("load_current_bridged", "drop_load_ground", "control_current")
    taken = visits(record, progress_after(record, tests))
    counts = causes_left(record, [visit.test for visit in taken])
    assert counts == (4, 4, 3)
    assert counts == tuple(len(visit.after) for visit in taken)


def test_useless_test_says_so():
    """A test that reads the same for all causes left is named as telling nothing."""
    record = sample_record("coil_open")
    tests = ("load_current_bridged", "drop_load_ground")
    second = marks_of(record, progress_after(record, tests), "choices")[1]
    assert second.minutes_wasted == pytest.approx(5)
    assert "All 4 causes that were still possible give the same" in second.reason


def test_test_after_the_proof_says_so():
    """Going on after the cause is proved wastes the whole test."""
    record = sample_record()
    progress = progress_after(record, (*BRIDGED, "turn_by_hand"))
    second = marks_of(record, progress, "choices")[1]
    assert second.reason == (
        "The cause was proved already; this test took another 4 min."
    )


def test_dearer_way_names_the_planned_test():
    """A choice that costs more than the plan says how much and what was better."""
    record = sample_record()
    first = marks_of(record, progress_after(record, ("turn_by_hand",)), "choices")[0]
    assert "than starting with “Load current with 30-87 bridged” (8 min)" in (
        first.reason
    )


@pytest.mark.parametrize(
    ("fault", "tests", "share", "words"),
    [
        ("motor_seized", BRIDGED, 1, "one cause was left"),
        ("load_wire_open", BRIDGED, 0, "while 2 causes were still possible"),
        (
            "coil_open",
            ("load_current_bridged", "look_control_fuse", "substitute_relay"),
            1,
            "the 2 causes left all need the same repair",
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
    changed = answer_key_from_content(content).exercises[0]
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


@pytest.mark.parametrize(
    ("expected", "outcome", "share", "words"),
    [
        ("expected", "low", 1, "as you said. The reading, 41.2 mV, is “low”, as you"),
        ("expected", "high", 0.5, "is “low”; you said “high”"),
        ("low", "low", 0.5, "it reads “expected”; you said “low”"),
        ("low", None, 0, "you recorded no finding"),
    ],
)
def test_findings_are_two_halves(expected, outcome, share, words):
    """Half for what a sound circuit reads, half for what the reading shows."""
    record = sample_record()
    done = TestDone(item=BRIDGED[0], expected=expected, outcome=outcome)
    (finding,) = marks_of(record, ExerciseProgress(tests=(done,)), "findings")
    assert finding.mark == share * finding.out_of
    assert words in finding.reason


def test_finding_that_is_read_off_is_not_said_twice():
    """Where the display is the outcome itself the sentence is short."""
    done = TestDone(item="turn_by_hand", expected="yes", outcome="yes")
    progress = ExerciseProgress(tests=(done,))
    (finding,) = marks_of(sample_record(), progress, "findings")
    assert "Here it reads “yes”, as you found." in finding.reason


@pytest.mark.parametrize(
    ("fault", "said", "tests", "share", "words"),
    [
        ("coil_open", "coil_open", BRIDGED, 1, "“Relay coil open” was the cause."),
        ("coil_open", "contacts_open", BRIDGED, 1, "counts in full"),
        ("coil_open", "contacts_open", ("control_current",), 0, "was ruled out by"),
        ("coil_open", "driver_stuck_off", BRIDGED, 0, "had not proved it"),
        ("motor_seized", "coil_open", BRIDGED, 0, "which read “613 mV”"),
    ],
)
def test_cause_counts_if_no_reading_tells_it_from_the_fault(
    fault, said, tests, share, words
):
    """The fault, or one of the same repair that no reading done has ruled out."""
    record = sample_record(fault)
    progress = progress_after(record, tests, cause=cause_of(record, said))
    (cause,) = marks_of(record, progress, "cause")
    assert cause.mark == share * cause.out_of
    assert words in cause.reason


def test_correction_is_judged_by_the_repair():
    """A repair that does not cure the fault has no mark."""
    record = sample_record("coil_open")
    (right,) = marks_of(record, progress_after(record, BRIDGED), "correction")
    assert right.reason == "“Replace the relay by one of the same part” cures it."
    progress = progress_after(record, BRIDGED, correction="r07")
    (wrong,) = marks_of(record, progress, "correction")
    assert wrong.mark == 0
    assert "“Replace the fan” does not cure it" in wrong.reason


def test_same_reasoning_is_planned_once():
    """Records with one reasoning table share the plan."""
    assert sample_record("coil_open").plan is sample_record("motor_seized").plan


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"format": 2}, "format 2"),
        ({"exercises": [{}]}, r"\$\.exercises\.0"),
        ({"edition": None}, r"\$\.edition"),
    ],
)
def test_key_content_is_checked(change, problem):
    """An answer key that lacks something says where."""
    with pytest.raises(KeyContentError, match=problem):
        answer_key_from_content(key_content() | change)


@pytest.mark.parametrize(
    ("path", "value", "problem"),
    [
        (("tests",), [], "different tests"),
        (("tests", 0, "outcome"), "maybe", "differs from the outcomes"),
        (("causes", 0, "fault"), "gremlins", "does not hold"),
        (("reasoning", "outcomes"), [], "one row of outcomes"),
        (("reasoning", "repair_minutes"), {}, "minutes of every repair"),
    ],
)
def test_key_record_must_fit_together(path, value, problem):
    """A record that contradicts itself is refused before it costs marks."""
    content = key_content()
    place = content["exercises"][0]
    for word in path[:-1]:
        place = place[word]
    place[path[-1]] = value
    with pytest.raises(KeyContentError, match=problem):
        answer_key_from_content(content)
