"""What the page gets gives nothing away, and the key holds everything, truly."""

import json
import math
import re

import pytest

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import REPAIRS
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import WRONG_STATES
from generator.model.network import Branch, Network
from generator.model.solving import solve
from generator.pictures.scope import turn_off_picture
from generator.workbooks.offered import codes_of
from generator.workbooks.signs import signs_of
from tests.drawn import (
    IDENTITY,
    RADICALS,
    exercise,
    for_each_radical,
    for_each_relay,
    key,
    page,
)

MINUTES = {name: test.minutes for name, test in TESTS.items()} | {
    wrong.test.id: wrong.test.minutes for wrong in WRONG_STATES
}
BY_NAME = {f"{r.family} {r.fault}": r for r in RADICALS}
SOME = [BY_NAME["cooler-fan contacts_open"], BY_NAME["tiller-lock load_open"]]
PAGE_KEYS = {
    "circuit",
    "places",
    "number",
    "title",
    "kind",
    "questions",
    "predictions",
    "sections",
    "tests",
    "causes",
    "corrections",
    "verification",
    "verifications",
    "given",
    "feedback",
    "bench",
    "is_unlisted",
}
# What grading and the instructor's view read, by record.
KEY_KEYS = {
    "kind",
    "questions",
    "set_id",
    "student",
    "exercise",
    "lesson",
    "vehicle",
    "complaint",
    "given",
    "fault",
    "predictions",
    "verification",
    "sections",
    "tests",
    "causes",
    "corrections",
    "reasoning",
    "circuit",
    "specification",
}
TEST_KEYS = {
    "id",
    "title",
    "before",
    "mistake",
    "minutes",
    "hazards",
    "display",
    "unit",
    "true_value",
    "outcome",
    "sound_outcome",
    "outcomes",
    "setup",
    "measures",
    "statement",
    "statements",
}


def network_of(record):
    """The network of a record."""
    branches = tuple(Branch(**branch) for branch in record["branches"])
    return Network(branches=branches, ground=record["ground"])


def read(test):
    """What a test of the key measures, worked out anew from its network."""
    measures, network = test["measures"], network_of(test["setup"])
    if measures["kind"] == "resistance":
        return equivalent_ohm(network, measures)
    solution = solve(network)
    if measures["kind"] == "current":
        return solution.current_a.get(measures["branch"], 0.0)
    volts = solution.voltage_v
    return volts[measures["node_plus"]] - volts[measures["node_minus"]]


def equivalent_ohm(network, measures):
    """Resistance between two nodes: a source of one volt over its current."""
    source = Branch("ohmmeter", measures["node_minus"], measures["node_plus"], 0.0, 1.0)
    branches = (*network.branches, source)
    amps = solve(Network(branches=branches, ground=network.ground)).current_a
    return 1.0 / amps["ohmmeter"] if amps["ohmmeter"] else math.inf


@for_each_radical
def test_true_values_follow_from_the_networks_of_the_key(radical):
    """Each network solved anew gives the value that the key states."""
    for test in key(radical)["tests"]:
        if test["measures"]["kind"] == "state":
            assert test["true_value"] == test["outcome"]
            continue
        found = read(test)
        if test["true_value"] is None:
            assert math.isinf(found)
        else:
            assert test["true_value"] == pytest.approx(found, rel=1e-6, abs=1e-8)


@for_each_radical
def test_graded_page_gives_nothing_away(radical):
    """No feedback, no name of a fault or repair, no band and no other number."""
    record = page(radical, "graded")
    assert set(record) == PAGE_KEYS
    assert record["feedback"] is None
    assert record["bench"] is None
    assert record["given"] is None
    text = json.dumps({k: v for k, v in record.items() if k != "tests"})
    text += json.dumps(
        [{k: v for k, v in t.items() if k != "id"} for t in record["tests"]]
    )
    assert not [name for name in (*FAULTS, *REPAIRS) if name in text]
    for asked in (*record["predictions"], record["verification"]):
        assert set(asked) == {"id", "label", "unit", "help"}
    for test in record["tests"]:
        assert set(test) - {"picture"} == {
            *("id", "title", "how", "before", "minutes", "needs", "hazards"),
            *("outcomes", "display", "instrument", "range", "statements"),
            *("tool", "at", "signs"),
        }
        for one in test["statements"]:
            assert set(one) == {"id", "text", "cleared", "suspect"}


def test_diagram_shows_every_relay_that_is_out_of_its_socket():
    """A test at the empty socket shows what is pulled, as any other does."""
    shown = {
        name
        for name, test in TESTS.items()
        if ("out", "coil")
        in {(one.kind, one.at) for one in signs_of(test, is_shared=False)}
    }
    assert shown == {
        *("pull_relay", "load_current_bridged", "load_check", "coil_resistance"),
        *("socket_30", "socket_30_lamp", "socket_86_lamp", "socket_85_lamp"),
        "socket_87_lamp",
    }


@for_each_relay
def test_only_a_scope_has_a_screen(radical):
    """One picture an exercise, in few bytes and told in words."""
    tests = page(radical, "graded")["tests"]
    screens = {test["id"]: test["picture"] for test in tests if test["picture"]}
    assert set(screens) == {"scope_turn_off"}
    [screen] = screens.values()
    assert screen["svg"].startswith("<svg ")
    assert len(screen["svg"]) < 8_000
    assert "at the end of" in screen["alt"]
    coils = [test["id"] for test in key(radical)["tests"] if "coil" in test]
    assert coils == ["scope_turn_off"]


@for_each_relay
def test_screen_and_reading_say_the_same(radical):
    """Lowest and highest place of the trace are as far apart as what is read off."""
    drawn = exercise(radical)
    places = zip(drawn.tests, drawn.readings, strict=True)
    reading = next(r for t, r in places if t.id == "scope_turn_off")
    shown_v = float(reading.display.split()[-2])
    ends = re.findall(r"(-?\d[\d.]*) (m?)V\b", turn_off_picture(reading.turn_off).alt)
    volts = [float(number) * (1e-3 if milli else 1.0) for number, milli in ends]
    assert max(volts) - min(volts) == pytest.approx(shown_v, rel=0.02, abs=0.5)


@for_each_radical
def test_graded_page_is_that_of_practice_without_feedback(radical):
    """Both kinds of set ask the same."""
    graded, practice = page(radical, "graded"), page(radical, "practice")
    assert practice["feedback"]
    assert practice["bench"]
    assert {**practice, "feedback": None, "bench": None} == graded


def proper(record):
    """Tests on a page that are not done in a wrong state: those are drawn."""
    return [test for test in record["tests"] if test["id"] in TESTS]


@pytest.mark.parametrize("radical", SOME)
def test_page_of_look_alikes_differs_only_in_its_readings(radical):
    """What is offered does not depend on which of the causes it is."""
    record = page(radical, "graded")
    causes = [fault.id for fault in exercise(radical).candidates[::3]]
    same = [
        page(other, "graded")
        for other in RADICALS
        if (other.family, other.variant) == (radical.family, radical.variant)
        and other.fault in causes
        and exercise(other).symptom == exercise(radical).symptom
    ]
    assert len(same) > 5
    for other in same:
        assert [t["id"] for t in proper(other)] == [t["id"] for t in proper(record)]
        assert words_of(other) == words_of(record)


def words_of(record):
    """What can be chosen for each test, but for what some causes show at its fuse."""
    return [
        [word for word in test["outcomes"] if ", fuse" not in word]
        for test in proper(record)
    ]


@for_each_radical
def test_codes_stand_in_the_order_of_the_catalogue(radical):
    """c01, c02, ... and r01, r02, ...: the numbers say nothing of the answer."""
    record, candidates = key(radical), exercise(radical).candidates
    assert [c["id"] for c in record["causes"]] == [
        f"c{n:02}" for n in range(1, len(candidates) + 1)
    ]
    faults = [c["fault"] for c in record["causes"]]
    assert faults == [fault for fault in FAULTS if fault in faults]
    repairs = [c["repair"] for c in record["corrections"]]
    # A repair comes where the first fault does that asks for it.
    asked_for = [fault.repair for fault in FAULTS.values()]
    assert repairs == sorted(repairs, key=asked_for.index)
    assert {FAULTS[fault].repair for fault in faults} == set(repairs)
    assert [c["id"] for c in record["corrections"]] == [
        f"r{n:02}" for n in range(1, len(repairs) + 1)
    ]


@for_each_radical
def test_page_and_key_use_the_same_codes(radical):
    """What a student ticks is what grading looks up."""
    record, shown = key(radical), page(radical, "graded")
    for kind in ("causes", "corrections"):
        assert shown[kind] == [
            {"id": one["id"], "label": one["label"]} for one in record[kind]
        ]
    codes = codes_of(exercise(radical))
    assert {c["fault"]: c["id"] for c in record["causes"]}.items() <= codes.items()


@for_each_radical
def test_key_holds_what_grading_needs(radical):
    """Every field, in shapes that fit each other."""
    record = key(radical)
    assert record.keys() >= KEY_KEYS
    assert {name: record[name] for name in IDENTITY} == IDENTITY
    assert record["exercise"] == 3
    assert record["fault"] == {
        "id": radical.fault,
        "repair": FAULTS[radical.fault].repair,
    }
    for asked in (*record["predictions"], record["verification"]):
        assert asked.keys() >= {
            "id",
            "label",
            "unit",
            "value",
            "band",
            "misconceptions",
        }
    assert all(test.keys() >= TEST_KEYS for test in record["tests"])


# No instrument reads them, and the harness is moved meanwhile.
WATCHED = ("load_check", "watch_load")


@for_each_radical
def test_reasoning_of_the_key_fits_its_tests(radical):
    """Rows by fault, columns by test, and the row of the fault is what is read."""
    record = key(radical)
    reasoning = record["reasoning"]
    assert reasoning["tests"] == [test["id"] for test in record["tests"]]
    stressed = 3 if exercise(radical).symptom == "comes and goes" else 0
    for test, minutes in zip(
        record["tests"], reasoning["reading_minutes"], strict=True
    ):
        is_electrical = test["unit"] in ("A", "V") or test["id"] in WATCHED
        is_electrical &= "Resistance" not in test["title"]
        is_electrical &= not test["id"].startswith("recorded_")  # of one section alone
        assert minutes == MINUTES[test["id"]] + stressed * is_electrical
    rows = dict(
        zip([f["id"] for f in reasoning["faults"]], reasoning["outcomes"], strict=True)
    )
    assert rows[radical.fault] == [test["outcome"] for test in record["tests"]]
    assert list(rows) == [cause["fault"] for cause in record["causes"]]
    for column, test in enumerate(record["tests"]):
        assert {row[column] for row in rows.values()} <= set(test["outcomes"])
        assert test["sound_outcome"] in test["outcomes"]


@for_each_radical
def test_records_are_strict_json(radical):
    """No infinity, no nan, and texts without braces left over."""
    for record in (key(radical), page(radical, "practice")):
        text = json.dumps(record, allow_nan=False)
        assert json.loads(text) == record
        labels = json.dumps([record["causes"], record["corrections"], record["title"]])
        assert "{load" not in text
        assert "None" not in labels


@for_each_radical
def test_practice_feedback_speaks_of_every_test(radical):
    """Each reading is explained, and the causes it fits hold the right one."""
    record, told = page(radical, "practice"), page(radical, "practice")["feedback"]
    code = codes_of(exercise(radical))[radical.fault]
    assert set(told["tests"]) == {test["id"] for test in record["tests"]}
    outcome = {test["id"]: test["outcome"] for test in key(radical)["tests"]}
    for name, said in told["tests"].items():
        assert said["outcome"] == outcome[name]
        assert code in said["fits"]
        assert said["text"]
        assert not {"{", "}"} & set(said["text"] + said["sound_text"])
    assert code in told["conclusion"]["causes"]
    assert told["conclusion"]["correction"] in {c["id"] for c in record["corrections"]}


@for_each_radical
def test_practice_feedback_fits_prove_one_repair(radical):
    """The causes that fit all readings at once ask for the one correction."""
    told = page(radical, "practice")["feedback"]
    repair = {c["id"]: FAULTS[c["fault"]].repair for c in key(radical)["causes"]}
    left = set.intersection(*(set(said["fits"]) for said in told["tests"].values()))
    assert {repair[code] for code in left} == {FAULTS[radical.fault].repair}
