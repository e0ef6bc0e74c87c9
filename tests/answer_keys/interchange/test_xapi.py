"""Statements that a learning record store takes, by the requirements of xAPI 1.0.3.

The sections are those of part two of the specification (adlnet/xAPI-Spec,
xAPI-Data.md). IEEE 9274.1.1-2023 keeps them (from memory).
"""

from __future__ import annotations

import json
import re
import uuid
from datetime import datetime, timedelta
from urllib.parse import urlsplit

import pytest

from answer_keys.interchange.xapi import Accounts, is_home_page, xapi_lines
from tests.answer_keys.interchange.classes import (
    GRADED_AT,
    HOSTILE,
    class_of,
    graded,
    step,
    student,
)

PAGE = "https://school.example"
STEPS = (
    step(name="choices", item="load_current", answer=""),
    step(name="findings", item="x", answer="", mark=0.0),
    step(mark=10.0),
    step(name="questions", item="lines", answer="as written", out_of=0.0, mark=0.0),
)
CLASS = class_of(
    student("s01", "Mira Aldeen", graded(*STEPS)), student("s02", file=None)
)
# ADL vocabulary, verbs and activity types (adlnet.gov/expapi), from memory.
VERBS = {f"http://adlnet.gov/expapi/verbs/{verb}" for verb in ("scored", "answered")}
TYPES = {
    f"http://adlnet.gov/expapi/activities/{kind}"
    for kind in ("assessment", "simulation", "cmi.interaction")
}
PROPERTIES = {"id", "actor", "verb", "object", "result", "context", "timestamp"}
INTERACTIONS = {
    "true-false",
    "choice",
    "fill-in",
    "long-fill-in",
    "matching",
    "performance",
    "sequencing",
    "likert",
    "numeric",
    "other",
}


def statements(result=CLASS, **more):
    """The statements about a class."""
    accounts = Accounts(home_page=PAGE, codes={"s01": "c1", "s02": "c2"}, **more)
    return [json.loads(line) for line in xapi_lines(result, accounts).splitlines()]


def check_activity(activity):
    """2.4.4.1: an absolute IRI as id, a type, and that of an interaction."""
    assert activity["objectType"] == "Activity"
    check_iri(activity["id"])
    definition = activity["definition"]
    assert definition["type"] in TYPES
    assert definition["name"]["en"]
    is_interaction = definition["type"].endswith("cmi.interaction")
    assert is_interaction == ("interactionType" in definition)
    assert definition.get("interactionType", "other") in INTERACTIONS
    assert "correctResponsesPattern" not in definition


def check_iri(text):
    """4.0: an IRI has a scheme, and no signs that would end it."""
    parts = urlsplit(text)
    assert parts.scheme in ("http", "https")
    assert parts.netloc
    assert not re.search(r'[\s<>"{}|\\^`]', text)


def check_statement(one):
    """What a statement must and must not have."""
    assert set(one) == PROPERTIES  # 2.4
    assert str(uuid.UUID(one["id"])) == one["id"]  # 2.4.1, RFC 4122 in standard form
    assert uuid.UUID(one["id"]).variant == uuid.RFC_4122
    actor = one["actor"]
    assert actor["objectType"] == "Agent"
    # 2.4.2.1: one and only one inverse functional identifier; no mail address.
    assert set(actor) - {"objectType", "name"} == {"account"}
    assert set(actor["account"]) == {"homePage", "name"}  # 2.4.2.4
    check_iri(actor["account"]["homePage"])
    assert one["verb"]["id"] in VERBS  # 2.4.3
    assert one["verb"]["display"]["en"]
    check_activity(one["object"])
    check_result(one["result"])
    # 4.5, ISO 8601 with a zone, and at least milliseconds.
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", one["timestamp"])
    context = one["context"]
    assert str(uuid.UUID(context["registration"])) == context["registration"]  # 2.4.6
    within = context.get("contextActivities", {})
    assert set(within) <= {"parent", "grouping", "category", "other"}  # 2.4.6.2
    for activities in within.values():
        assert isinstance(activities, list)
        for activity in activities:
            check_activity(activity)
    assert None not in list(one.values())  # 2.2: no property is null


def check_result(result):
    """2.4.5 and 2.4.5.1: scaled from -1 to 1, raw from min to max, min below max."""
    assert set(result) <= {"score", "success", "response", "duration"}
    if "score" in result and "scaled" in result["score"]:
        score = result["score"]
        assert -1 <= score["scaled"] <= 1
        assert score["min"] <= score["raw"] <= score["max"]
        assert score["min"] < score["max"]


def test_statements_meet_the_requirements():
    """Every statement by itself, and no id twice."""
    made = statements()
    for one in made:
        check_statement(one)
    assert len({one["id"] for one in made}) == len(made)


def test_statements_tell_what_was_scored_and_answered():
    """Golden: set, exercise, test chosen, cause, and lines that nothing judges."""
    told = [(one["verb"]["display"]["en"], one["result"]) for one in statements()]
    whole = {"scaled": 0.5833, "raw": 17.5, "min": 0, "max": 30.0}
    assert told == [
        ("scored", {"score": whole}),
        ("scored", {"score": whole}),
        (
            "answered",
            {
                "response": "Load current at fuse",
                "success": False,
                "score": {"scaled": 0.75, "raw": 7.5, "min": 0, "max": 10.0},
            },
        ),
        (
            "answered",
            {
                "response": "Coil open",
                "success": True,
                "score": {"scaled": 1.0, "raw": 10.0, "min": 0, "max": 10.0},
            },
        ),
        ("answered", {"response": "as written"}),
    ]


def test_students_are_codes_unless_names_are_asked_for():
    """Neither name nor id of a student leaves by itself."""
    text = json.dumps(statements())
    assert "Mira" not in text
    assert "s01" not in text
    assert {one["actor"]["account"]["name"] for one in statements()} == {"c1"}
    named = statements(has_names=True)
    assert {one["actor"]["name"] for one in named} == {"Mira Aldeen"}


def test_ids_stay_while_nothing_changes():
    """2.3.2: a statement never changes; a second grading makes another."""
    again = class_of(student("s01", "Mira Aldeen", graded(step())))
    assert statements(again) == statements(again)
    changed = class_of(student("s01", "Mira Aldeen", graded(step(mark=8.0))))
    assert not {s["id"] for s in statements(again)} & {
        s["id"] for s in statements(changed)
    }


def test_exercise_lasts_from_its_first_entry_to_its_last():
    """4.6: an ISO 8601 duration, with hundredths of a second at most."""
    span = GRADED_AT - timedelta(hours=2), GRADED_AT - timedelta(hours=1, seconds=0.5)
    _, scored, _ = statements(class_of(student("s01", "A", graded(span=span))))
    assert scored["result"]["duration"] == "PT3599.50S"


@pytest.mark.parametrize("hours", [-2, 9])
def test_answers_are_never_of_the_future(hours):
    """2.4.7: what a clock ahead of ours says is held back to when it was graded."""
    done_at = GRADED_AT + timedelta(hours=hours)
    exercise = graded(span=(done_at, done_at))
    (*_, answered) = statements(class_of(student("s01", "A", exercise)))
    assert datetime.fromisoformat(answered["timestamp"]) == min(done_at, GRADED_AT)


@pytest.mark.parametrize("mark", [-1.0, 11.0])
def test_mark_outside_its_range_has_no_range(mark):
    """2.4.5.1 allows a raw score alone; no mark is bent to fit."""
    *_, answered = statements(class_of(student("s01", "A", graded(step(mark=mark)))))
    assert answered["result"]["score"] == {"raw": mark}


@pytest.mark.parametrize("text", [*HOSTILE, "\ud800"])
def test_hostile_text_is_inert(text):
    """Names and answers are one JSON string on one line, with nothing hidden."""
    exercise = graded(step(answer=text))
    made = statements(class_of(student("s01", text, exercise)), has_names=True)
    assert len(made) == 3
    for one in made:
        check_statement(one)
        assert not re.search("[\u202e\x00\ud800]", json.dumps(one, ensure_ascii=False))


@pytest.mark.parametrize(
    "text",
    ["", "school", "ftp://x", "https://", "https://a b", "https://x?q", "http://[x"],
)
def test_home_page_is_an_absolute_address(text):
    """2.4.2.4: an IRL."""
    assert not is_home_page(text)
    assert is_home_page("https://school.example/lab")
