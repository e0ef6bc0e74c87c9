"""Every repair has words, and minutes that it takes with the test after it."""

import pytest

from generator.model.catalogue import TESTS
from generator.model.repairs import REPAIRS, repair_text, wrong_repair_minutes


def test_repair_of_two_parts_names_both_in_one_sentence():
    """One correction to tick, whatever has to be done."""
    text = repair_text("replace_load+mend_load_ground")
    assert text.startswith("Replace the {load}; and repair the ground connection")
    assert repair_text("restore_enable") == REPAIRS["restore_enable"].text


@pytest.mark.parametrize("repair", REPAIRS)
def test_wrong_repair_takes_itself_and_the_test_that_shows_it(repair):
    """A repair takes minutes, and then a test of the catalogue."""
    minutes, test = REPAIRS[repair].minutes, TESTS[REPAIRS[repair].verified_by]
    assert minutes > 0
    assert wrong_repair_minutes(repair) == minutes + test.minutes


def test_two_repairs_are_verified_by_one_test():
    """The longer of their tests follows when both are done."""
    both = wrong_repair_minutes("replace_load_fuse+restore_enable")
    parts = [REPAIRS[name] for name in ("replace_load_fuse", "restore_enable")]
    tests = [TESTS[part.verified_by].minutes for part in parts]
    assert both == sum(part.minutes for part in parts) + max(tests)


def test_enable_input_is_verified_with_a_normal_command():
    """An output test drives the output whatever the inputs say."""
    assert TESTS["load_current"].setup.command == "output test"
    assert TESTS[REPAIRS["restore_enable"].verified_by].setup.command == "normal"
