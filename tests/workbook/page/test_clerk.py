"""Replies to the page's messages."""

import json
from dataclasses import replace

import pytest

from tests.workbook.steps import (
    AFTER,
    COIL,
    LOAD,
    conclude,
    measure,
    parts,
    predict,
    predict_all,
    send,
)
from workbook.errors import JournalError
from workbook.page.clerk import Clerk
from workbook.page.session import KernelSession
from workbook.record.entries import MAX_NOTE_LENGTH


def test_whole_exercise_is_recorded(clerk):
    """Every step in its turn is recorded, and the journal holds just that."""
    predict_all(clerk)
    measure(clerk, "voltage_85", "low", "supply voltage")
    conclude(clerk)
    send(clerk, "echo", AFTER, raw="122 mV")
    assert send(clerk, "verification", AFTER, raw="122 mV")["status"] == "recorded"
    lines = [json.loads(line) for line in next(iter(clerk.session.lines().values()))]
    kinds = ["prediction", "prediction", "test", "finding", "conclusion"]
    assert [line["kind"] for line in lines] == ["journal", *kinds, "verification"]
    assert (lines[2]["raw"], lines[2]["value"], lines[2]["unit"]) == (
        "12,2 A",
        12.2,
        "A",
    )


def test_sum_is_recorded_as_typed_and_as_worked_out(clerk):
    """The journal keeps both."""
    raw = "14.1 V / 80 Ω"
    assert send(clerk, "echo", COIL, raw=raw)["text"] == "Worked out: 176.25 mA"
    assert send(clerk, "prediction", COIL, raw=raw)["status"] == "recorded"
    (entry,) = clerk.session.journals.entries
    assert (entry.raw, entry.value, entry.unit) == (raw, 0.17625, "A")
    rows = str(clerk.view(1))
    assert "176.25 mA" in rows


def test_number_that_no_circuit_carries_is_asked_back_once(clerk):
    """Although its echo was seen; a capital M is asked back before that."""
    assert send(clerk, "echo", COIL, raw="2 kA")["is_readable"]
    asked = send(clerk, "prediction", COIL, raw="2 kA")
    assert asked["status"] == "ask"
    assert "No circuit here could ever carry that much" in asked["ask"]
    meant = send(clerk, "prediction", LOAD, raw="170 MA")
    assert (meant["status"], meant["readings"][0]) == ("refused", "170 mA")
    assert not clerk.session.journals.entries
    assert send(clerk, "prediction", COIL, raw="2 kA")["status"] == "recorded"


def test_exercise_is_done_once_more_with_its_note(clerk):
    """What is shown is of the last way; the journal keeps all."""
    predict_all(clerk)
    measure(clerk, "voltage_85", "low", "supply voltage")
    assert send(clerk, "note", "exercise", text="coil?\nF1")["status"] == "recorded"
    conclude(clerk)
    assert send(clerk, "restart", "exercise")["status"] == "recorded"
    progress = clerk.session.progress(1)
    assert (progress.note, progress.restarts, progress.tests) == ("coil?\nF1", 1, ())
    assert send(clerk, "restart", "exercise")["status"] == "refused"
    predict_all(clerk)
    assert len(clerk.session.progress(1).predictions) == 2
    assert len(clerk.session.journals.entries) == 9
    long = send(clerk, "note", "exercise", text="x" * (MAX_NOTE_LENGTH + 1))
    assert "at most 1000 characters" in long["text"]


def test_graded_work_is_done_once(clerk, monkeypatch):
    """Only practice begins again."""
    graded = replace(clerk.session.notebook, mode="graded")
    monkeypatch.setattr(clerk.session, "notebook", graded)
    predict_all(clerk)
    refused = send(clerk, "restart", "exercise")
    assert "Only a practice set" in refused["text"]


def test_number_without_echo_is_asked_first(clerk):
    """A spelling that was not echoed is echoed; only the second time it counts."""
    first = send(clerk, "prediction", COIL, raw="148 mA")
    assert (first["status"], first["text"]) == ("ask", "Read as 148 mA")
    assert clerk.session.lines() == {}
    assert send(clerk, "prediction", COIL, raw="148 mA")["status"] == "recorded"


def test_echo_of_one_spelling_does_not_cover_another(clerk):
    """What was echoed for one text, field or exercise counts for no other."""
    send(clerk, "echo", COIL, raw="148 mA")
    assert send(clerk, "prediction", COIL, raw="148 A")["status"] == "ask"
    assert send(clerk, "prediction", LOAD, raw="148 mA")["status"] == "ask"
    assert send(clerk, "prediction", COIL, 2, raw="148 mA")["status"] == "ask"


@pytest.mark.parametrize("action", ["echo", "prediction"])
def test_ambiguous_number_is_not_recorded(clerk, action):
    """Both readings are offered and nothing is recorded, however often pressed."""
    for _ in range(2):
        reply = send(clerk, action, LOAD, raw="1,234 A")
        assert reply["readings"] == ("1.2340 A", "1234 A")
    assert clerk.session.lines() == {}


def test_unreadable_number_says_what_is_allowed(clerk):
    """A number without a unit is refused with the reason."""
    reply = send(clerk, "prediction", LOAD, raw="12")
    assert (reply["status"], reply["is_readable"]) == ("refused", False)
    assert "Write the unit too" in reply["text"]


def test_steps_out_of_turn_are_refused(clerk):
    """A test before the predictions, or two tests without a finding, are refused."""
    early = send(clerk, "test", "voltage_85", expected="low")
    assert (early["status"], "predictions" in early["text"]) == ("refused", True)
    predict_all(clerk)
    send(clerk, "test", "voltage_85", expected="low")
    assert "first" in send(clerk, "test", "voltage_module", expected="low")["text"]
    assert "first" in conclude(clerk)["text"]
    assert predict(clerk, COIL, "1 A")["status"] == "refused"


@pytest.mark.parametrize(
    ("action", "item", "fields"),
    [
        ("test", "voltage_85", {"expected": "high"}),
        ("test", "unheard_of", {"expected": "none"}),
        ("echo", "unheard_of", {"raw": "1 A"}),
        ("conclusion", "conclusion", {"cause": "c99", "correction": "r01"}),
        ("erase", "", {}),
    ],
)
def test_what_the_exercise_does_not_have_is_refused(clerk, action, item, fields):
    """Words and items that are not on offer are never written."""
    predict_all(clerk)
    before = clerk.session.lines()
    assert send(clerk, action, item, **fields)["status"] == "refused"
    assert clerk.session.lines() == before


@pytest.mark.parametrize("missing", ["s4", ""])
def test_statement_that_is_not_on_offer_is_refused(clerk, missing):
    """A finding is recorded whole or not at all."""
    predict_all(clerk)
    before = measure(clerk, "voltage_85", "low", "supply voltage", missing)
    assert before["status"] == "refused"
    assert "finding:voltage_85" in parts(clerk)


def test_mistake_of_ours_is_answered(clerk, caplog):
    """An exception in a handler gives a reply that says what is kept, never silence."""
    reply = send(clerk, "test", "voltage_85")
    assert (reply["status"], reply["id"]) == ("failed", "m1")
    assert "Something went wrong (KeyError)" in reply["text"]
    assert "earlier answers are kept" in reply["text"]
    assert "could not be answered" in caplog.text


def test_unwritable_folder_is_told_at_once(clerk, monkeypatch):
    """When the journal cannot be written the reply and the page say so."""

    def refuse(*_args, **_kwargs):
        raise JournalError("The folder cannot be written.", path=clerk.session.folder)

    monkeypatch.setattr(clerk.session.journal, "append", refuse)
    reply = predict(clerk, COIL, "148 mA")
    assert (reply["status"], reply["text"][:12]) == ("failed", "NOT recorded")
    assert clerk.view(1)["notices"][0]["label"] == "Nothing is being recorded."


def test_two_windows_see_each_other(session):
    """What one kernel recorded is refused in another, and shown there."""
    one = Clerk(session)
    two = Clerk(KernelSession(session.notebook, session.folder))
    predict(one, COIL, "148 mA")
    assert predict(two, COIL, "1 A")["status"] == "refused"
    assert parts(two)[f"prediction:{COIL}"]["typed"] == "148 mA"
    predict(two, LOAD, "12,2 A")
    assert len(one.session.lines()) == 1
    send(one, "test", "voltage_85", expected="low")
    assert len(one.session.lines()) == 2


def test_page_copy_grows_by_what_is_acknowledged(clerk):
    """The tails of the replies, put together, are the journal file."""
    tails = [predict(clerk, COIL, "148 mA")["tail"], predict_all(clerk)["tail"]]
    copy = {
        place: line
        for tail in tails
        for place, line in enumerate(tail["lines"], tail["at"])
    }
    assert list(copy.values()) == clerk.session.lines()[tails[0]["file"]]
    assert send(clerk, "lines")["files"] == clerk.session.lines()


def test_hand_in_holds_every_line(clerk):
    """The hand-in is its header and the journals' lines; then nothing is left over."""
    predict_all(clerk)
    assert clerk.session.hand_in_state()["not_handed_in"] == 2
    reply = clerk.answer(1, {"id": "m", "action": "hand-in"})
    lines = reply.buffers[0].decode().splitlines()
    assert json.loads(lines[0])["kind"] == "hand-in"
    assert lines[1:] == next(iter(clerk.session.lines().values()))
    assert clerk.session.hand_in_state()["not_handed_in"] == 0
    again = KernelSession(clerk.session.notebook, clerk.session.folder)
    assert again.hand_in_state()["not_handed_in"] == 0


def test_a_line_end_within_a_note_leaves_nothing_over(clerk):
    """U+2028, which programs paste with a text, ends a line of it and no entry."""
    send(clerk, "note", "exercise", text="first\u2028second")
    assert clerk.session.hand_in_state()["not_handed_in"] == 1
    send(clerk, "hand-in")
    assert clerk.session.hand_in_state()["not_handed_in"] == 0
