"""What a set-up as a test says of the reading of a sound circuit."""

import pytest

from tests.drawn import EACH_FAULT, exercise
from tests.keys import page_content_of
from workbook.measuring.offered import judged_test
from workbook.record.payload import exercises_from_payload


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("@off volts supply 0 6000", "The range ends at 6 V, below what is there"),
        ("@off volts 0 supply", "V: the leads are swapped."),
        ("@off volts 0 supply", "That is -"),
        ("@off volts supply 0", "That is 1"),
        ("@test lf=lead clamp load_fuse 10", "A counts as none."),
    ],
)
def test_sound_reading_is_told_as_the_meter_has_it(code, says):
    """By the end of its range where that is too low, and by its sign."""
    content = page_content_of(exercise(EACH_FAULT[0]), 1, "practice")
    page = exercises_from_payload({"exercises": [content]})[1]
    feedback = judged_test(page, page.bench, (), code).feedback
    assert says in feedback.sound_text


@pytest.mark.parametrize(
    ("code", "title"),
    [
        ("@test lf=lead clamp load_fuse 10", "around fused lead at F"),
        ("@test clamp load_fuse 10", "around load fuse F"),
        ("@test clamp load_fuse 10", " in its holder, under"),
        ("@test lf=out clamp load_fuse 10", "around the empty holder of load fuse F"),
        ("@test re=jumper clamp jumper 10", "around fused jumper between 30 and 87"),
        ("@test clamp jumper 10", "around 30 and 87 without a jumper"),
    ],
)
def test_title_names_what_is_in_the_jaw(code, title):
    """A lead or a jumper only where it was put."""
    content = page_content_of(exercise(EACH_FAULT[0]), 1, "practice")
    page = exercises_from_payload({"exercises": [content]})[1]
    assert title in judged_test(page, page.bench, (), code).test.title
