"""Every fault lies in a section of the circuit, along the path of its current."""

from dataclasses import replace

import pytest

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import sections_along, sections_of
from tests.circuits import FAN, fit_for

SHARED = replace(FAN, is_fuse_shared=True)
HIGH_SIDE = replace(FAN, is_high_side=True)


def ids(circuit):
    """Ids of a circuit's sections, in order."""
    return [section.id for section in sections_along(circuit)]


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
def test_fault_lies_in_sections_of_its_circuit(fault):
    """Each fault has a place in the circuit, one with two repairs has two."""
    circuit = fit_for(fault.id, FAN)
    places = sections_of(fault, circuit)
    assert len(places) == len(fault.repair.split("+"))
    assert places <= set(ids(circuit))


def test_relay_is_two_sections_in_two_circuits():
    """Coil and contacts are one part to replace, but two places to look."""
    branches = {section.id: section.branch for section in sections_along(FAN)}
    assert sections_of(FAULTS["coil_open"], FAN) == {"coil"}
    assert sections_of(FAULTS["contacts_open"], FAN) == {"contacts"}
    assert (branches["coil"], branches["contacts"]) == (
        "control circuit",
        "load circuit",
    )


def test_driver_stands_where_its_circuit_has_it():
    """Behind the coil on the low side, before it on the high side."""
    low, high = ids(FAN), ids(HIGH_SIDE)
    assert low.index("coil") < low.index("module")
    assert high.index("module") < high.index("coil")
    assert "module_ground" not in high


def test_shared_fuse_feeds_both_circuits():
    """Where both circuits have one fuse it is in neither of them alone."""
    assert sections_of(FAULTS["load_fuse_open"], SHARED) == {"shared_fuse"}
    assert not {"control_fuse", "load_fuse"} & set(ids(SHARED))
    (shared,) = (one for one in sections_along(SHARED) if one.id == "shared_fuse")
    assert shared.branch == "both circuits"


def test_sections_follow_the_current():
    """The load circuit is read from its fuse to what its load moves."""
    load = [s.id for s in sections_along(FAN) if s.branch == "load circuit"]
    assert load[0] == "load_fuse"
    assert load[-4:] == ["load", "load_ground", "mechanism", "surroundings"]
