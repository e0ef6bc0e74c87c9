"""Every fault and every test has a name that holds for all vehicles."""

import pytest

from answer_keys.reports.general_names import fault_name, test_name
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS


@pytest.mark.parametrize(
    "name",
    [*(fault_name(one, "") for one in FAULTS), *(test_name(one, "") for one in TESTS)],
)
def test_names_have_no_gap(name):
    """A report would stop at a word that it cannot fill in."""
    assert name
    assert "{" not in name
