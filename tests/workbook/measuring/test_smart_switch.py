"""Set-ups at a circuit whose load a module switches itself."""

import pytest

from tests.workbook.measuring.set_ups import CIRCUITS, SMART, bench_and_exercise
from workbook.errors import RefusedError
from workbook.measuring.judged import split_of
from workbook.measuring.set_up import ids_of, set_up_of
from workbook.measuring.texts import title_of

OF_FAULT = {CIRCUITS[number].fault: number for number in SMART}


def split(fault, code):
    """What a set-up shows of a circuit that has a fault."""
    bench, _ = bench_and_exercise(OF_FAULT[fault])
    return split_of(bench, code)


@pytest.mark.parametrize("number", SMART)
def test_its_points_are_those_of_one_circuit(number):
    """Terminals in the plug of the module; no coil, and no pins of a relay."""
    bench, _ = bench_and_exercise(number)
    points = {"supply", "0", "fed", "load_fuse_out", "30", "87", "plug", "load+"}
    assert {*ids_of(bench.points)} == {*points, "load-", "cavity"}
    assert {*ids_of(bench.wires)} >= {"load_fuse", "load_feed", "load_wire", "jumper"}
    assert {*ids_of(bench.parts)} <= {
        "load_fuse",
        "load_connector",
        "module",
        "neighbour",
    }
    at = {each.id: each for each in bench.points}
    assert [at[id_].place for id_ in ("30", "87")] == ["module"] * 2
    assert "B1" in at["30"].label
    assert "Q1" in at["87"].label


def test_module_that_measures_too_much_has_shut_off():
    """None at the fuse under its command; past it the load draws what it should."""
    commanded = split("sense_too_high", "@normal lf=lead clamp load_fuse 10")
    assert (commanded.sound, commanded.outcome) == ("expected", "none")
    past = split("sense_too_high", "@off lf=lead mo=jumper clamp load_fuse 10")
    assert (past.sound, past.outcome) == ("expected", "expected")


def test_load_fed_past_the_switch_stays_live_without_it():
    """Terminals that touch in the plug do so with the module out, too."""
    for fault, word in (
        ("switch_bridged", "supply voltage"),
        ("switch_shorted", "none"),
    ):
        unplugged = split(fault, "@off mo=out volts 87 0")
        assert unplugged.outcome == word, fault


def test_ohmmeter_across_silicon_proves_nothing():
    """Whatever it shows; behind it, or with its module out, it reads a wire."""
    across = split("switch_open", "@off lf=out ohms load_fuse_out 87")
    assert across.misleading == ("silicon",)
    assert not split("switch_open", "@off lf=out ohms load_fuse_out 30").misleading
    assert not split(
        "switch_open", "@off lf=out mo=out ohms load_fuse_out 30"
    ).misleading


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("@test mo=jumper volts 87 0", "finds no module while it is unplugged"),
        ("@normal scope 87 0", "no such choice: instrument scope"),
        ("@off re=out volts 87 0", "no such choice: relay out"),
        ("@off volts 86 0", "no such choice: plus 86"),
    ],
)
def test_what_it_does_not_have_is_refused(code, says):
    """No relay, no coil, nothing for a scope; and no command without its module."""
    bench, _ = bench_and_exercise(SMART[0])
    with pytest.raises(RefusedError, match=says):
        set_up_of(code, bench)


def test_jumper_of_a_relay_stays_in_its_socket():
    """The plug of a control module is unplugged, and bridged nowhere."""
    bench, _ = bench_and_exercise(0)
    with pytest.raises(RefusedError, match="no such choice: module jumper"):
        set_up_of("@off mo=jumper volts 87 0", bench)


def test_jumper_past_the_switch_is_named_by_its_terminals():
    """As the diagram has them."""
    bench, _ = bench_and_exercise(SMART[0])
    title = title_of(set_up_of("@off mo=jumper volts 87 0", bench), bench)
    assert "B1 and Q1 bridged by a fused jumper" in title
