"""Complaint, readings and words of a drawn exercise never contradict each other."""

import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import repair_text
from generator.model.complaints import MANNERS
from generator.model.variant import Variant
from lessons.loader import read_lesson
from tests.drawn import SECRET, exercise, for_each_radical

BOOK = read_lesson("whole-circuit")
# Words of what must be as it is for an enable input to be present.
RUNNING = ("engine running", "engine above", "supply above")
STANDING = ("engine stopped", "engine off")
# A driver on the high side stands before the coil, whose other end goes to ground.
WIRES = {
    "low side": ("fuse {control_fuse}", "to the control module"),
    "high side": ("the driver of {module}", "to ground"),
}
# What no meter has to tell: whether the load stands, is weak, or does its work.
IDLE = ("does nothing", "works weakly")
TURNS_FREE = ("mechanism_free", "air_gap_excessive")


def manner_of(drawn):
    """To which causes the operator's words point, or nothing."""
    said = drawn.specification.family.complaint.said(drawn.symptom)
    return next(manner for manner, text in said if text == drawn.complaint)


def check_words(drawn):
    """Enable inputs, complaint and causes of one exercise agree."""
    inputs = " ".join(drawn.specification.family.enable)
    supply = drawn.specification.variant.supply
    against = RUNNING if supply == "battery only" else STANDING
    assert not any(words in inputs for words in against)
    manner = manner_of(drawn)
    assert manner is None or manner in MANNERS[drawn.symptom]
    for cause in drawn.candidates:
        if manner == "moved":
            assert "only when the harness moves" in cause.title
        elif manner == "warm":
            assert "only when it is warm" in cause.title
        elif manner == "silent":
            assert cause.id not in TURNS_FREE


def check_readings(drawn):
    """What tests show of each cause is what the operator complains of."""
    tests = [test.id for test in drawn.tests]
    for cause, row in zip(drawn.candidates, drawn.outcome, strict=True):
        shown = dict(zip(tests, row, strict=True))
        # Bridged past relay and control side, and a new fuse, the load may work again.
        is_passed = (
            cause.side == "control side"
            or "contacts" in cause.id
            or shown["look_load_fuse"] == "open"
            or drawn.symptom == "comes and goes"
        )
        if "load_check" in shown and not is_passed:
            works = drawn.symptom not in IDLE
            assert (shown["load_check"] == "yes") == works, cause.id
        if drawn.symptom == "runs hot":
            word, _comma, _fuse = shown["load_current"].partition(",")
            is_holder = cause.id == "fuse_holder_hot"
            assert word in (("expected",) if is_holder else ("high", "over limit"))
        if drawn.symptom == "comes and goes" and cause.id == "nothing_wrong":
            assert row == drawn.sound_outcome


@for_each_radical
def test_exercise_does_not_contradict_itself(radical):
    """Of every fault, in the families of the mixed lesson."""
    check_words(exercise(radical))
    check_readings(exercise(radical))


@pytest.mark.parametrize("family", BOOK.families, ids=lambda family: family.id)
@pytest.mark.parametrize("supply", ["charging", "battery only"])
def test_no_family_contradicts_itself(family, supply):
    """With either supply asked for, and a cause that comes and goes, or free."""
    for fault in ("coil_open", "load_wire_open_at_times", "mechanism_free"):
        if family.kind in FAULTS[fault].kinds:
            radical = Radical(
                lesson=BOOK.lesson.id,
                family=family.id,
                fault=fault,
                variant=Variant(supply=supply),
            )
            labels = ("words", family.id, supply, fault)
            drawn = new_exercise(BOOK, radical, SECRET.value, labels)
            check_words(drawn)
            check_readings(drawn)


@pytest.mark.parametrize("drive", WIRES)
def test_wires_of_the_coil_are_named_by_where_they_lead(drive):
    """In causes and corrections alike; no wire is named that the circuit has not."""
    variant = Variant(fuses="two", drive=drive)
    family = BOOK.families[0]
    specification = new_specification(
        BOOK.lesson, family, variant, Stream(SECRET.value, "wires", drive)
    )
    names = specification.names
    feed, back = (names.put(text) for text in WIRES[drive])
    for kind in ("open", "resistance"):
        assert feed in names.fill(FAULTS[f"control_feed_{kind}"].title)
    assert feed in names.fill(repair_text("mend_control_feed"))
    assert back in names.fill(FAULTS["control_return_open"].title)
    assert names.fill(repair_text("mend_control_return")).endswith(back)
