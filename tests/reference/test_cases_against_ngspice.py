"""The circuits that students read, solved once more by ngspice.

Random exercises and tests, each network as it stands in the answer key; and hundreds of
random circuits over every variant, load, fault and test. Voltages agree
within 0.1 % or one microvolt. Currents agree within 0.1 % or one microampere, a
hundredth of the smallest step that a clamp on its 100 mV/A scale can show (100 µA).
"""

import math
from dataclasses import dataclass, replace
from itertools import cycle, product

import numpy as np
import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.fault import Fault
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.circuit import RelayCircuit, columns_of
from generator.model.measure import DiagnosticTest
from generator.model.network import Branch, Network
from generator.model.settling import settle
from generator.model.symptoms import as_found
from generator.model.topology import ENDS, PROBES, network_of
from tests.circuits import LOADS
from tests.drawn import EACH_FAULT, for_every_exercise, key
from tests.reference import ngspice

CASES = 240
MODEL_CASES = 480  # each fault in each load that can have it, once
MANY_MODEL_CASES = 1000
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
        for radical in EACH_FAULT
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


@for_every_exercise
def test_sound_circuits_agree_with_ngspice(radicals):
    """Every circuit before it broke draws in ngspice what the page expects of it."""
    records = [key(radical) for radical in radicals]
    answers = ngspice.solve_with_ngspice(
        [network_of_record(record["circuit"]) for record in records]
    )
    for record, (_, amps) in zip(records, answers, strict=True):
        bands = {p["id"]: p["band"] for p in record["predictions"]}
        for name, branch in (
            ("coil_current", "control_fuse"),
            ("load_current", "load_fuse"),
        ):
            if name in bands:
                low, high = bands[name]
                assert low < amps[branch] < high
        assert "load_current" in bands


@dataclass(frozen=True)
class Case:
    """One test of one broken circuit, and what it truly measures."""

    sound: RelayCircuit
    fault: Fault
    test: DiagnosticTest
    value: float
    network: Network


FLAGS = ("is_fuse_shared", "is_high_side", "does_driver_shut_off")
RELAYS = (
    {"suppression_ohm": 680.0, "has_diode": False, "is_fed_at_85": False},
    {"suppression_ohm": 680.0, "has_diode": False, "is_fed_at_85": True},
    {"suppression_ohm": math.inf, "has_diode": True, "is_fed_at_85": False},
)
"""A resistor beside the coil fed at either terminal; a diode fed the right way."""
BUILDS = [
    {
        **dict(zip(FLAGS, set_to, strict=True)),
        **relay,
        "break_contact_ohm": break_contact_ohm,
        "upstream_ohm": upstream_ohm,
        "neighbour_ohm": neighbour_ohm,
    }
    for set_to in product((False, True), repeat=len(FLAGS))
    for break_contact_ohm in (math.inf, 0.005)
    for relay in RELAYS
    for upstream_ohm in (0.0002, 0.004, 0.008)
    for neighbour_ohm in (math.inf, 1.5)
]
"""Every way to build a circuit."""
VARIED = ("supply_v", "supply_ohm", "coil_ohm", "load_ohm", "contacts_ohm")


def needs_smart_switch(entry):
    """Whether a fault or a test is of circuits without a relay alone."""
    heater, valve = LOADS["heater"], LOADS["solenoid valve"]
    builds = [replace(one, **build) for one in (heater, valve) for build in BUILDS]
    return not any(map(entry.applies, builds))


def kept_node(test):
    """Node of the meter that a network must hold, floating or not."""
    target = test.measure.target
    return (PROBES if test.measure.kind == "voltage" else ENDS)[target][1]


@dataclass(frozen=True)
class Drawn:
    """A fault of some size in a circuit, and a test of it."""

    sound: RelayCircuit
    fault: Fault
    severity: float
    test: DiagnosticTest


def random_case(rng, kind, fault, build):
    """A random circuit with a fault, and a random electrical test of it."""
    factors = {
        name: getattr(LOADS[kind], name) * rng.uniform(0.8, 1.25) for name in VARIED
    }
    sound = replace(LOADS[kind], **factors, **build)
    tests = [
        test
        for test in catalogue.tests_for(sound, TESTS, is_stressed=fault.is_intermittent)
        if test.measure.kind in ("current", "voltage")
    ]
    test = tests[rng.integers(len(tests))]
    severity = float(rng.uniform(*fault.severity))
    return Drawn(sound=sound, fault=fault, severity=severity, test=test)


def settled_cases(drawn):
    """Cases broken, and those of one test settled all at once."""
    found = as_found([one.fault.as_calm(one.sound, one.severity) for one in drawn])
    of_test = {}
    for one, calm in zip(drawn, found, strict=True):
        of_test.setdefault(one.test.id, []).append((one, calm))
    for name, own in of_test.items():
        test, calm = TESTS[name], [calm for _, calm in own]
        moved = [
            one.fault.edit(one.sound, one.severity)
            if one.fault.is_intermittent
            else calm
            for one, calm in own
        ]
        state = settle(
            columns_of(calm),
            columns_of([one.sound for one, _ in own]),
            [test.setup],
            columns_of(moved),
        )
        is_current = test.measure.kind == "current"
        read = state.current if is_current else state.meter_voltage
        values = read(test.measure.target)[:, 0, 0].tolist()
        for number, ((one, _), value) in enumerate(zip(own, values, strict=True)):
            yield Case(
                sound=one.sound,
                fault=one.fault,
                test=test,
                value=value,
                network=network_of(state, (number, 0, 0), kept_node(test)),
            )


@pytest.fixture(
    scope="module",
    params=[MODEL_CASES, pytest.param(MANY_MODEL_CASES, marks=pytest.mark.nightly)],
)
def model_cases(request):
    """Hundreds of cases: faults, loads and variants in turn, tests at random."""
    rng = np.random.default_rng(20261125)
    builds = cycle([BUILDS[i] for i in rng.permutation(len(BUILDS))])
    wanted = cycle(product(FAULTS.values(), LOADS))
    drawn = []
    while len(drawn) < request.param:
        (fault, kind), build = next(wanted), next(builds)
        if kind in fault.kinds and fault.applies(replace(LOADS[kind], **build)):
            drawn.append(random_case(rng, kind, fault, build))
    return [*settled_cases(drawn)]


def test_model_cases_hold_every_variant_fault_and_test(model_cases):
    """None is left out of a thousand, and currents flow, or do not."""
    # Circuits without a relay have a module of their own, `test_smart_switches.py`.
    of_relays = {n for n, f in FAULTS.items() if not needs_smart_switch(f)}
    assert {case.fault.id for case in model_cases} == of_relays
    assert {case.test.id for case in model_cases} == {
        t.id
        for t in TESTS.values()
        if t.measure.kind in ("current", "voltage") and not needs_smart_switch(t)
    }
    seen = [{n: getattr(c.sound, n) for n in BUILDS[0]} for c in model_cases]
    built = sum(build in seen for build in BUILDS)
    assert built >= min(len(BUILDS), len(model_cases) // 4)
    values = [abs(case.value) for case in model_cases]
    assert sum(value < 1e-6 for value in values) > len(values) / 10
    assert sum(value > 0.1 for value in values) > len(values) / 4


def test_model_cases_agree_with_ngspice(model_cases):
    """Each reading within 0.1 % or one microvolt, one microampere."""
    answers = ngspice.solve_with_ngspice([case.network for case in model_cases])
    for case, (volts, amps) in zip(model_cases, answers, strict=True):
        measure = case.test.measure
        if measure.kind == "current":
            found = amps.get(measure.target, 0.0)
        else:
            plus, minus = PROBES[measure.target]
            found = volts[plus] - volts[minus]
        where = f"{case.fault.id}, {case.test.id}"
        assert case.value == pytest.approx(
            found, rel=FRACTION_APART, abs=VOLTS_APART
        ), where
