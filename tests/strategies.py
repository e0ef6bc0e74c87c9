"""Networks and relay circuits for property tests, always solvable."""

import math
from dataclasses import replace
from typing import get_args

from hypothesis import strategies as st

from generator.model.catalogue.faults import FAULTS
from generator.model.measure import Command, Setup
from generator.model.network import Branch, Network
from generator.model.topology import PROBES
from tests.circuits import LOADS, faults_of
from tests.tables import Table

SUPPRESSION = (560.0, 680.0, math.inf)
"""A resistor across the coil, or none."""

plain_ohms = st.floats(-2, 5).map(lambda exponent: 10.0**exponent)
"""A hundredth of an ohm to a hundred kilohms."""

low_ohms = st.one_of(plain_ohms, st.just(0.0))
"""A resistance, or none."""

emfs = st.one_of(st.just(0.0), st.floats(-24, 24).map(lambda emf_v: round(emf_v, 3)))


@st.composite
def grounded_networks(draw, tree_ohms=low_ohms):
    """Networks in which every node has a path to ground; no loop is all ideal.

    A tree from ground may hold ideal branches; further links may be opens.
    """
    nodes = ["0", *(f"n{i}" for i in range(1, draw(st.integers(2, 7))))]
    tree = [
        (draw(st.sampled_from(nodes[:i])), node) for i, node in enumerate(nodes) if i
    ]
    pairs = st.tuples(st.sampled_from(nodes), st.sampled_from(nodes))
    links = draw(st.lists(pairs.filter(lambda pair: pair[0] != pair[1]), max_size=8))
    ohms = [draw(tree_ohms) for _ in tree]
    ohms += [draw(st.one_of(plain_ohms, st.just(math.inf))) for _ in links]
    ends = [draw(st.sampled_from([pair, pair[::-1]])) for pair in tree + links]
    return Network(
        branches=tuple(
            Branch(f"b{i}", start, end, resistance_ohm, draw(emfs))
            for i, ((start, end), resistance_ohm) in enumerate(
                zip(ends, ohms, strict=True)
            )
        )
    )


def networks():
    """Networks in which some nodes may float."""
    return grounded_networks(st.one_of(low_ohms, st.just(math.inf)))


def _between(low, high):
    return st.floats(low, high, allow_nan=False)


@st.composite
def variants(draw):
    """Every way to build a circuit, as changes of its values."""
    flags = (
        "is_fuse_shared",
        "is_high_side",
        "does_driver_shut_off",
    )
    # A bus bar, the contacts of a main relay, an ignition switch.
    upstream_ohm = draw(st.sampled_from([0.0002, 0.004, 0.008]))
    built = {flag: draw(st.booleans()) for flag in flags}
    break_ohm = draw(st.sampled_from([math.inf, 0.005]))
    # No neighbour at the ground point, or lamps that are off.
    neighbour_ohm = draw(st.sampled_from([math.inf, 1.5]))
    return {
        **built,
        "break_contact_ohm": break_ohm,
        "upstream_ohm": upstream_ohm,
        "neighbour_ohm": neighbour_ohm,
    }


@st.composite
def relay_circuits(draw, *kinds, **fixed):
    """Sound relay circuits of every variant and kind of load, as in the trade.

    Given kinds of load are drawn from alone; values given are kept.
    """
    base = LOADS[draw(st.sampled_from(kinds or sorted(LOADS)))]
    factors = {
        name: getattr(base, name) * draw(_between(0.8, 1.25))
        for name in (
            "supply_v",
            "supply_ohm",
            "coil_ohm",
            "load_ohm",
            "contacts_ohm",
            "load_feed_ohm",
            "motor_constant_vs",
            "fan_nms2",
            "friction_nm",
        )
    }
    suppression = {"suppression_ohm": draw(st.sampled_from(SUPPRESSION))}
    return replace(base, **(factors | suppression | draw(variants()) | fixed))


@st.composite
def broken_circuits(draw, *kinds, **fixed):
    """A sound circuit and the same with one fault that it can have."""
    kind = draw(st.sampled_from(kinds or sorted(LOADS)))
    sound = draw(relay_circuits(kind, **fixed))
    fault = FAULTS[draw(st.sampled_from(faults_of(kind, sound)))]
    return sound, fault.edit(sound, draw(_between(*fault.severity)))


@st.composite
def setups(draw):
    """Every way to set a circuit up for a test, sensible or not."""
    flags = ("control_lead", "load_lead", "jumper", "new_relay", "module_unplugged")
    flags += ("neighbour_unplugged",)
    return Setup(
        command=draw(st.sampled_from(get_args(Command))),
        probe=draw(st.sampled_from([None, *PROBES])),
        **{flag: draw(st.booleans()) for flag in flags},
    )


@st.composite
def plan_problems(draw, max_faults=5, max_tests=4, max_minutes=9):
    """Small tables: prior, outcome, cost and repair."""
    n_faults = draw(st.integers(1, max_faults))
    n_tests = draw(st.integers(0, max_tests))
    prior = draw(st.lists(st.integers(1, 9), min_size=n_faults, max_size=n_faults))
    row = st.text("abc", min_size=n_tests, max_size=n_tests)
    outcome = draw(st.lists(row, min_size=n_faults, max_size=n_faults))
    cost = draw(
        st.lists(st.integers(1, max_minutes), min_size=n_tests, max_size=n_tests)
    )
    repair = draw(st.text("xyz", min_size=n_faults, max_size=n_faults))
    return prior, outcome, cost, repair


@st.composite
def plan_tables(draw, max_faults=5, max_tests=4):
    """Small tables with places of whole minutes, and mostly with a proof."""
    prior, outcome, cost, repair = draw(plan_problems(max_faults, max_tests))
    trial = draw(st.lists(st.integers(1, 40), min_size=3, max_size=3))
    access = draw(st.lists(st.integers(0, 9), max_size=3))
    places = st.sets(st.sampled_from(range(len(access)))) if access else st.just(set())
    sound = draw(st.text("abc", min_size=len(cost), max_size=len(cost)))
    harmless = draw(st.sets(st.sampled_from(range(len(prior))), max_size=1))
    is_to_prove = draw(st.sampled_from([True, True, False]))
    return Table(
        prior=prior,
        # Where nothing is wrong, every test shows what a sound circuit shows.
        outcome=[sound if n in harmless else row for n, row in enumerate(outcome)],
        cost=cost,
        repair=list(repair),
        trial=dict(zip("xyz", trial, strict=True)),
        access=access,
        needs=[sorted(draw(places)) for _ in cost],
        opened=frozenset(draw(places)),
        sound=list(sound) if is_to_prove else None,
        harmless=frozenset(harmless) if is_to_prove else frozenset(),
    )
