"""What is asked after a repair proves it: it read wrong before."""

from generator.drawing.after_repair import verification_of
from tests.drawn import EACH_FAULT, exercise, for_each_radical


def displayed(drawn, test):
    """What the meter of a test showed on the vehicle, as it came in [V]."""
    place = [each.id for each in drawn.tests].index(test)
    clamp = drawn.tests[place].measure.clamp
    value = drawn.readings[place].value
    return value * (clamp.scale_v_per_a if clamp else 1.0)


@for_each_radical
def test_reading_after_the_repair_was_wrong_before(radical):
    """On this vehicle, unless no meter told of the fault: then that is said."""
    drawn = exercise(radical)
    asked = verification_of(drawn)
    low, high = asked.band
    was_right = low <= displayed(drawn, asked.test) <= high
    assert was_right == ("No meter read wrong" in asked.help)


@for_each_radical
def test_every_correction_has_a_number_of_its_own(radical):
    """The same for all causes that it cures, so that it tells none of them."""
    drawn = exercise(radical)
    for repair in {cause.repair for cause in drawn.candidates}:
        asked = verification_of(drawn, repair)
        assert asked.unit == "V"
        assert asked.band[0] <= asked.value <= asked.band[1]
        assert asked.is_clear


def test_tests_that_are_done_again_fit_their_complaints():
    """What never stops is read with the command off, an upset with a scope or clamp."""
    asked = {}
    for radical in EACH_FAULT:
        drawn = exercise(radical)
        test = verification_of(drawn).test
        asked.setdefault(drawn.symptom, set()).add(test)
    assert "load_current_off" in asked["never stops"]
    assert {"scope_turn_off", "control_current"} <= asked["upsets the module"]
    assert {"load_current", "control_current"} <= asked["does nothing"]


@for_each_radical
def test_eyes_see_after_the_repair_that_the_complaint_is_gone(radical):
    """The step says what to look at, whatever number it asks for."""
    drawn = exercise(radical)
    names = drawn.specification.names
    seen = {
        "never stops": f"the {names.load} is on with demand, and off without",
        "upsets the module": "nothing restarts",
    }.get(drawn.symptom, names.work)
    for repair in {cause.repair for cause in drawn.candidates}:
        words = verification_of(drawn, repair).help
        assert "And look: " in words
        assert seen in words.partition("And look: ")[2]
