"""The circuits that students read, solved once more by ngspice.

Random exercises and tests, each network as it stands in the answer key. Voltages agree
within 0.1 % or one microvolt. Currents agree within 0.1 % or one microampere, a
hundredth of the smallest step that a clamp on its 100 mV/A scale can show (100 µA).
"""

import math

import numpy as np
import pytest

from generator.model.network import Branch, Network
from tests.reference import ngspice
from tests.writing.drawn import RADICALS, key

CASES = 240
FRACTION_APART = 1e-3
VOLTS_APART = AMPS_APART = 1e-6


def network_of_record(record):
    """The network of an answer key's record."""
    return Network(
        branches=tuple(Branch(**branch) for branch in record["branches"]),
        ground=record["ground"],
    )


@pytest.fixture(scope="module")
def cases():
    """Tests that measure a current or a voltage, with what ngspice makes of them."""
    every = [
        test
        for radical in RADICALS
        for test in key(radical)["tests"]
        if test["measures"]["kind"] in ("current", "voltage")
        and test["setup"]["branches"]
    ]
    chosen = np.random.default_rng(20261125).permutation(len(every))[:CASES]
    tests = [every[i] for i in chosen]
    answers = ngspice.solve_with_ngspice([network_of_record(t["setup"]) for t in tests])
    return list(zip(tests, answers, strict=True))


def read(measures, answer):
    """What a test measures, from the answer of the other program."""
    volts, amps = answer
    if measures["kind"] == "current":
        return amps.get(measures["branch"], 0.0)
    return volts[measures["node_plus"]] - volts[measures["node_minus"]]


def test_there_are_cases_of_both_quantities(cases):
    """Two hundred cases and more, currents and voltages, with and without flow."""
    assert len(cases) >= 200
    for kind in ("current", "voltage"):
        values = [t["true_value"] for t, _ in cases if t["measures"]["kind"] == kind]
        assert len(values) > 50
        assert min(map(abs, values)) < 1e-6
        assert max(map(abs, values)) > 1


def test_true_values_agree_with_ngspice(cases):
    """Within 0.1 % or one microvolt, one microampere."""
    for test, answer in cases:
        found = read(test["measures"], answer)
        assert not math.isnan(found)
        assert test["true_value"] == pytest.approx(
            found, rel=FRACTION_APART, abs=VOLTS_APART
        )


def test_sound_circuits_agree_with_ngspice():
    """Every circuit before it broke draws in ngspice what the page expects of it."""
    records = [key(radical) for radical in RADICALS]
    answers = ngspice.solve_with_ngspice(
        [network_of_record(record["circuit"]) for record in records]
    )
    for record, (_, amps) in zip(records, answers, strict=True):
        bands = {p["id"]: p["band"] for p in record["predictions"]}
        for name, branch in (
            ("coil_current", "control_fuse"),
            ("load_current", "load_fuse"),
        ):
            low, high = bands[name]
            assert low < amps[branch] < high
