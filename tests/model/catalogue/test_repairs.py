"""Every repair has words, and minutes that it takes with the test after it."""

import pytest

from generator.model.catalogue.repairs import (
    _SECTIONS,
    REPAIRS,
    repair_text,
    wrong_repair_minutes,
)
from generator.model.catalogue.tests import TESTS
from generator.model.places import PLACE_IDS

# Powers of two: what is paid twice, or not at all, shows in any sum.
REACH = {place: 2.0**n for n, place in enumerate(PLACE_IDS, start=7)}


def reached(*places):
    """Minutes to reach some places, each once."""
    return sum(REACH[place] for place in set(places))


def test_repair_of_two_parts_names_both_in_one_sentence():
    """One correction to tick, whatever has to be done."""
    text = repair_text("replace_load+mend_load_ground")
    assert text.startswith("Replace the {load}; and repair the ground connection")
    assert repair_text("restore_enable") == REPAIRS["restore_enable"].text


@pytest.mark.parametrize("repair", REPAIRS)
def test_wrong_repair_takes_itself_and_the_test_that_shows_it(repair):
    """The way to its part, the repair, and then a test of the catalogue."""
    own = REPAIRS[repair]
    test = TESTS[own.verified_by]
    places = {own.place, *test.needs} - {None}
    assert own.minutes > 0
    expected = own.minutes + test.minutes + reached(*places)
    assert wrong_repair_minutes(repair, REACH) == expected


def test_two_repairs_are_verified_by_one_test():
    """The longer of their readings follows when both are done, at the places of both.

    The fuse is at the box where the lead goes too: that way is paid once.
    """
    both = wrong_repair_minutes("replace_load_fuse+restore_enable", REACH)
    parts = [REPAIRS[name] for name in ("replace_load_fuse", "restore_enable")]
    tests = [TESTS[part.verified_by].minutes for part in parts]
    own = sum(part.minutes for part in parts) + max(tests)
    assert both == own + reached("fuse_box", "scan_tool")


def test_repairs_are_done_where_their_part_is():
    """Each has a place of the sheet, but the three that are done beside the circuit."""
    without = {name for name, repair in REPAIRS.items() if repair.place is None}
    assert without == {"restore_enable", "mend_input", "explain_use"}
    assert {repair.place for repair in REPAIRS.values()} <= {*PLACE_IDS, None}


def test_repair_mends_a_section_that_the_page_names():
    """Its own, or that after which it is named; a relay's by the fault."""
    assert not REPAIRS["replace_relay"].section
    for name, repair in REPAIRS.items():
        if name != "replace_relay":
            assert (repair.section or name.partition("_")[2]) in _SECTIONS


def test_enable_input_is_verified_with_a_normal_command():
    """An output test drives the output whatever the inputs say."""
    assert TESTS["load_current"].setup.command == "output test"
    assert TESTS[REPAIRS["restore_enable"].verified_by].setup.command == "normal"


def test_wire_to_ground_is_mended_at_the_relay_and_not_at_the_module():
    """Behind the coil of a high-side circuit stands no module.

    So its repair costs the way to the relay's terminals; all others cost what they do
    on a low-side circuit.
    """
    away = {
        repair: wrong_repair_minutes(repair, REACH, is_high_side=True)
        - wrong_repair_minutes(repair, REACH)
        for repair in REPAIRS
    }
    moved = {repair: minutes for repair, minutes in away.items() if minutes}
    assert moved == {"mend_control_return": REACH["relay_pins"] - REACH["module"]}
