"""All answers of a set, one object a line, with readings that can be solved again."""

import json
import math
import re

import numpy as np
import pytest

from generator.model.faults import FAULTS
from generator.model.repairs import REPAIRS
from tests.cli.command import run

UNITS = {"current": "A", "voltage": "V", "resistance": "Ω", "state": ""}
PREFIX = {"µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3}


@pytest.fixture(scope="module")
def lines(graded_set, practice_set):
    """What show prints for both sets, line by line."""
    sets = (graded_set, practice_set)
    return [run("show", each, "--json").stdout.splitlines() for each in sets]


@pytest.fixture(scope="module")
def records(lines):
    """Every exercise of both sets."""

    def refuse(word):
        raise AssertionError(f"{word} is no JSON")

    return [json.loads(x, parse_constant=refuse) for both in lines for x in both]


@pytest.fixture(scope="module")
def tests_done(records):
    """Every test of every exercise."""
    return [test for record in records for test in record["tests"]]


def test_one_object_a_line(lines, records):
    """Each student's exercises come one a line, in their order."""
    assert [len(each) for each in lines] == [4, 3]
    asked = [(r["student"], r["exercise"]) for r in records]
    assert asked[:4] == [("s01", 1), ("s01", 2), ("s02", 1), ("s02", 2)]
    assert len({record["set_id"] for record in records}) == 2


def test_records_have_the_names_that_programs_rely_on(records):
    """Every name of the format is there, on every level."""
    for record in records:
        assert {"set_id", "student", "exercise", "lesson", "vehicle"} <= set(record)
        assert isinstance(record["complaint"], str)
        assert set(record["circuit"]) == {"variant", "ground", "branches"}
        assert record["fault"]["repair"] == FAULTS[record["fault"]["id"]].repair
        for row in record["specification"]:
            names = {"quantity", "value", "unit", "tolerance_percent"}
            assert set(row) == names
        for asked in record["predictions"]:
            assert {"id", "unit", "value", "band", "misconceptions"} <= set(asked)
            assert all({"id", "value"} <= set(m) for m in asked["misconceptions"])


def test_tests_have_the_names_that_programs_rely_on(tests_done):
    """Every test has its setup, what it measures and what it shows."""
    names = {"id", "title", "minutes", "hazards", "setup", "measures", "true_value"}
    names |= {"unit", "display", "outcome", "expected_band"}
    for test in tests_done:
        kind = test["measures"]["kind"]
        assert names <= set(test)
        assert test["unit"] == UNITS[kind]
        assert test["outcome"] in test["outcomes"]
        assert (test["expected_band"] is None) == (kind == "state")
        measured = {
            "current": {"branch"},
            "voltage": {"node_plus", "node_minus"},
            "resistance": {"node_plus", "node_minus"},
            "state": {"of"},
        }[kind]
        assert set(test["measures"]) == {"kind"} | measured


def test_branches_have_the_names_that_programs_rely_on(records, tests_done):
    """Branches are named once, and stand between nodes."""
    names = {"name", "node_from", "node_to", "resistance_ohm", "emf_v"}
    networks = [record["circuit"] for record in records]
    for network in (*networks, *(test["setup"] for test in tests_done)):
        branches = network["branches"]
        assert all(set(branch) == names for branch in branches)
        assert len({branch["name"] for branch in branches}) == len(branches)


def test_reasoning_is_a_whole_table(records):
    """Each cause has a word for each test, and the real one what was read."""
    for record in records:
        table = record["reasoning"]
        ids = [fault["id"] for fault in table["faults"]]
        assert all(fault["prior"] > 0 for fault in table["faults"])
        assert all(fault["repair"] in REPAIRS for fault in table["faults"])
        assert table["tests"] == [test["id"] for test in record["tests"]]
        assert table["minutes"] == [test["minutes"] for test in record["tests"]]
        assert len(table["outcomes"]) == len(ids)
        actual = table["outcomes"][ids.index(record["fault"]["id"])]
        assert actual == [test["outcome"] for test in record["tests"]]


def solved(network):
    """Node voltages and branch currents, both as unknowns of one system."""
    branches = network["branches"]
    ends = [(branch["node_from"], branch["node_to"]) for branch in branches]
    nodes = sorted({node for pair in ends for node in pair} - {network["ground"]})
    size = len(nodes)
    matrix = np.zeros((size + len(ends), size + len(ends)))
    right = np.zeros(len(matrix))
    for row, ((start, end), branch) in enumerate(
        zip(ends, branches, strict=True), size
    ):
        for node, sign in ((start, 1.0), (end, -1.0)):
            if node != network["ground"]:
                matrix[nodes.index(node), row] = matrix[row, nodes.index(node)] = sign
        matrix[row, row] = -branch["resistance_ohm"]
        right[row] = -branch["emf_v"]
    unknown = np.linalg.solve(matrix, right)
    volts = dict(zip(nodes, unknown[:size], strict=True)) | {network["ground"]: 0.0}
    names = [branch["name"] for branch in branches]
    return volts, dict(zip(names, unknown[size:], strict=True))


def measured(test):
    """What a test's network gives for what it measures."""
    setup, measures = test["setup"], test["measures"]
    if measures["kind"] == "resistance":
        probe = {
            "name": "probe",
            "node_from": measures["node_minus"],
            "node_to": measures["node_plus"],
            "resistance_ohm": 0.0,
            "emf_v": 1.0,
        }
        return (
            1 / solved({**setup, "branches": [*setup["branches"], probe]})[1]["probe"]
        )
    volts, currents = solved(setup)
    if measures["kind"] == "current":
        return currents[measures["branch"]]
    return volts[measures["node_plus"]] - volts[measures["node_minus"]]


def test_solver_of_this_test_knows_a_divider():
    """Two equal resistors halve 12 V, and 12 V over 20 Ω is 0.6 A."""
    ends = (("battery", "0", "a", 0.0, 12.0), ("r1", "a", "b", 10.0, 0.0))
    ends += (("r2", "b", "0", 10.0, 0.0),)
    keys = ("name", "node_from", "node_to", "resistance_ohm", "emf_v")
    branches = [dict(zip(keys, each, strict=True)) for each in ends]
    volts, currents = solved({"ground": "0", "branches": branches})
    assert volts["b"] == pytest.approx(6)
    assert currents["battery"] == pytest.approx(0.6)


def test_every_reading_can_be_solved_again(tests_done):
    """Each network gives the true value, to 0.1 % or a microvolt or microampere."""
    checked = 0
    for test in tests_done:
        value = test["true_value"]
        if test["measures"]["kind"] != "state" and value is not None:
            assert measured(test) == pytest.approx(value, rel=1e-3, abs=1e-6), test[
                "id"
            ]
            checked += 1
    assert checked > 80


def test_endless_resistance_has_no_value(tests_done):
    """Only a resistance may have no value, and then its part is open."""
    for test in tests_done:
        if test["true_value"] is None:
            assert test["measures"]["kind"] == "resistance"
            assert test["display"] == "OL"
        elif test["measures"]["kind"] == "state":
            assert test["true_value"] == test["outcome"]


def test_display_is_the_true_value_within_the_instruments_limits(tests_done):
    """Displays are off by no more than 3 % and a few counts, clamps by their zero."""
    for test in tests_done:
        match = re.fullmatch(r"(-?[\d.]+) (µ|m|k|)([VΩ])", test["display"])
        if match:
            shown = float(match[1]) * PREFIX[match[2]]
            if test["measures"]["kind"] == "current":
                shown /= 0.1 if test["measures"]["branch"] == "control_fuse" else 0.01
            slack = 0.03 if test["measures"]["kind"] == "current" else 0.002
            assert math.isclose(shown, test["true_value"], rel_tol=0.03, abs_tol=slack)


def word_shown(test, record):
    """The outcome that a display shows, worked out from the sheet by hand."""
    match = re.fullmatch(r"(-?[\d.]+) (µ|m|k|)([VΩ])", test["display"])
    if match is None:
        return None
    value, (low, high) = float(match[1]) * PREFIX[match[2]], test["expected_band"]
    words, kind = test["outcomes"], test["measures"]["kind"]
    if kind == "current":
        value /= 0.1 if test["measures"]["branch"] == "control_fuse" else 0.01
    supply = record["specification"][0]["value"]
    edges = {
        ("none", "present"): (high,),
        ("none", "low", "supply voltage"): (0.5, 0.85 * supply),
        ("expected", "high", "supply voltage"): (1.0, 0.85 * supply),
        ("none", "expected", "high", "supply voltage"): (low, high, 0.85 * supply),
        ("low", "expected", "high", "over limit"): (low, high, 6e4),
    }.get(tuple(words), (0.08 * (low + high) / 2, low, high, math.inf))
    return words[sum(value >= edge for edge in edges)]


def test_displays_alone_lead_to_the_right_repair(records):
    """Who reads only the displays, and rules out by them, is left with one repair."""
    for record in records:
        table = record["reasoning"]
        left = list(range(len(table["faults"])))
        for place, test in enumerate(record["tests"]):
            word = word_shown(test, record)
            assert word in (None, test["outcome"])
            seen = word or test["outcome"]
            left = [row for row in left if table["outcomes"][row][place] == seen]
        repairs = {table["faults"][row]["repair"] for row in left}
        assert repairs == {record["fault"]["repair"]}


def test_graded_set_asks_the_same_of_everyone(records):
    """Both students of the graded set have the same faults."""
    faults = [record["fault"]["id"] for record in records[:4]]
    assert sorted(faults[:2]) == sorted(faults[2:])


def test_table_for_people_names_cause_and_correction(graded_set):
    """Without --json every exercise is a row of words, none of them an id."""
    text = run("show", graded_set, env={"COLUMNS": "250"}).stdout
    rows = [line for line in text.splitlines() if line.startswith("│")]
    assert len(rows) == 4
    assert all(row.count("│") == 6 for row in rows)
    assert not any(fault in text for fault in FAULTS)
