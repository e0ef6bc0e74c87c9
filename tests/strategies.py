"""Networks and relay circuits for property tests, always solvable."""

import math
from dataclasses import replace
from typing import get_args

from hypothesis import strategies as st

from generator.model.circuit import PROBES, Command, Setup
from generator.model.faults import FAULTS
from generator.model.network import Branch, Network
from tests.circuits import LOADS

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
def relay_circuits(draw):
    """Sound relay circuits of every kind of load, with values as in the trade."""
    base = LOADS[draw(st.sampled_from(sorted(LOADS)))]
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
    return replace(base, **factors, suppression_ohm=draw(st.sampled_from(SUPPRESSION)))


@st.composite
def broken_circuits(draw):
    """A sound circuit and the same with one fault."""
    sound = draw(relay_circuits())
    fault = draw(st.sampled_from(list(FAULTS.values())))
    return sound, fault.edit(sound, draw(_between(*fault.severity)))


@st.composite
def setups(draw):
    """Every way to set a circuit up for a test, sensible or not."""
    flags = ("control_lead", "load_lead", "jumper", "new_relay", "module_unplugged")
    return Setup(
        command=draw(st.sampled_from(get_args(Command))),
        probe=draw(st.sampled_from([None, *PROBES])),
        **{flag: draw(st.booleans()) for flag in flags},
    )
