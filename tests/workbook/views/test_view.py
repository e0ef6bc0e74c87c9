"""What the page shows at each step."""

import json
from base64 import b64decode
from dataclasses import replace

import pytest

from tests.workbook.sample import (
    NOTHING,
    REVERSED,
    RIGHT,
    SET_ID,
    WRONG_RULE,
    exercise,
)
from tests.workbook.steps import (
    AFTER,
    COIL,
    conclude,
    measure,
    options,
    parts,
    predict,
    predict_all,
    remarks,
    send,
)
from workbook.judging.choice_feedback import judge_choice
from workbook.judging.feedback import (
    judge_expectation,
    judge_finding,
    judge_number,
)
from workbook.record.payload import (
    Judgement,
    Misconception,
    Picture,
    exercises_from_payload,
)
from workbook.record.progress import TestDone
from workbook.views.view import exercise_view


def _states(clerk):
    return [section["state"] for section in clerk.view(1)["sections"]]


def test_sections_open_in_order(clerk):
    """Each section opens when the one before it is done."""
    assert _states(clerk) == ["now", "later", "later", "later"]
    predict_all(clerk)
    assert _states(clerk) == ["done", "now", "later", "later"]
    measure(clerk, "voltage_85", "low", "supply voltage")
    assert _states(clerk) == ["done", "now", "now", "later"]
    conclude(clerk)
    assert _states(clerk) == ["done", "done", "done", "now"]
    send(clerk, "echo", AFTER, raw="122 mV")
    send(clerk, "verification", AFTER, raw="122 mV")
    assert _states(clerk) == ["done", "done", "done", "done"]


def test_reading_is_shown_only_after_the_test(clerk):
    """No reading is in the description of the page before its test is done."""
    predict_all(clerk)
    assert "12.58 V" not in json.dumps(clerk.view(1), ensure_ascii=False)
    send(clerk, "test", "voltage_85", expected="low")
    reading = parts(clerk)["reading:voltage_85"]
    assert reading["display"] == "12.58 V"
    assert reading["facts"] == [["You expected of a sound circuit", "low"]]
    assert remarks(reading) == ["A good choice.", "Your expectation is right."]
    assert "choose" not in parts(clerk)


def test_screen_of_a_scope_is_an_image_with_words(clerk):
    """A picture comes as an image, which can run no script; others have none."""
    exercise = clerk.session.exercise(1)
    assert all(test.picture is None for test in exercise.tests)
    screen = Picture(svg="<svg>µ</svg>", alt="Peak 358 V.")
    tests = tuple(replace(test, picture=screen) for test in exercise.tests)
    predict_all(clerk)
    send(clerk, "test", "voltage_85", expected="low")
    assert parts(clerk)["reading:voltage_85"]["picture"] is None
    shown = exercise_view(replace(exercise, tests=tests), clerk.session.progress(1))
    [reading] = [
        part
        for section in shown["sections"]
        for part in section["parts"]
        if part["kind"] == "reading"
    ]
    head, data = reading["picture"]["src"].split(",")
    assert head == "data:image/svg+xml;base64"
    assert b64decode(data).decode() == screen.svg
    assert reading["picture"]["alt"] == screen.alt


def test_cautions_are_shown_before_the_test(clerk):
    """Minutes, set-up and cautions of every test are there to choose by."""
    predict_all(clerk)
    offered = options(parts(clerk)["choose"])
    bridged = next(each for each in offered if each["value"] == "load_current_bridged")
    assert (bridged["note"], len(bridged["cautions"])) == ("8 min", 2)


def test_what_must_be_true_before_a_test_stands_with_it(clerk):
    """Before the choice is made, beside what is done."""
    predict_all(clerk)
    offered = options(parts(clerk)["choose"])
    assert all(option["before"].startswith("All is ready") for option in offered)


def test_test_in_a_wrong_state_is_cautioned_at_once():
    """Choice, expectation and finding are judged by what the reading proves."""
    sample = exercise(1)
    told = sample["feedback"]["tests"]["coil_resistance"]
    told |= {
        "sound": "proves nothing",
        "outcome": "proves nothing",
        "sound_text": "",
        "text": "Done like this it misleads.",
        "caution": "The part was live: the meter can be damaged.",
    }
    made = exercises_from_payload({"exercises": [sample]})[1]
    done = TestDone(item="coil_resistance", expected="expected", outcome="expected")
    choice = judge_choice(made, made.feedback, (done,))
    assert (choice.tone, choice.label) == (
        "caution",
        "Done like this, it proves nothing.",
    )
    assert choice.text == "The part was live: the meter can be damaged."
    known = made.feedback.tests["coil_resistance"]
    assert "proves nothing on a sound circuit" in judge_expectation(known, "low").text
    assert judge_finding(known, "low").text == "Done like this it misleads."


def test_findings_count_the_causes_left(clerk):
    """Each finding is judged, with the number of causes that still fit."""
    predict_all(clerk)
    measure(clerk, "voltage_85", "none", "low")
    assert remarks(parts(clerk)["reading:voltage_85"]) == [
        "A good choice.",
        "Your expectation is not right.",
        "Your finding is not right.",
        "Your statement is right.",
        "2 of 8 causes still fit.",
    ]
    measure(clerk, "control_current", "expected", "none")
    told = parts(clerk)["reading:control_current"]["remarks"][-1]
    assert told["text"] == "This test ruled out none."
    measure(clerk, "voltage_module", "low", "none")
    told = remarks(parts(clerk)["reading:voltage_module"])[-1]
    assert told == "1 of 8 causes still fits."
    assert len(parts(clerk)["earlier"]["items"]) == 2


@pytest.mark.parametrize(
    ("outcome", "statement", "label", "words"),
    [
        ("supply voltage", RIGHT, "Your statement is right.", "proves by itself"),
        (
            "supply voltage",
            NOTHING,
            "Your statement clears nothing wrongly, but is not what this proves.",
            "By itself this reading proves: “Still suspect: coil return wire",
        ),
        (
            "low",
            REVERSED,
            "Your statement follows from your finding.",
            "By itself this reading proves",
        ),
        ("none", REVERSED, "Your reading clears what you suspect.", "By itself this"),
    ],
)
def test_statement_is_judged_with_its_reason(clerk, outcome, statement, label, words):
    """What the reading proves, less than that, what a wrong outcome would, or wrong."""
    predict_all(clerk)
    measure(clerk, "voltage_85", "low", outcome, statement)
    told = parts(clerk)["reading:voltage_85"]["remarks"][3]
    assert told["label"] == label
    assert words in told["text"]
    assert (WRONG_RULE in told["text"]) == (label == "Your statement is not right.")


def test_finding_offers_outcome_and_statement_at_once(clerk):
    """One form asks what the reading shows and what it proves."""
    predict_all(clerk)
    send(clerk, "test", "voltage_85", expected="low")
    outcome, statement = parts(clerk)["finding:voltage_85"]["fields"]
    assert outcome["options"][0]["value"] == "none"
    assert len(statement["options"]) == 3


def test_picture_keeps_what_was_stated(clerk):
    """Sections are cleared and suspect as stated, and a contradiction is told."""
    predict_all(clerk)
    assert "circuit" not in parts(clerk)
    measure(clerk, "voltage_85", "low", "supply voltage")
    shown = parts(clerk)["circuit"]
    assert [row["label"] for row in shown["rows"]] == [
        "Control circuit",
        "Load circuit",
    ]
    states = [section["state"] for section in shown["rows"][0]["sections"]]
    assert states == ["cleared", "cleared", "suspect", "suspect"]
    measure(clerk, "load_current", "low", "expected", REVERSED)
    assert remarks(parts(clerk)["circuit"]) == ["Look again."]


def test_log_adds_up_the_minutes(clerk):
    """The log lists each test with what was expected, read and found."""
    predict_all(clerk)
    measure(clerk, "voltage_85", "low", "supply voltage")
    send(clerk, "test", "coil_resistance", expected="expected")
    log = parts(clerk)["log"]
    assert log["rows"][0][1:] == ["7 min", "low", "12.58 V", "supply voltage"]
    assert (log["rows"][1][-1], log["foot"]) == ("…", "Time used: 13 min")


@pytest.mark.parametrize(
    ("tests", "choice", "labels"),
    [
        (
            ["voltage_85", "voltage_module"],
            ("c03", "r03"),
            ["Cause and correction are right."],
        ),
        (
            ["voltage_85"],
            ("c03", "r03"),
            ["Cause and correction are right.", "Not yet proved."],
        ),
        (["voltage_85"], ("c04", "r03"), ["The cause is not right."]),
        (
            ["voltage_85"],
            ("c01", "r01"),
            ["The cause is not right.", "The correction is not right."],
        ),
    ],
)
def test_conclusion_is_judged(clerk, tests, choice, labels):
    """Cause, correction and proof are judged each on its own."""
    predict_all(clerk)
    for test in tests:
        measure(clerk, test, "low", "low")
    conclude(clerk, *choice)
    assert remarks(parts(clerk)["conclusion"]) == labels


def test_graded_exercise_is_not_judged(clerk):
    """Without feedback nothing on the page says what is right."""
    predict_all(clerk, number=2)
    measure(clerk, "voltage_85", "none", "low", number=2)
    measure(clerk, "voltage_module", "none", "low", number=2)
    conclude(clerk, number=2)
    shown = parts(clerk, number=2)
    assert "earlier" not in shown
    assert not any(part.get("remarks") for part in shown.values())


def test_every_test_can_be_done(clerk):
    """When no test is left the page says so and the conclusion stays open."""
    predict_all(clerk)
    for option in options(parts(clerk)["choose"]):
        measure(clerk, option["value"], "low", "low")
        send(clerk, "test", option["value"], expected="none")
        send(clerk, "finding", option["value"], outcome="none", statement=RIGHT)
    assert parts(clerk)["choose"]["text"] == "You have done every test there is."
    assert "conclusion" in parts(clerk)


def test_number_is_judged_by_band_and_misconception():
    """A number is right in its band, edges included, or known by a wrong rule."""
    known = Misconception(low=5.0, high=6.0, text="You doubled it.")
    judgement = Judgement(
        low=1.0, high=2.0, right="Yes.", wrong="No.", misconceptions=(known,)
    )
    told = [judge_number(judgement, value).text for value in (1.0, 2.0, 5.5, 9.0)]
    assert told == ["Yes.", "Yes.", "You doubled it.", "No."]


def test_notices_of_the_journals_are_shown(clerk):
    """What had to be left out of the journals is told on the page."""
    predict(clerk, COIL, "148 mA")
    path = clerk.session.folder / f"journal-{SET_ID}-s01-torn.jsonl"
    path.write_bytes(clerk.session.journal.path.read_bytes()[:-5])
    clerk.session.look_again()
    assert "cut short" in clerk.view(1)["notices"][0]["text"]
