"""Any set-up of a drawn circuit, and what the batch solver makes of it."""

import random
from functools import cache

from generator.model.circuit import columns_of
from generator.model.free_setups import BRANCHES, ohms_in
from generator.model.measure import Setup
from generator.model.network import Branch, Network
from generator.model.settling import settle
from generator.model.topology import ENDS, METER_OHM, TOPOLOGY
from generator.workbooks.bench_records import bench_of
from tests.drawn import EACH_FAULT, exercise, has_relay
from workbook.measuring.set_up import ids_of, instruments_of, options_of
from workbook.measuring.truth import node_of
from workbook.record.set_up import COMMANDS, PARTS, SetUp

WITH_RELAY = tuple(filter(has_relay, EACH_FAULT))
WITHOUT = tuple(radical for radical in EACH_FAULT if not has_relay(radical))
# Those without a relay come last, so that a number names the same circuit as ever.
CIRCUITS = (*WITH_RELAY, *WITHOUT)
INSTRUMENTS = ("volts", "volts", "clamp", "ohms", "scope")

SHARED_GROUND = [radical.fault for radical in WITH_RELAY].index("shared_ground_open")
"""The drawn circuit whose load shares its ground point with a neighbour."""
SMART = tuple(range(len(WITH_RELAY), len(CIRCUITS)))
"""Those with a smart switch in the relay's place."""


@cache
def bench_and_exercise(number):
    """A circuit of the drawn ones, and what can be set up on it."""
    drawn = exercise(CIRCUITS[number % len(CIRCUITS)])
    return bench_of(drawn), drawn


def any_set_up(bench, chance, *, instruments=INSTRUMENTS, harness="at rest"):
    """Any set-up of a circuit, most of its parts in their places."""
    plus, minus = chance.sample(ids_of(bench.points), 2)
    if chance.random() < 0.4 and plus != "0":
        minus = "0"
    parts = {
        part: chance.choice((*(options := options_of(part, bench)), *[options[0]] * 4))
        for part in PARTS
        if bench.part(part)
    }
    known = [each for each in instruments if each in instruments_of(bench)]
    command, instrument = chance.choice([*COMMANDS]), chance.choice(known)
    if command == "off" and instrument == "scope":
        command = "normal"
    if command == "output test" and parts.get("module", "in") != "in":
        command = "normal"
    return SetUp(
        command=command,
        harness=harness,
        instrument=instrument,
        plus=plus,
        minus=minus,
        wire=chance.choice(ids_of(bench.wires)),
        scale=chance.choice(bench.scales),
        **parts,
    ).plain


def setup_of(set_up):
    """The same for the batch solver."""
    return Setup(
        command=set_up.command,
        control_lead=set_up.control_fuse == "lead",
        control_fuse_out=set_up.control_fuse == "out",
        load_lead=set_up.load_fuse == "lead",
        load_fuse_out=set_up.load_fuse == "out",
        jumper=set_up.is_bridged,
        relay_out=set_up.relay == "out",
        load_unplugged=set_up.load_connector == "out",
        module_unplugged=set_up.module != "in",
        neighbour_unplugged=set_up.neighbour == "out",
        is_stressed=set_up.harness == "moved",
    )


def settled_in(pair, nominal, set_ups):
    """Operating points of a circuit in many set-ups, by the batch solver."""
    calm, moved = (columns_of([each]) for each in pair)
    return settle(calm, columns_of([nominal]), [setup_of(s) for s in set_ups], moved)


def network_of(settled, place, circuit, set_up):
    """The network that a meter is put on, from a set-up settled by the batch solver.

    With its own names of nodes, the coil's supply at 86.
    """
    ohm = dict(zip(TOPOLOGY.branches, settled.resistance_ohm[0, place, 0], strict=True))
    emf = dict(zip(TOPOLOGY.branches, settled.emf_v[0, place, 0], strict=True))
    [[out]] = ohms_in([circuit], (setup_of(set_up),))
    branches = [
        Branch(
            name,
            *ends,
            float(ohm[name] if name in ENDS else out[name]),
            float(emf.get(name, 0.0)),
        )
        for name, ends in BRANCHES.items()
    ]
    return Network(branches=tuple(branches))


def with_meter(network, set_up, renamed):
    """Put a voltmeter on a network; None where both its leads are on one node."""
    ends = [
        renamed.get(node, node)
        for node in (node_of(p, set_up) for p in (set_up.plus, set_up.minus))
    ]
    if ends[0] == ends[1]:
        return None
    meter = Branch("meter", *ends, METER_OHM)
    return Network(branches=(*network.branches, meter))


def renamed_in(exercise):
    """Terminals of the coil by the plain circuit's names."""
    if not exercise.specification.nominal.is_fed_at_85:
        return {}
    return {"86": "85", "85": "86", "pin_86": "pin_85", "pin_85": "pin_86"}


def chance_of(name):
    """Chance that is the same in every run."""
    return random.Random(name)
