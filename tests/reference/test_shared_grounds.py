"""Ground joints that loads share: what lessons say of them, by ngspice and by hand."""

import pytest

from generator.model.measure import Setup
from generator.model.network import Branch, Network
from generator.model.topology import AT, network_of
from tests.circuits import WITH_NEIGHBOUR, broken, settled
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


# The same for 3 A of a valve: lamps that are off on either side, one behind the other.
LAMP_HOT_OHM, LAMP_RATED_V, LAMP_EXPONENT = 1.95, 13.5, 0.45


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


@pytest.mark.parametrize("is_out", [False, True], ids=["plugged", "unplugged"])
def test_model_of_an_open_shared_ground_agrees_with_ngspice(is_out):
    """And both with the closed form: all of the load's current, or none, goes back."""
    valve = broken(WITH_NEIGHBOUR, "shared_ground_open")
    state = settled(valve, Setup(neighbour_unplugged=is_out))
    [(_, amps)] = solve_with_ngspice([network_of(state, (0, 0, 0))])
    modelled = float(state.current("load")[0, 0, 0])
    assert amps.get("load", 0.0) == pytest.approx(modelled, rel=1e-3, abs=1e-6)
    assert amps.get("neighbour", 0.0) == pytest.approx(modelled, rel=1e-3, abs=1e-6)
    if not is_out:
        load_v = float(state.resistance_ohm[0, 0, 0, AT["load"]]) * modelled
        assert load_v + 1.5 * modelled == pytest.approx(14.0, rel=0.02)


def test_lamps_that_are_off_have_the_ohms_of_the_way_back():
    """Two filaments in a row at 2.5 A, by bisection on their law: 1.5 to 1.8 Ω.

    Each has 0.4 times its hot ohms there, and a twentieth of its power: it glows.
    """
    low_v, high_v = 0.0, LAMP_RATED_V
    for _ in range(60):
        volts = (low_v + high_v) / 2
        ohm = LAMP_HOT_OHM * (volts / LAMP_RATED_V) ** LAMP_EXPONENT
        low_v, high_v = (volts, high_v) if volts / ohm < 2.5 else (low_v, volts)
    assert 1.5 < 2 * ohm < 1.8
    assert 0.02 < (volts**2 / ohm) / (LAMP_RATED_V**2 / LAMP_HOT_OHM) < 0.1
