"""What a test puts where, on the wiring diagram."""

from generator.model.topology import PROBES
from generator.workbooks.signs import _DROPS


def test_drop_belongs_to_what_lies_between_its_probes():
    """A reading between two points stands at neither of them."""
    between = {name for name, (_, minus) in PROBES.items() if minus != "0"}
    assert between <= set(_DROPS), "name its part in generator/workbooks/signs.py"
