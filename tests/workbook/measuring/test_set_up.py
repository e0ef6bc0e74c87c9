"""A set-up and its code: both ways, strictly, and how the vehicle stands after it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from answer_keys.hand_ins.limits import MAX_ID_LENGTH
from tests.workbook.measuring.set_ups import any_set_up, bench_and_exercise, chance_of
from workbook.errors import RefusedError
from workbook.measuring.set_up import (
    code_of,
    from_fields,
    item_of,
    set_up_of,
    state_after,
)
from workbook.record.bench import is_code
from workbook.record.set_up import SetUp

HOSTILE = (
    "@",
    "@off",
    "@off volts",
    "@off volts 86",
    "@off volts 86 86",
    "@off volts 86 0 60 60",
    "@off volts 86 0 61",
    "@off  volts 86 0",
    " @off volts 86 0",
    "@off volts 86 0 ",
    "@@off volts 86 0",
    "@on volts 86 0",
    "@off volts 86 the_answer",
    "@off re=in volts 86 0",
    "@off re=gone volts 86 0",
    "@off re=out re=out volts 86 0",
    "@off lf=lead cf=lead volts 86 0",
    "@off moved moved volts 86 0",
    "@off clamp load_wire",
    "@off clamp load_wire 7",
    "@off clamp load_wire load_wire 10",
    "@off clamp load_wire creeps 10",
    "@off clamp 86 10",
    "@off smell 86 0",
    "@off volts 86 0\n",
    "@off volts 86\u200b 0",
    "@OFF volts 86 0",
    "@off volts 86 auto",
    "@off volts 86 0 auto",
    "@off " + "re=out " * 10_000 + "volts 86 0",
    "voltage_86",
    "",
)


@given(st.integers(0, 10**6))
def test_code_tells_a_set_up_and_nothing_else(seed):
    """What is written is read again as it was, and is short enough for a journal."""
    bench, _ = bench_and_exercise(seed % 6)
    harness = ("at rest", "moved")[seed % 2]
    set_up = any_set_up(bench, chance_of(seed), harness=harness)
    code = code_of(set_up)
    assert set_up_of(code, bench) == set_up
    assert is_code(code)
    assert len(code) <= MAX_ID_LENGTH
    assert code.isascii()


@pytest.mark.parametrize("code", HOSTILE, ids=lambda code: code[:40] or "nothing")
def test_anything_else_is_refused(code):
    """In one sentence, whatever was sent."""
    bench, _ = bench_and_exercise(0)
    with pytest.raises(RefusedError) as refused:
        set_up_of(code, bench)
    assert str(refused.value).endswith(".")


@given(st.text(max_size=60))
def test_no_text_does_harm(text):
    """It is a set-up, or refused."""
    bench, _ = bench_and_exercise(0)
    for code in (text, f"@off {text}", f"@test volts {text} 0"):
        try:
            assert code_of(set_up_of(code, bench)) == code
        except RefusedError:
            continue


def test_set_up_of_the_list_is_that_test():
    """Every test with an instrument has a set-up of its own, leads either way round."""
    bench, exercise = bench_and_exercise(0)
    assert {*bench.listed.values()} <= {test.id for test in exercise.tests}
    for code, item in bench.listed.items():
        assert item_of(set_up_of(code, bench), bench) == item
    coil = set_up_of("@off re=out ohms pin_86 pin_85", bench)
    assert item_of(coil, bench) == "coil_resistance"
    other = set_up_of("@off lf=lead volts 87 0", bench)
    assert item_of(other, bench) == "@off lf=lead volts 87 0"


def test_what_was_pulled_stays_pulled_until_it_is_put_back():
    """Through tests of the list, too; what is only looked at changes nothing."""
    bench, _ = bench_and_exercise(0)
    assert state_after([], bench) == SetUp()
    items = ["@off re=out volts 87 0", "look_load_fuse"]
    assert state_after(items, bench).relay == "out"
    items.append("load_current")
    now = state_after(items, bench)
    assert (now.relay, now.load_fuse, now.command) == ("in", "lead", "output test")


def test_page_may_send_anything():
    """Texts that no circuit has are refused when they are looked at."""
    bench, _ = bench_and_exercise(0)
    with pytest.raises(RefusedError, match="not known here"):
        from_fields({"plus": 7})
    with pytest.raises(RefusedError, match="no such choice: plus nowhere"):
        item_of(from_fields({"plus": "nowhere", "minus": "0"}), bench)
    with pytest.raises(RefusedError, match="two different points"):
        item_of(from_fields({"plus": "86", "minus": "86"}), bench)


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("@test mo=out volts 86 0", "finds no module while it is unplugged"),
        ("@off scope 85 0", "no edge"),
    ],
)
def test_what_nobody_can_do_is_refused(code, says):
    """In one sentence that says what to do; without the demand, or with it, it goes."""
    bench, _ = bench_and_exercise(0)
    with pytest.raises(RefusedError, match=says):
        set_up_of(code, bench)
    other = code.replace("@off", "@normal").replace("@test", "@off")
    assert code_of(set_up_of(other, bench)) == other


def test_clamp_goes_around_no_wire_that_other_consumers_share():
    """With the engine running a cable of the battery carries what charges it, too."""
    bench, _ = bench_and_exercise(0)
    assert not any(wire.at == "supply" for wire in bench.wires)
