"""A page of an examination waits for its readings, and keeps them and what comes."""

import json

import pytest

from tests.workbook.sample import SET_ID, write_workbook
from tests.workbook.steps import measure, parts, predict, predict_all, send
from workbook.page.clerk import Clerk
from workbook.page.finder import find_notebook
from workbook.page.session import KernelSession
from workbook.record.sealed import seal, unseal

TEST = "control_current"
GIVEN = {"exercise": 1, "item": TEST, "display": "0.0 mV", "picture": None}


@pytest.fixture
def folder(tmp_path):
    """A workbook whose readings stay with the instructor."""
    path = write_workbook(tmp_path, count=1)
    notebook = json.loads(path.read_text("utf-8"))
    own = notebook["metadata"]["clampbook"]
    payload = unseal(own["sealed"])
    for exercise in payload["exercises"]:
        exercise["feedback"] = None
        for test in exercise["tests"]:
            test |= {"display": "", "picture": None}
    own |= {"mode": "examination", "sealed": seal(payload)}
    path.write_text(json.dumps(notebook), "utf-8")
    return tmp_path


def opened(folder):
    """A kernel's clerk on it."""
    return Clerk(KernelSession(find_notebook(folder, {}), folder))


def give(clerk, lines=None, readings=(GIVEN,)):
    """What the room has sent, as the page passes it on."""
    sent = json.dumps({"lines": lines or {}, "readings": list(readings)})
    return send(clerk, "room", sent=sent)


def waits(clerk):
    """Whether the page says that it waits for a reading."""
    return "waiting" in parts(clerk)


def test_finding_waits_for_its_reading(folder):
    """Which is there for good, once it has come."""
    clerk = opened(folder)
    predict_all(clerk)
    send(clerk, "test", TEST, expected="expected")
    assert waits(clerk)
    finding = {"outcome": "none", "statement": "s1"}
    assert send(clerk, "finding", TEST, **finding)["status"] == "refused"
    assert give(clerk)["status"] == "taken"
    assert not waits(clerk)
    again = opened(folder)
    assert not waits(again)
    assert again.session.hand_in_state()["readings"] == [f"1/{TEST}"]
    assert send(again, "finding", TEST, **finding)["status"] == "recorded"


def test_reading_is_taken_from_a_slip_of_paper(folder):
    """Only for the test that is due; what the room gives later takes its place."""
    clerk = opened(folder)
    predict_all(clerk)
    assert send(clerk, "slip", TEST, display="0.1 mV")["status"] == "refused"
    send(clerk, "test", TEST, expected="expected")
    assert send(clerk, "slip", TEST, display="  ")["status"] == "refused"
    assert send(clerk, "slip", TEST, display="0.1 mV")["status"] == "taken"
    assert "0.1 mV" in json.dumps(clerk.view(1))
    assert clerk.session.hand_in_state()["readings"] == []
    give(clerk)
    assert "0.1 mV" not in json.dumps(clerk.view(1))


def test_work_of_another_machine_is_taken_over(folder, tmp_path_factory):
    """Its lines are kept as they are, and the student goes on from there."""
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    notebook = find_notebook(folder, {}).path
    (elsewhere / notebook.name).write_bytes(notebook.read_bytes())
    other = opened(elsewhere)
    predict_all(other)
    [(name, lines)] = other.session.lines().items()
    session = name.removesuffix(".jsonl")[-8:]
    clerk = opened(folder)
    give(clerk, {session: {"at": 0, "lines": lines[:2]}}, ())
    give(clerk, {session: {"at": 1, "lines": lines[1:]}}, ())
    give(clerk, {"../../x": {"at": 0, "lines": ["{}"]}}, ())
    assert clerk.session.lines() == {name: lines}
    assert send(clerk, "test", TEST, expected="expected")["status"] == "recorded"


def test_lines_that_the_room_does_not_take_are_set_aside(folder):
    """They stay in a file beside the journal, and the page begins another one."""
    clerk = opened(folder)
    predict_all(clerk)
    [(name, lines)] = clerk.session.lines().items()
    session = name.removesuffix(".jsonl")[-8:]
    assert send(clerk, "aside", counts={session: 2})["status"] == "taken"
    assert clerk.session.lines() == {name: lines[:2]}
    kept = (folder / name).with_suffix(".aside").read_text("utf-8")
    assert kept.split("\n")[:-1] == lines
    assert predict(clerk, "load_current", "12,2 A")["status"] == "recorded"
    assert len(clerk.session.lines()) == 2
    assert send(clerk, "aside", counts={})["status"] == "taken"
    assert clerk.session.lines() == {}


def test_readings_that_are_damaged_are_asked_for_again(folder):
    """They are no record."""
    clerk = opened(folder)
    predict_all(clerk)
    send(clerk, "test", TEST, expected="expected")
    give(clerk)
    (folder / f"readings-{SET_ID}-s01.json").write_text("{", "utf-8")
    assert waits(opened(folder))


def test_other_sets_take_nothing_from_a_room(clerk):
    """They have none."""
    assert give(clerk)["status"] == "refused"
    measure(clerk, TEST, "expected", "none")
    assert clerk.session.hand_in_state()["readings"] is None
