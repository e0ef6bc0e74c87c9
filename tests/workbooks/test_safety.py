"""What is dangerous is said at the test that it belongs to, in every language."""

from functools import cache

import pytest

from generator.drawing.exercise_draw import new_exercise
from generator.drawing.radical import Radical
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import WRONG_STATES
from generator.workbooks.page_records import page_record
from lessons.loader import read_lesson
from tests.drawn import PLAIN, SECRET, VARIANT_OF
from workbook.cautions import CAUTIONS
from workbook.texts import LANGUAGES, _, speaking

BOOK = read_lesson("whole-circuit")
FAMILIES = {family.id: family for family in BOOK.families}
# What these hold or free can kill: a boom, a rope, a tiller, a raised cab.
HOLDING = {"crane-valve", "winch-clutch", "tiller-lock", "cab-tilt-pump"}
JUMPERS = {test.id for test in TESTS.values() if test.setup.jumper}
DRIVEN = JUMPERS | {
    test.id
    for test in TESTS.values()
    if "output test" in f"{test.title} {test.how} {test.before}".lower()
    or "drives the output" in test.how
}


@cache
def drawn(family, fault="contacts_open"):
    """One exercise of a family, with a fault that every family can have."""
    variant = VARIANT_OF.get(fault, PLAIN)
    radical = Radical(
        lesson=BOOK.lesson.id, family=family, fault=fault, variant=variant
    )
    return new_exercise(BOOK, radical, SECRET.value, ("safety", family))


def hazards_of(family, language, fault="contacts_open"):
    """What a page warns of, by test."""
    with speaking(language):
        page = page_record(drawn(family, fault), 1, "practice")
    return {test.id: test.hazards for test in page.tests}


def test_driven_tests_are_known():
    """Every reading of the load side with current, and what bridges the relay."""
    of_switch = {"load_current_past_switch"}
    assert {"load_current_bridged", "load_check"} == JUMPERS - of_switch
    assert {"load_current", "drop_30_87", "voltage_85", "scope_turn_off"} < DRIVEN
    assert not {"control_current", "load_current_off", "coil_resistance"} & DRIVEN


def test_no_jumper_frees_what_holds_a_load():
    """Families that hold or free something have no such test; all others have both."""
    assert {f.id for f in FAMILIES.values() if f.no_jumper} == HOLDING
    for family in FAMILIES.values():
        offered = {test.id for test in drawn(family.id).tests}
        wanted = {"load_current_bridged"}
        wanted |= {"load_check"} if family.mechanism else set()
        assert offered & JUMPERS == (set() if family.id in HOLDING else wanted)
        behind = {test.id for test in drawn(family.id, "switch_open").tests}
        wanted = {"load_current_past_switch"}
        assert behind & JUMPERS == (set() if family.id in HOLDING else wanted)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("fault", ["contacts_open", "switch_open"])
@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_driven_tests_say_what_they_override_and_how_to_secure_it(
    family, fault, language
):
    """Each names every enable input, and what the family says of its securing."""
    hazards = hazards_of(family.id, language, fault)
    with speaking(language):
        secure = _(family.secure or "")
        inputs = [_(name) for name in family.enable]
    for test in DRIVEN & set(hazards):
        said = " ".join(hazards[test])
        assert all(name in said for name in inputs)
        assert not secure or secure in hazards[test]
    assert all(text for texts in hazards.values() for text in texts)
    assert not any("{" in text for texts in hazards.values() for text in texts)


def test_securing_is_said_in_german_too():
    """No family's text is left in English."""
    with speaking("de"):
        for family in FAMILIES.values():
            assert not family.secure or _(family.secure) != family.secure


def test_recordings_last_longer_than_a_load_that_must_cool_is_driven():
    """A minute at a time with pauses, and the recording waits: both can be done."""
    limited = [f.secure for f in FAMILIES.values() if "minute" in (f.secure or "")]
    assert len(limited) == 3
    for secure in limited:
        assert "for at most a minute at a time, with pauses to cool" in secure
    recorded = [t for t in TESTS.values() if t.sorting == "recorded current"]
    assert recorded
    for test in recorded:
        assert test.minutes > 2
        assert "waits while the output test pauses" in test.how
    warmed = [test for test in TESTS.values() if test.measure.kind == "warmth"]
    assert warmed
    assert all("has run for a minute" in test.how for test in warmed)


def test_hands_come_after_engine_and_key():
    """Before a hand moves or unplugs a load, the engine stands and the key is out."""
    for name in ("move_by_hand", "load_resistance"):
        test = TESTS[name]
        assert "engine is stopped and the key is out" in test.before
        assert any("Engine stopped, key out" in hazard for hazard in test.hazards)


def test_fuse_is_not_drawn_under_load():
    """Looks and fused leads say what to do with a load that never stops."""
    for test in TESTS.values():
        said = f"{test.before} {' '.join(test.hazards)}"
        is_drawn = test.measure.target.endswith("_fuse")
        # A thermometer is held to a fuse that stays where it is.
        is_drawn &= not test.setup.load_lead and test.measure.kind != "warmth"
        if is_drawn:
            assert "relay" in said


def test_module_is_unplugged_asleep():
    """Ignition off and the module asleep, before its plug is drawn."""
    test = TESTS["control_current_unplugged"]
    assert "asleep" in test.before
    assert any("sleeps" in hazard for hazard in test.hazards)
    # An ignition switch upstream would else keep every current from flowing.
    assert test.before.endswith("For the reading the ignition is on again.")


def test_fused_lead_is_spoken_of_where_one_is_fitted_and_nowhere_else():
    """Whoever puts the clamp around a wire fits none."""
    for test in (*TESTS.values(), *(wrong.test for wrong in WRONG_STATES)):
        fits = test.setup.control_lead or test.setup.load_lead
        assert fits == any("fused lead" in hazard for hazard in test.hazards)


def test_empty_socket_is_measured_with_the_ignition_on():
    """Fuses behind an ignition switch have no supply without it."""
    sockets = [test for test in TESTS.values() if test.setup.relay_out]
    assert sockets
    assert all("The ignition is on" in test.before for test in sockets)


@pytest.mark.parametrize(
    "word", ["engine stopped", "interlocks", "asleep", "Rings", "under load"]
)
def test_every_workbook_warns_of_it(word):
    """Among the cautions that stand in each workbook, report and handout."""
    assert any(word in caution for caution in CAUTIONS)
