"""Cause and correction are marked by what the readings prove."""

import pytest

from tests.answer_keys.samples import (
    BRIDGED,
    IDS,
    TEST_IDS,
    cause_of,
    key_content,
    marks_of,
    progress_after,
    record_content,
    sample_record,
)
from tests.keys import answer_key_of


@pytest.mark.parametrize(
    ("fault", "said", "tests", "share", "words"),
    [
        ("coil_open", "coil_open", BRIDGED, 1, "“Relay coil open” was the cause."),
        ("coil_open", "contacts_open", BRIDGED, 1, "counts in full"),
        ("coil_open", "contacts_open", ("control_current",), 0, "was ruled out by"),
        ("coil_open", "driver_stuck_off", BRIDGED, 0, "had not proved it"),
        ("motor_seized", "coil_open", BRIDGED, 0, "which read “613 mV”"),
    ],
)
def test_cause_counts_if_no_reading_tells_it_from_the_fault(
    fault, said, tests, share, words
):
    """The fault, or one of the same repair that no reading done has ruled out."""
    record = sample_record(fault)
    progress = progress_after(record, tests, cause=cause_of(record, said))
    (cause,) = marks_of(record, progress, "cause")
    assert cause.mark == share * cause.out_of
    assert words in cause.reason


def test_correction_is_judged_by_the_repair():
    """A repair that does not cure the fault has no mark."""
    record = sample_record("coil_open")
    (right,) = marks_of(record, progress_after(record, BRIDGED), "correction")
    assert right.reason == "“Replace the relay by one of the same part” cures it."
    progress = progress_after(record, BRIDGED, correction="r07")
    (wrong,) = marks_of(record, progress, "correction")
    assert wrong.mark == 0
    assert "“Replace the fan” does not cure it" in wrong.reason


def test_correction_counts_only_with_its_cause():
    """Whoever names a cause that the readings rule out mended the part by luck."""
    record = sample_record("coil_open")
    said = cause_of(record, "contacts_open")
    progress = progress_after(record, ("control_current",), cause=said)
    (correction,) = marks_of(record, progress, "correction")
    assert correction.mark == 0
    assert "counts only with the cause that it follows from" in correction.reason


def test_correction_of_another_part_than_the_cause_is_named():
    """Cause and correction have to fit together, right or wrong."""
    record = sample_record("coil_open")
    beside = progress_after(record, BRIDGED, correction="r07")
    (mark,) = marks_of(record, beside, "correction")
    assert mark.misconception == "repair_beside_cause"
    cause = cause_of(record, "motor_seized")
    fitting = progress_after(record, BRIDGED, cause=cause, correction="r07")
    (mark,) = marks_of(record, fitting, "correction")
    assert mark.misconception == ""


@pytest.mark.parametrize(
    ("fault", "said", "tests", "misconception"),
    [
        ("motor_seized", "coil_open", BRIDGED, "relay_though_cleared"),
        ("motor_seized", "driver_stuck_off", BRIDGED, "module_though_cleared"),
        ("load_ground_high", "motor_seized", BRIDGED, "load_though_cleared"),
        ("load_ground_high", "load_wire_open", BRIDGED, "ruled_out_cause"),
        (
            "driver_stuck_off",
            "coil_open",
            ("control_current",),
            "none_blames_relay",
        ),
        ("coil_open", "driver_stuck_off", BRIDGED, "named_before_proof"),
    ],
)
def test_wrong_cause_tells_its_misconception(fault, said, tests, misconception):
    """What the readings had left decides by which wrong rule a cause was named."""
    record = sample_record(fault)
    progress = progress_after(record, tests, cause=cause_of(record, said))
    (cause,) = marks_of(record, progress, "cause")
    assert (cause.mark, cause.misconception) == (0, misconception)


def test_blown_fuse_is_no_cause_where_something_blew_it():
    """A fuse that a short has opened is a finding."""
    content = record_content(fault="load_wire_open")
    column = TEST_IDS.index("look_load_fuse")
    content["reasoning"]["outcomes"][IDS.index("load_wire_open")][column] = "no"
    content["tests"][column] |= {"outcome": "no", "statement": "no"}
    (record,) = answer_key_of(key_content() | {"exercises": [content]}).exercises
    said = cause_of(record, "load_fuse_open")
    progress = progress_after(record, ("look_load_fuse",), cause=said)
    (cause,) = marks_of(record, progress, "cause")
    assert (cause.mark, cause.misconception) == (0, "fuse_without_reason")
