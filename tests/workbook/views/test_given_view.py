"""A page on which the first steps are done for the student."""

from dataclasses import replace

import pytest

from tests.workbook.sample import RIGHT, exercise, payload, write_workbook
from tests.workbook.steps import COIL, LOAD, measure, options, parts, remarks, send
from workbook.errors import SealError
from workbook.page.clerk import Clerk
from workbook.page.finder import find_notebook
from workbook.page.session import KernelSession
from workbook.record.payload import exercises_from_payload
from workbook.record.sealed import seal

PREDICTED = {
    COIL: {"raw": "148 mA", "value": 0.148, "unit": "A"},
    LOAD: {"raw": "12.2 A", "value": 12.2, "unit": "A"},
}
MEASURED = {
    "item": "control_current",
    "expected": "expected",
    "outcome": "none",
    "statement": RIGHT,
}


def with_given(given):
    """The sample's payload with steps done in its first exercise."""
    whole = payload(1)
    whole["exercises"][0]["given"] = given
    return whole


@pytest.fixture
def faded_desk(tmp_path):
    """A clerk on a workbook in which predictions and one test are done."""
    write_workbook(
        tmp_path,
        sealed=seal(with_given({"predictions": PREDICTED, "tests": [MEASURED]})),
        count=1,
    )
    return Clerk(KernelSession(find_notebook(tmp_path, {}), tmp_path))


def states(clerk):
    """How far each section is."""
    return [section["state"] for section in clerk.view(1)["sections"]]


def test_student_goes_on_where_the_given_steps_end(faded_desk):
    """Numbers and tests are shown with their reasons, and the next test is offered."""
    assert states(faded_desk) == ["done", "now", "now", "later"]
    shown = parts(faded_desk)
    number = shown[f"prediction:{COIL}"]
    assert (number["kind"], number["rows"][0][1]) == ("answer", "148 mA")
    assert "Ohm's law" in number["remarks"][0]["text"]
    reading = shown["reading:control_current"]
    assert [told for _, told in reading["facts"]][:2] == ["expected", "none"]
    assert remarks(reading) == [
        "Why this test.",
        "What to expect.",
        "What it shows.",
        "4 of 8 causes still fit.",
    ]
    offered = [option["value"] for option in options(shown["choose"])]
    assert "control_current" not in offered
    assert shown["log"]["rows"][0][0].endswith("(done for you)")


def test_given_steps_cannot_be_recorded_again(faded_desk):
    """The journal refuses them, and holds nothing of them."""
    send(faded_desk, "echo", COIL, raw="1 A")
    again = [
        send(faded_desk, "prediction", COIL, raw="1 A"),
        send(faded_desk, "test", "control_current", expected="low"),
        send(faded_desk, "finding", "control_current", outcome="low", statement=RIGHT),
    ]
    assert [reply["status"] for reply in again] == ["refused"] * 3
    assert faded_desk.session.journals.entries == []
    assert faded_desk.session.hand_in_state()["recorded"] == 0


def test_own_test_is_judged_with_the_given_readings_known(faded_desk):
    """What a given test has told already tells nothing again."""
    measure(faded_desk, "load_current", "expected", "none")
    shown = parts(faded_desk)
    told = shown["reading:load_current"]
    assert remarks(told)[0] == "This test tells nothing more."
    assert "reading:control_current" not in shown
    earlier = shown["earlier"]["items"]
    assert [one["remarks"][0]["label"] for one in earlier] == ["Why this test."]
    assert [row[0].endswith("(done for you)") for row in shown["log"]["rows"]] == [
        True,
        False,
    ]


def test_only_predictions_may_be_given(tmp_path):
    """Then the first test is the student's."""
    write_workbook(
        tmp_path, sealed=seal(with_given({"predictions": PREDICTED})), count=1
    )
    clerk = Clerk(KernelSession(find_notebook(tmp_path, {}), tmp_path))
    assert states(clerk) == ["done", "now", "later", "later"]
    assert parts(clerk)["choose"]["legend"] == "Choose a test"


def test_given_step_that_the_exercise_does_not_have_is_refused():
    """A page never starts from something that it cannot show."""
    odd = {"tests": [{**MEASURED, "item": "no_such_test"}]}
    with pytest.raises(SealError, match="done for the student in exercise 1"):
        exercises_from_payload(with_given(odd))
    with pytest.raises(SealError, match="lacks something"):
        exercises_from_payload(with_given({"tests": [{"item": COIL}]}))


def test_exercise_without_given_steps_starts_with_nothing():
    """Also where the sealed text does not know of them."""
    [made] = exercises_from_payload({"exercises": [exercise(1)]}).values()
    assert made == replace(made, given=None)
