"""All answers of a set, one object a line, with readings that can be solved again."""

import json
import math
import re
import zipfile

import numpy as np
import pytest

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import REPAIRS
from tests.cli.command import error_of, run

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
        assert set(record["circuit"]) == {"variant", "ground", "branches", "coil"}
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
        has_band = kind != "state" and not test["mistake"]
        assert (test["expected_band"] is not None) == has_band
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
        repairs = "+".join(fault["repair"] for fault in table["faults"])
        assert set(repairs.split("+")) <= set(REPAIRS)
        assert table["tests"] == [test["id"] for test in record["tests"]]
        minutes = [test["minutes"] for test in record["tests"]]
        assert table["reading_minutes"] == minutes
        for test, sound, shown in zip(
            record["tests"],
            table["sound"],
            zip(*table["outcomes"], strict=True),
            strict=True,
        ):
            # The complaint seen once more is nothing that proves a cause.
            is_complaint = test["sorting"] == "complaint" and len({*shown}) == 1
            assert sound == test["outcome" if is_complaint else "sound_outcome"]
        places = {place["id"] for place in table["places"]}
        assert len(table["needs"]) == len(table["tests"])
        assert all(places.issuperset(needs) for needs in table["needs"])
        assert set(record["plan"]["way"]) <= set(table["tests"])
        assert len(table["outcomes"]) == len(ids)
        assert set(table["repair_minutes"]) == {f["repair"] for f in table["faults"]}
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
    """Displays are off by no more than 3 % and a few counts, clamps by their zero.

    That of a test done in a wrong state misleads.
    """
    for test in [test for test in tests_done if not test["mistake"]]:
        match = re.fullmatch(r"(-?[\d.]+) (µ|m|k|)([VΩ])", test["display"])
        if match:
            shown = float(match[1]) * PREFIX[match[2]]
            if test["measures"]["kind"] == "current":
                shown /= 0.1 if test["measures"]["branch"] == "control_fuse" else 0.01
            slack = 0.03 if test["measures"]["kind"] == "current" else 0.004
            assert math.isclose(shown, test["true_value"], rel_tol=0.03, abs_tol=slack)


def word_shown(test, record):
    """The outcome that a display shows, worked out from the sheet by hand."""
    match = re.fullmatch(r"(-?[\d.]+) (µ|m|k|)([VΩ])", test["display"])
    if match is None or test["mistake"]:
        return None
    value, (low, high) = float(match[1]) * PREFIX[match[2]], test["expected_band"]
    *words, last = test["outcomes"]
    assert last == "proves nothing"
    kind = test["measures"]["kind"]
    if kind == "current":
        value /= 0.1 if test["measures"]["branch"] == "control_fuse" else 0.01
    supply = record["specification"][0]["value"]
    # A lamp of 5 W leaves a load little of the supply.
    near_ground = 0.2 * supply if test["id"] == "socket_87_lamp" else 1.0
    edges = {
        ("none", "present", "over limit"): (high, math.inf),
        ("none", "low", "supply voltage"): (0.5, 0.85 * supply),
        ("expected", "high", "supply voltage"): (near_ground, 0.85 * supply),
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


def test_graded_set_asks_alike_of_everyone(records):
    """Both students of the graded set have the same kinds of exercises."""
    kinds = [record["kind"] for record in records[:4]]
    assert sorted(kinds[:2]) == sorted(kinds[2:])


def test_table_for_people_names_cause_and_correction(graded_set):
    """Without --json every exercise is a row of words, none of them an id."""
    text = run("show", graded_set, env={"COLUMNS": "250"}).stdout
    rows = [line for line in text.splitlines() if line.startswith("│")]
    assert sum(row.startswith("│ s0") for row in rows) == 4
    assert all(row.count("│") == 6 for row in rows)
    assert not any(fault in text for fault in FAULTS)


def test_table_for_people_fits_a_narrow_terminal(graded_set):
    """Eighty columns are what a terminal has at least."""
    lines = run("show", graded_set).stdout.splitlines()
    assert max(map(len, lines)) <= 80


def test_student_is_shown_with_the_planned_tests(graded_set, records):
    """Each exercise ends with the planned tests and their minutes."""
    shown = [
        run("show", graded_set, f"--student={id_}").stdout for id_ in ("s01", "s02")
    ]
    lines = [line.strip() for text in shown for line in text.splitlines()]
    for record in records[:4]:
        first = record["plan"]["first_tests"]
        tests = [test for test in record["tests"] if test["id"] in first]
        assert any(x.startswith(f"1. {t['title']}: ") for x in lines for t in tests)
        minutes = record["plan"]["expected_minutes"]
        told = f"{minutes:.1f}".removesuffix(".0")
        assert f"Over all causes {told} min on average" in lines


def test_student_is_shown_with_questions_and_their_answers(practice_set, records):
    """Every number that is asked for stands with the band that is right."""
    shown = run("show", practice_set, "--student=s01").stdout
    asked = [q for record in records[4:] for q in record["questions"]]
    assert asked
    assert all(question["label"] in shown for question in asked)


def test_student_alone_is_told_to_programs(graded_set, lines):
    """The lines are those of the whole set, and nobody else's."""
    alone = run("show", graded_set, "--student=s02", "--json").stdout.splitlines()
    assert alone == lines[0][2:]


def test_unknown_student_is_answered_with_those_of_the_set(graded_set):
    """Nothing is printed but who there is."""
    error = error_of("show", graded_set, "--student=x9")
    assert "has no student 'x9'. Name one of s01, s02." in error


class Reckoning:
    """The least expected minutes, from what the reasoning of a record says alone."""

    def __init__(self, table):
        faults = table["faults"]
        self.prior = [fault["prior"] for fault in faults]
        self.repair = [fault["repair"] for fault in faults]
        self.nothing = [fault["id"].startswith("nothing") for fault in faults]
        self.outcomes, self.minutes = table["outcomes"], table["reading_minutes"]
        self.needs, self.sound = table["needs"], table["sound"]
        self.reach = {place["id"]: place["minutes"] for place in table["places"]}
        self.lost = table["repair_minutes"]
        self.known = {}

    def chance(self, left):
        """Prior of a set of faults."""
        return sum(self.prior[fault] for fault in left)

    def least(self, left, opened=frozenset(), has_seen=False):
        """Least expected minutes of a set of faults, some places open."""
        state = left, opened, has_seen
        if state not in self.known:
            is_one = len({self.repair[fault] for fault in left}) == 1
            if is_one and (has_seen or all(self.nothing[fault] for fault in left)):
                self.known[state] = 0.0
            else:
                costs = [self.of_test(*state, test) for test in range(len(self.needs))]
                helping = [cost for cost in costs if cost is not None]
                self.known[state] = min(helping, default=self.of_trials(left))
        return self.known[state]

    def of_test(self, left, opened, has_seen, test):
        """Expected minutes with a test first; none where it changes nothing."""
        parts = {}
        for fault in left:
            parts.setdefault(self.outcomes[fault][test], []).append(fault)
        seen = {word: has_seen or word != self.sound[test] for word in parts}
        if len(parts) == 1 and {*seen.values()} == {has_seen}:
            return None
        then = opened.union(self.needs[test])
        way = sum(self.reach[place] for place in then - opened)
        after = [
            self.chance(part) * self.least(tuple(part), then, seen[word])
            for word, part in parts.items()
        ]
        return self.minutes[test] + way + sum(after) / self.chance(left)

    def of_trials(self, left):
        """Expected minutes lost on wrong repairs, tried in their order."""
        chances = {}
        for fault in left:
            repair = self.repair[fault]
            chances[repair] = chances.get(repair, 0.0) + self.prior[fault]
        order = sorted(chances, key=lambda r: self.lost[r] / chances[r])
        later = [sum(chances[r] for r in order[n + 1 :]) for n in range(len(order))]
        lost = [self.lost[r] * rest for r, rest in zip(order, later, strict=True)]
        return sum(lost) / self.chance(left)


def test_plan_can_be_reckoned_again(records):
    """Another program finds the same minutes and first tests in the reasoning."""
    for record in records:
        table = record["reasoning"]
        reckoning, every = Reckoning(table), tuple(range(len(table["faults"])))
        least = reckoning.least(every, frozenset(table["open"]))
        assert record["plan"]["expected_minutes"] == pytest.approx(least, abs=1e-9)
        costs = [
            reckoning.of_test(every, frozenset(table["open"]), False, test)
            for test in range(len(table["tests"]))
        ]
        best = [cost is not None and cost < least + 1e-9 for cost in costs]
        expected = [
            t for t, is_best in zip(table["tests"], best, strict=True) if is_best
        ]
        assert record["plan"]["first_tests"] == expected


def test_reckoning_of_this_test_tries_repairs_that_look_alike():
    """At .5 .3 .2 and 30, 10 and 20 minutes lost: 0.7 x 10 + 0.2 x 30 = 13 minutes."""
    lost = {"x": 30, "y": 10, "z": 20}
    faults = [{"prior": p, "repair": r} for p, r in zip((5, 3, 2), "xyz", strict=True)]
    table = {
        "faults": [{"id": fault["repair"], **fault} for fault in faults],
        "outcomes": [["a"]] * 3,
        "reading_minutes": [5],
        "needs": [[]],
        "sound": ["a"],
        "places": [],
    }
    reckoning = Reckoning({**table, "repair_minutes": lost})
    assert reckoning.least((0, 1, 2)) == pytest.approx(13)


def test_package_of_items_is_written_beside_the_answers(graded_set, tmp_path):
    """The set is drawn again, and what was shown is shown all the same."""
    package = tmp_path / "items.zip"
    shown = run("show", graded_set, "--qti", package)
    assert f"Wrote {package}. Answers are in it." in shown.stderr
    assert shown.stdout == run("show", graded_set).stdout
    with zipfile.ZipFile(package) as archive:
        assert "imsmanifest.xml" in archive.namelist()
        assert any(name.startswith("items/p002-e02") for name in archive.namelist())
