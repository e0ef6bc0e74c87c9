"""What a test puts where, on the wiring diagram."""

from generator.model.catalogue.tests import TESTS
from generator.model.topology import PROBES
from generator.workbooks.signs import _DROPS, range_of


def test_drop_belongs_to_what_lies_between_its_probes():
    """A reading between two points stands at neither of them."""
    between = {name for name, (_, minus) in PROBES.items() if minus != "0"}
    assert between <= set(_DROPS), "name its part in generator/workbooks/signs.py"


def test_scan_tool_has_no_range_of_a_meter():
    """It shows what a module says, and no voltmeter stands behind it."""
    assert not range_of(TESTS["read_sensed_current"], "4.0 A")
    assert range_of(TESTS["load_current"], "47.63 mV") == "60 mV"
