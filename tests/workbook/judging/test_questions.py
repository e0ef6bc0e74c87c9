"""Questions on the page: each form of an answer is taken once, and shown."""

import json

import pytest

from tests.workbook.sample import write_workbook
from tests.workbook.steps import parts, remarks, send
from workbook.page.clerk import Clerk
from workbook.page.finder import find_notebook
from workbook.page.session import KernelSession
from workbook.record.sealed import seal

OPTIONS = [{"id": f"o{n}", "label": f"section {n}"} for n in (1, 2, 3)]
LINES = [{"id": "cause", "label": "Cause"}, {"id": "cure", "label": "Correction"}]


def asked(id_, kind, **more):
    """One question."""
    return {"id": id_, "kind": kind, "label": f"Asked: {id_}", "help": "", **more}


TOLD = {
    "amps": {"judgement": {"low": 1.0, "high": 2.0, "right": "Yes.", "wrong": "No."}},
    "which": {"right": "o2", "texts": {"o1": "", "o2": "So.", "o3": "Not so."}},
    "order": {"order": ["o2", "o1", "o3"], "text": "By ohms."},
    "lines": {"model": ["Open.", "Mend it."]},
}
QUESTIONS = [
    asked("amps", "number", unit="A"),
    asked("which", "choice", options=OPTIONS),
    asked("order", "order", options=OPTIONS),
    asked("lines", "lines", lines=LINES, checklist=["A reading stands there"]),
]
PAGE = {
    "number": 1,
    "title": "Groomer 1: questions",
    "kind": "drops",
    "questions": [each | {"told": TOLD[each["id"]]} for each in QUESTIONS],
}
IN_ORDER = {"place-1": "o2", "place-2": "o1", "place-3": "o3"}


@pytest.fixture
def clerk(tmp_path):
    """A clerk on a workbook with one such exercise."""
    write_workbook(tmp_path, sealed=seal({"format": 1, "exercises": [PAGE]}))
    return Clerk(KernelSession(find_notebook(tmp_path, {}), tmp_path))


def answer(clerk, item, **fields):
    """Answer a question."""
    return send(clerk, "answer", item, **fields)


def answer_all(clerk):
    """Answer all of them rightly."""
    send(clerk, "echo", "amps", raw="1,5 A")
    replies = [
        answer(clerk, "amps", raw="1,5 A"),
        answer(clerk, "which", choice="o2"),
        answer(clerk, "order", **IN_ORDER),
        answer(clerk, "lines", **{"line-cause": "Open", "line-cure": " <b>Mend</b> "}),
    ]
    return [reply["status"] for reply in replies]


def test_each_form_of_an_answer_is_recorded(clerk):
    """Number, choice, order and lines stand in the journal as they were given."""
    assert answer_all(clerk) == ["recorded"] * 4
    [lines] = clerk.session.lines().values()
    number, choice, order, text = (json.loads(line) for line in lines[1:])
    assert (number["value"], choice["choice"]) == (1.5, "o2")
    assert order["order"] == ["o2", "o1", "o3"]
    assert text["lines"] == ["Open", "<b>Mend</b>"]


def test_answers_are_read_again_from_the_journal(clerk):
    """A new session shows what was recorded, and that all is done."""
    answer_all(clerk)
    again = Clerk(KernelSession(clerk.session.notebook, clerk.session.folder))
    [section] = again.view(1)["sections"]
    assert (section["title"], section["state"]) == ("Answer", "done")
    assert parts(again)["answer:lines"]["rows"][1] == ["Correction", "<b>Mend</b>"]


def test_practice_judges_each_form(clerk):
    """Right is said to what is right; to lines one way to write them."""
    answer_all(clerk)
    shown = parts(clerk)
    assert remarks(shown["answer:order"]) == ["Right."]
    assert remarks(shown["answer:which"]) == ["Right."]
    assert "one way to write it" in remarks(shown["answer:lines"])[0]


@pytest.mark.parametrize(
    ("item", "fields"),
    [
        ("which", {"choice": "o4"}),
        ("order", {**IN_ORDER, "place-3": "o2"}),
        ("order", {**IN_ORDER, "place-3": "o9"}),
        ("lines", {"line-cause": "x" * 401, "line-cure": "y"}),
        ("lines", {"line-cause": " ", "line-cure": "y"}),
        ("unheard", {"choice": "o1"}),
    ],
)
def test_answer_that_cannot_be_one_is_refused(clerk, item, fields):
    """Nothing is recorded, and the page is told why."""
    assert answer(clerk, item, **fields)["status"] == "refused"
    assert clerk.session.lines() == {}


def test_question_is_answered_once(clerk):
    """A second answer changes nothing."""
    answer(clerk, "which", choice="o1")
    assert answer(clerk, "which", choice="o2")["status"] == "refused"
    assert clerk.session.progress(1).replies["which"].choice == "o1"
