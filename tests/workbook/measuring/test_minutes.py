"""What a set-up takes after another."""

import pytest

from tests.workbook.measuring.set_ups import bench_and_exercise
from workbook.measuring.minutes import minutes_after
from workbook.measuring.set_up import set_up_of

CLAMP = "@test lf=lead clamp load_wire 10"


@pytest.mark.parametrize(
    ("before", "code", "changing", "reading"),
    [
        (CLAMP, "@off lf=lead clamp load_wire 10", 0, 1),
        (CLAMP, "@test lf=lead clamp load_fuse 10", 0, 2),
        (CLAMP, "@test lf=lead clamp load_wire 100", 0, 2),
        (CLAMP, "@test lf=lead clamp load_wire 10 creeps", 0, 2),
        (CLAMP, "@test lf=lead moved clamp load_wire 10", 0, 4),
        (CLAMP, "@test volts 86 0", 1, 2),
        ("@test volts 86 0", "@off volts 86 0", 0, 1),
        ("@test volts 85 0", "@test scope 85 0", 0, 4),
        ("@off volts 86 0", "@off mo=out volts 86 0", 6, 1),
        ("@off mo=out volts 86 0", "@off volts 86 0", 1, 1),
    ],
)
def test_each_thing_done_takes_its_minutes(before, code, changing, reading):
    """Clamp or leads elsewhere, a scale, a scope, a module that is to sleep first."""
    bench, _ = bench_and_exercise(0)
    minutes = minutes_after([before], set_up_of(code, bench), bench)
    assert (minutes.changing, minutes.reading) == (changing, reading)
