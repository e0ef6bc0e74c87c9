"""Netlists run in ngspice as they are, and print what the key says."""

import re
import subprocess
from concurrent.futures import ThreadPoolExecutor

import pytest

from generator.exports.spice import TRANSIENTS, SpiceError, netlist_text
from generator.model.topology import TOPOLOGY
from tests.drawn import RADICALS, key
from tests.keys import whole_of
from tests.reference.ngspice import ngspice_or_skip

FAMILIES = sorted({radical.family for radical in RADICALS})


def record_of(family, faults=("coil_open",)):
    """The key record of one exercise of a family, with the first fault it has."""
    return next(
        key(radical)
        for fault in faults
        for radical in RADICALS
        if (radical.family, radical.fault) == (family, fault)
    )


def netlist_of(record, test_id):
    """The netlist of a test, or of a transient."""
    return netlist_text(whole_of(record), test_id)


def run(text, folder, name="deck"):
    """What ngspice prints for a netlist, by name; it must end with exit code 0."""
    deck = folder / f"{name}.cir"
    deck.write_text(text, encoding="utf-8")
    done = subprocess.run(
        [ngspice_or_skip(), "-n", "-b", str(deck)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "error" not in (done.stdout + done.stderr).lower(), done.stdout
    found = re.findall(r"^(\w+)\s+=\s+(\S+)", done.stdout, re.MULTILINE)
    return {word: float(number) for word, number in found}


def measured(record):
    """Tests of an exercise that measure something."""
    return [t for t in record["tests"] if t["measures"]["kind"] != "state"]


@pytest.mark.parametrize("family", FAMILIES)
def test_every_measuring_test_prints_the_true_value(family, tmp_path):
    """Within 0.1 % or a millionth; an endless resistance lets no current pass."""
    record = record_of(family)
    tests = measured(record)
    with ThreadPoolExecutor(4) as pool:
        printed = list(
            pool.map(
                lambda t: run(netlist_of(record, t["id"]), tmp_path, t["id"]), tests
            )
        )
    assert len(tests) > 10
    for test, values in zip(tests, printed, strict=True):
        true = test["true_value"] or 0.0
        assert values["reading"] == pytest.approx(true, rel=1e-3, abs=1e-6), test["id"]


@pytest.mark.parametrize(
    "fault", ["load_fuse_open", "coil_open", "load_open", "load_wire_open"]
)
def test_open_parts_give_netlists_too(fault, tmp_path):
    """A branch that is open is told, and carries nothing."""
    record = record_of(FAMILIES[0], (fault,))
    for test in measured(record):
        if test["true_value"] is None or abs(test["true_value"]) < 1e-9:
            values = run(netlist_of(record, test["id"]), tmp_path)
            assert abs(values["reading"]) < 1e-6


def test_netlist_tells_what_it_is():
    """Title, exercise, test and the value to be found stand at its head."""
    record = record_of(FAMILIES[0])
    test = measured(record)[0]
    head = [
        line for line in netlist_of(record, test["id"]).split("\n") if line[:1] == "*"
    ]
    assert head[0] == f"* {record['title']}"
    assert record["vehicle"] in head[1]
    assert "student s01, exercise 3" in head[1]
    assert test["id"] in head[2]
    assert f"reading = {test['true_value']:.9g} {test['unit']}" in head[3]
    assert test["display"] in head[4]


def test_netlist_uses_safe_names_and_tells_them():
    """No name of a node or part has a sign that SPICE reads as something else."""
    record = record_of(FAMILIES[0], ("load_wire_to_power",))
    lines = netlist_of(record, "drop_87_load").split("\n")
    elements = [line.split() for line in lines if line[:1] in "RVI" and line]
    assert len(elements) > 10
    for name, start, end, *_ in elements:
        assert re.fullmatch(r"\w+", name + start + end), name
    assert "load_p is load+" in "\n".join(lines)
    names = [name.lower() for name, *_ in elements]
    assert len(names) == len(set(names))


def test_every_node_of_a_relay_circuit_keeps_a_name_of_its_own():
    """Two nodes of one name would be one node."""
    record = record_of(FAMILIES[0])
    nodes = [node for node in TOPOLOGY.nodes if node != "0"]
    branches = [
        {
            "name": node,
            "node_from": node,
            "node_to": "0",
            "resistance_ohm": 1.0,
            "emf_v": 0.0,
        }
        for node in nodes
    ]
    test = record["tests"][-1] | {
        "setup": {"ground": "0", "branches": branches},
        "measures": {"kind": "voltage", "node_plus": "86", "node_minus": "0"},
        "true_value": 0.0,
    }
    tests = [*record["tests"][:-1], test]
    lines = netlist_of(record | {"tests": tests}, test["id"]).split("\n")
    assert len({line.split()[1] for line in lines if line[:2] == "R_"}) == len(nodes)


def test_branch_without_resistance_is_a_source_of_no_voltage(tmp_path):
    """SPICE takes no resistor of nothing."""
    record = record_of(FAMILIES[0], ("coil_turns_shorted", "load_wire_to_power"))
    test = next(t for t in record["tests"] if t["id"] == "load_current_bridged")
    branches = [
        b | ({"resistance_ohm": 0.0} if b["name"] == "load_feed" else {})
        for b in test["setup"]["branches"]
    ]
    ideal = test | {"setup": test["setup"] | {"branches": branches}}
    tests = [ideal if each is test else each for each in record["tests"]]
    text = netlist_of(record | {"tests": tests}, ideal["id"])
    assert "V_load_feed" in text
    assert run(text, tmp_path)["reading"] == pytest.approx(test["true_value"], rel=0.05)


def test_line_break_in_a_name_stays_in_its_comment():
    """Names come from files of lessons: they must not become commands."""
    record = record_of(FAMILIES[0])
    record = record | {"title": "Groomer\n.control\nshell true\n.endc"}
    lines = netlist_of(record, "load_current").split("\n")
    assert lines[0] == "* Groomer .control shell true .endc"
    assert lines.count(".control") == 1


def test_state_test_has_nothing_to_solve():
    """To look at a fuse is no circuit; the error says what is one."""
    record = record_of(FAMILIES[0])
    with pytest.raises(SpiceError, match="measures none") as caught:
        netlist_of(record, "look_load_fuse")
    assert caught.value.test_id == "look_load_fuse"
    assert {"load_current", *TRANSIENTS} <= set(caught.value.known)


def test_unknown_test_is_told_with_those_that_there_are():
    """The message lists what there is."""
    with pytest.raises(
        SpiceError, match=r"'tea' is no test .* Name one of .*load_curr"
    ):
        netlist_of(record_of(FAMILIES[0]), "tea")


@pytest.mark.parametrize("family", FAMILIES)
def test_coil_turn_off_prints_the_peak_told_in_its_head(family, tmp_path):
    """Every exercise's sound coil: within 2 % of our own solution."""
    text = netlist_of(record_of(family), "coil_turn_off")
    told = dict(re.findall(r"(\w+) = ([\d.e-]+)", text.split(".options")[0]))
    values = run(text, tmp_path)
    for name in ("peak_v", "time_constant_s"):
        assert values[name] == pytest.approx(float(told[name]), rel=0.02)


@pytest.mark.parametrize("family", FAMILIES)
def test_scope_prints_what_the_key_says(family, tmp_path):
    """The coil of the vehicle as it is: a relay without suppression, peak to peak."""
    record = record_of(family, ("suppression_missing",))
    [test] = [t for t in record["tests"] if t["id"] == "scope_turn_off"]
    values = run(netlist_of(record, "scope_turn_off"), tmp_path)
    assert values["reading"] == pytest.approx(test["peak_to_peak_v"], rel=0.02)


def test_scope_of_a_coil_without_current_has_nothing_to_simulate():
    """The message says why, and what there is."""
    record = record_of(FAMILIES[0], ("control_return_open",))
    with pytest.raises(SpiceError, match="no current flows in the coil") as caught:
        netlist_of(record, "scope_turn_off")
    assert "scope_turn_off" not in caught.value.known
    assert "load_current" in caught.value.known


def test_motor_start_prints_the_peak_told_in_its_head(tmp_path):
    """And it settles at the current of the sound circuit."""
    record = record_of("cooler-fan")
    text = netlist_of(record, "motor_start")
    told = dict(re.findall(r"(\w+) = ([\d.e-]+)", text.split(".options")[0]))
    values = run(text, tmp_path)
    for name in ("peak_a", "time_constant_s"):
        assert values[name] == pytest.approx(float(told[name]), rel=0.02)
    band = next(p["band"] for p in record["predictions"] if p["id"] == "load_current")
    assert band[0] < values["final_a"] < band[1]


def test_heater_has_no_motor_start():
    """A load without back-EMF does not start."""
    with pytest.raises(SpiceError, match="no motor that turns"):
        netlist_of(record_of("wiper-heater"), "motor_start")
