"""Our solver and ngspice, two programs that share no code, give the same circuits."""

import math

import numpy as np
import pytest

from generator.model.network import Branch, Network
from generator.model.solving import solve
from tests.reference import ngspice

VOLTS_APART = 1e-6
AMPS_APART = 1e-9
FRACTION_APART = 1e-3


def random_network(rng: np.random.Generator) -> Network:
    """A tree from ground, a tenth of it ideal, with cross links, a fifth of it open."""
    nodes = ["0", *(f"n{i}" for i in range(1, rng.integers(3, 12)))]
    tree = [(nodes[rng.integers(i)], node) for i, node in enumerate(nodes) if i]
    links = [tuple(rng.choice(nodes, 2, replace=False)) for _ in nodes]
    branches = [
        Branch(f"b{i}", start, end, ohms, float(rng.choice([0.0, rng.normal(0, 12)])))
        for i, (start, end, ohms) in enumerate(
            [(*ends, random_resistance(rng, 0.0, 0.1)) for ends in tree]
            + [(*ends, random_resistance(rng, math.inf, 0.2)) for ends in links]
        )
    ]
    return Network(branches=tuple(branches))


def random_resistance(rng: np.random.Generator, special: float, share: float) -> float:
    """A milliohm to ten megohms, or now and then a special value.

    A tenth of a milliohm in series with ten megohms was tried: against exact fractions
    either program is then wrong by a microvolt, by the rounding of double precision.
    """
    return special if rng.random() < share else float(10 ** rng.uniform(-3, 7))


@pytest.fixture(scope="module")
def pairs():
    """Sixty networks, each with the answers of both programs."""
    rng = np.random.default_rng(20261125)
    networks = [random_network(rng) for _ in range(60)]
    answers = ngspice.solve_with_ngspice(networks)
    return [
        (solve(ours), theirs) for ours, theirs in zip(networks, answers, strict=True)
    ]


def test_voltages_agree_with_ngspice(pairs):
    """Every node is within 0.1 % or one microvolt."""
    for ours, (volts, _) in pairs:
        assert dict(ours.voltage_v) == pytest.approx(
            volts, rel=FRACTION_APART, abs=VOLTS_APART
        )


def test_currents_agree_with_ngspice(pairs):
    """Every branch is within 0.1 % or one nanoampere."""
    for ours, (_, amps) in pairs:
        assert dict(ours.current_a) == pytest.approx(
            amps, rel=FRACTION_APART, abs=AMPS_APART
        )


def test_random_networks_cover_the_special_values():
    """Ideal branches, opens, tiny and big resistances all occur."""
    rng = np.random.default_rng(20261125)
    ohms = [b.resistance_ohm for _ in range(60) for b in random_network(rng).branches]
    assert 0.0 in ohms
    assert math.inf in ohms
    assert any(0 < value < 1e-2 for value in ohms)
    assert any(1e6 < value < math.inf for value in ohms)


def test_island_without_ground_reads_nan_and_keeps_its_currents():
    """A ring with no path to ground has currents in both programs, but no voltage."""
    network = Network(
        branches=(
            Branch("load", "0", "a", 1.0, 2.0),
            Branch("back", "a", "0", 1.0),
            Branch("cut", "a", "x", math.inf),
            Branch("cell", "x", "y", 5.0, 1.0),
            Branch("lamp", "y", "x", 5.0),
        )
    )
    ours, [(volts, amps)] = solve(network), ngspice.solve_with_ngspice([network])
    assert dict(ours.voltage_v) == pytest.approx(volts, nan_ok=True)
    assert math.isnan(volts["x"])
    assert dict(ours.current_a) == pytest.approx(amps)
    assert amps["cell"] == pytest.approx(0.1)


def test_missing_ngspice_skips_here_and_fails_in_ci(monkeypatch, tmp_path):
    """Only a developer's machine may go without the second program."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="not installed"):
        ngspice.ngspice_or_skip()
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="not installed"):
        ngspice.ngspice_or_skip()
