"""The usual places: complete, in the order of the sheet, and near ones quicker."""

from generator.model.catalogue.repairs import REPAIRS
from generator.model.catalogue.tests import TESTS
from generator.model.places import PLACE_IDS, USUAL


def test_every_place_has_words_and_a_range_of_minutes():
    """One row of the sheet each, in one order."""
    assert tuple(USUAL) == PLACE_IDS
    for place in USUAL.values():
        low, high = place.minutes
        assert 0 < low < high
        assert place.label
        assert place.where


def test_every_place_is_needed_by_a_test_or_a_repair():
    """Nothing stands on the sheet that nobody goes to."""
    needed = {place for test in TESTS.values() for place in test.needs}
    needed |= {repair.place for repair in REPAIRS.values() if repair.place}
    assert needed == {*PLACE_IDS}


def test_fuses_are_nearer_than_any_part():
    """Why current comes first: whatever is drawn, the way to a part takes longer."""
    _, at_most = USUAL["fuse_box"].minutes
    for part in ("relay_pins", "module", "load"):
        at_least, _ = USUAL[part].minutes
        assert at_least > at_most
