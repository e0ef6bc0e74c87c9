"""Ground joints that loads share: what lessons say of them, by ngspice and by hand."""

import pytest

from generator.model.network import Branch, Network
from tests.reference.ngspice import solve_with_ngspice

SUPPLY = Branch("battery", "0", "supply", 0.001, 14.0)


def on_one_joint(*loads_ohm):
    """Loads side by side, all of them to ground by one bad joint of 0.2 Ω."""
    loads = [Branch(f"load {n}", "supply", "g", ohm) for n, ohm in enumerate(loads_ohm)]
    return Network(branches=(SUPPLY, *loads, Branch("joint", "g", "0", 0.2)))


# Brake light on, tail lights off: their feed hangs by no switch. The left lamp has lost
# the ground that its filaments share, the right one has its own.
REAR_LAMPS = Network(
    branches=(
        SUPPLY,
        Branch("left brake", "supply", "left", 7.0),
        Branch("left tail", "tail feed", "left", 20.0),
        Branch("right brake", "supply", "0", 7.0),
        Branch("right tail", "tail feed", "0", 20.0),
    )
)


def test_other_load_takes_voltage_from_one_that_shares_its_ground():
    """14 V over 1 Ω and 0.2 Ω leave 11.7 V; with 2 Ω beside it, 10.8 V.

    By hand: 1 Ω beside 2 Ω is 2/3 Ω, of 13/15 Ω altogether.
    """
    found = solve_with_ngspice([on_one_joint(1.0), on_one_joint(1.0, 2.0)])
    left_v = [amps["load 0"] * 1.0 for _, amps in found]
    assert left_v == pytest.approx([14 / 1.2, 14 * 10 / 13], rel=2e-3)
    joint_v = [volts["g"] for volts, _ in found]
    assert joint_v == pytest.approx([14 - left for left in left_v], rel=5e-3)


def test_current_without_a_ground_goes_backwards_through_a_lamp_that_is_off():
    """By hand: 14 V over 7, 20 and 20 Ω in a row, under half of a lamp's own 0.7 A."""
    [(_, amps)] = solve_with_ngspice([REAR_LAMPS])
    back_a = 14 / 47
    assert amps["left brake"] == pytest.approx(back_a, rel=1e-3)
    assert amps["left tail"] == pytest.approx(-back_a, rel=1e-3)
    assert amps["right tail"] == pytest.approx(back_a, rel=1e-3)
    assert 0.3 < back_a / (14 / 20) < 0.5
