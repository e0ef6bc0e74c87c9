"""Hints, the judgement of a choice, and the two ways at the end, in a practice set.

The numbers expected come from the sample's table, worked out by hand: of its eight
causes the test at 85 leaves c03 and c04, the test at the module then c03 alone.
"""

import pytest

from tests.workbook.steps import conclude, measure, parts, predict_all, send
from workbook.judging.planned import planner_of, standing_after
from workbook.record.progress import TestDone


def hint(clerk, step, number=1):
    """Ask for a hint."""
    return send(clerk, "hint", "choice", number, step=step)["status"]


def texts(clerk):
    """The hints on the page."""
    return [each["text"] for each in parts(clerk)["hints"]["remarks"]]


def choice(clerk, test):
    """What is said to the choice of a test that was just done."""
    told = parts(clerk)[f"reading:{test}"]["remarks"][0]
    return f"{told['label']} {told['text']}"


def test_three_hints_each_tell_more(clerk):
    """Where to look, which two tests tell most, which is planned and what it leaves."""
    predict_all(clerk)
    assert [hint(clerk, step) for step in (1, 2, 3)] == ["recorded"] * 3
    assert texts(clerk) == [
        "Where the 8 causes left lie: 4 in the control circuit and 4 in the load "
        "circuit.",
        "Two tests tell the causes left apart in the fewest minutes: “Control current "
        "at its fuse, relay commanded on” (5 min) and “Voltage at 85, relay commanded "
        "on” (7 min). From here the planned way takes 19.9 min on average.",
        "The planned test is “Voltage at 85, relay commanded on” (7 min). It would "
        "leave 2 at “none”, 4 at “low” and 2 at “supply voltage”.",
    ]
    assert "hint" not in parts(clerk)


def test_hint_says_its_cost_before_it_is_shown(clerk):
    """The button names the part of the mark, and what it comes to after another."""
    predict_all(clerk)
    assert parts(clerk)["hint"]["submit"] == "Show the first hint (costs 20 %)"
    hint(clerk, 1)
    offer = parts(clerk)["hint"]
    assert offer["values"] == {"step": 2}
    assert "costs 50 % instead of 20 %" in offer["help"]


def test_hints_belong_to_one_choice(clerk):
    """After a test the hints begin anew, and the cost stands with the test."""
    predict_all(clerk)
    hint(clerk, 1)
    send(clerk, "test", "voltage_85", expected="low")
    assert "The hint for it costs 20 % of its mark." in choice(clerk, "voltage_85")
    assert "hint" not in parts(clerk)
    send(clerk, "finding", "voltage_85", outcome="supply voltage", statement="s1")
    assert parts(clerk)["hint"]["values"] == {"step": 1}
    hint(clerk, 1)
    assert texts(clerk) == [
        "Both causes left lie in the control circuit: in the coil return wire or the "
        "control module."
    ]


def test_hint_on_a_proved_cause_ends_the_ladder(clerk):
    """Where no test is needed the second hint says so and there is no third."""
    predict_all(clerk)
    measure(clerk, "voltage_85", "low", "supply voltage")
    measure(clerk, "voltage_module", "none", "none")
    assert [hint(clerk, step) for step in (1, 2, 3)] == ["recorded"] * 2 + ["refused"]
    assert texts(clerk)[1].startswith("No test is needed any more")
    assert "hint" not in parts(clerk)


@pytest.mark.parametrize("step", [0, 2, 4, True, "1", None])
def test_hint_out_of_turn_is_refused(clerk, step):
    """Hints come one by one, and a step that is no number is none."""
    predict_all(clerk)
    assert hint(clerk, step) == "refused"
    assert "hints" not in parts(clerk)


def test_hint_is_refused_where_no_choice_is_due(clerk):
    """There is none before the predictions, with a finding due, or in the end."""
    assert hint(clerk, 1) == "refused"
    predict_all(clerk)
    send(clerk, "test", "voltage_85", expected="low")
    assert hint(clerk, 1) == "refused"
    send(clerk, "finding", "voltage_85", outcome="low", statement="s1")
    conclude(clerk)
    assert hint(clerk, 1) == "refused"


def test_graded_exercise_has_no_hint(clerk):
    """Without feedback the page offers none, and what asks for one is refused."""
    predict_all(clerk, number=2)
    assert "hint" not in parts(clerk, number=2)
    assert hint(clerk, 1, number=2) == "refused"


def test_hints_are_there_again_after_a_reload(clerk):
    """The journal brings the hints back."""
    predict_all(clerk)
    hint(clerk, 1)
    shown = parts(clerk)["hints"]
    clerk.session.look_again()
    assert parts(clerk)["hints"] == shown
    assert clerk.session.journals.notices == ()


@pytest.mark.parametrize(
    ("before", "test", "told"),
    [
        ((), "voltage_85", "A good choice. No other test leads to the cause in fewer"),
        (
            (),
            "voltage_module",
            "Another test was better. It may leave 5 of the 8 causes that were still "
            "possible. From here this way takes 4.2 min more, on average, than "
            "starting with “Voltage at 85, relay commanded on” (7 min).",
        ),
        (
            ("voltage_module",),
            "voltage_85",
            "Another test was better. “Coil resistance, relay out of its socket” "
            "(6 min) would have told the same. From here this way takes 1 min "
            "more, on average.",
        ),
        (
            ("voltage_85",),
            "control_current",
            "This test tells nothing more. Both causes that were still possible give "
            "the same reading here. “Voltage at 85, relay commanded on” had told it "
            "before. “Voltage at the module's driver pin",
        ),
        (
            ("voltage_85",),
            "load_current",
            "This test tells nothing more. Both causes that were still possible give "
            "the same reading here. “Voltage at the module's driver pin",
        ),
        (
            ("voltage_85", "voltage_module"),
            "load_current",
            "No test was needed. One cause is left: it is proved. This one took "
            "another 5 min.",
        ),
    ],
)
def test_choice_is_judged_by_the_causes_left(clerk, before, test, told):
    """The page says what a choice costs, in minutes and with the better test."""
    predict_all(clerk)
    for done in before:
        measure(clerk, done, "low", "low")
    send(clerk, "test", test, expected="low")
    assert choice(clerk, test).startswith(told)


def test_ways_stand_side_by_side_after_the_conclusion(clerk):
    """Tests, minutes and causes left of the student's way and of the planned one."""
    predict_all(clerk)
    measure(clerk, "control_current", "expected", "none")
    measure(clerk, "voltage_module", "none", "none")
    assert "ways" not in parts(clerk)
    conclude(clerk)
    ways = parts(clerk)["ways"]
    taken, planned = ways["tables"]
    assert [row[1:] for row in taken["rows"]] == [["5 min", "4"], ["12 min", "2"]]
    assert [row[1:] for row in planned["rows"]] == [["7 min", "2"], ["12 min", "1"]]
    assert (taken["foot"], planned["foot"]) == ("17 min", "19 min")
    assert ways["text"].startswith("You took 17 min, the planned way 19 min.")


def test_plan_is_found_from_wherever_tests_have_led(clerk):
    """Only tests that tell something help; the planned one wastes nothing."""
    exercise = clerk.session.exercise(1)
    planner = planner_of(exercise, exercise.feedback)
    start, later, end = (
        standing_after(exercise, exercise.feedback, tests)
        for tests in ((), done("voltage_85"), done("voltage_85", "voltage_module"))
    )
    assert planner.wasted(start, planner.planned(start)) == 0
    assert all(planner.helps(start, test) for test in exercise.tests)
    helping = [test.id for test in exercise.tests if planner.helps(later, test)]
    assert helping == ["voltage_module"]
    assert planner.planned(end) is None


def done(*tests):
    """Tests that were done."""
    return tuple(TestDone(item=id_, expected="") for id_ in tests)
