"""An exercise's network as a coil that is switched off and a motor that starts."""

import math
from dataclasses import replace

import pytest

from generator.exports.transients_of import (
    NothingMovesError,
    coil_circuit_of,
    motor_start_of,
)
from generator.model.inrush import motor_start
from generator.model.network import Branch
from generator.model.transients import Suppression
from tests.drawn import RADICALS, key
from tests.keys import whole_of

RADICAL = next(r for r in RADICALS if r.family == "cooler-fan")
SOUND = whole_of(key(RADICAL)).circuit.network
COIL = whole_of(key(RADICAL)).circuit.coil


def changed(network, **ohms):
    """The network with other resistances; None leaves a branch out."""
    branches = (
        replace(branch, resistance_ohm=ohms.get(branch.name, branch.resistance_ohm))
        for branch in network.branches
        if ohms.get(branch.name, 0) is not None
    )
    return replace(network, branches=tuple(branches))


def with_branch(network, name, node_from, node_to):
    """The network with one more branch of a tenth of an ohm."""
    branch = Branch(name, node_from, node_to, 0.1)
    return replace(network, branches=(*network.branches, branch))


def test_coil_has_the_current_of_the_network():
    """Within what the load does to the supply, which is taken as it stands."""
    record = key(RADICAL)
    circuit = coil_circuit_of(SOUND, COIL)
    through = circuit.coil_v / circuit.suppression.resistor_ohm + circuit.initial_a
    low, high = next(
        p["band"] for p in record["predictions"] if p["id"] == "coil_current"
    )
    assert low < through < high
    assert circuit.clamp_v == math.inf


def test_suppression_can_be_given():
    """A wrong relay has another suppression; a missing branch is none."""
    diode = replace(COIL, diode_v=0.7, diode_ohm=0.2)
    without = changed(SOUND, suppression=None)
    given = coil_circuit_of(without, diode)
    assert given.suppression == Suppression(diode_ohm=0.2, diode_v=0.7)
    bare = coil_circuit_of(without, COIL)
    assert bare.suppression == Suppression()


def test_coil_without_current_cannot_be_switched_off():
    """An open fuse leaves nothing to see."""
    with pytest.raises(NothingMovesError, match="no current flows"):
        coil_circuit_of(changed(SOUND, control_fuse=None), COIL)


def test_coil_shorted_to_ground_stays_on():
    """The driver opens and the current goes on through the short."""
    shorted = with_branch(SOUND, "return_to_ground", "85", "0")
    with pytest.raises(NothingMovesError, match="stays on"):
        coil_circuit_of(shorted, COIL)


def test_motor_settles_at_the_operating_point_of_the_network():
    """It ends at the current that the network has."""
    source, motor = motor_start_of(SOUND)
    load = next(b for b in SOUND.branches if b.name == "load")
    trace = motor_start(source, motor, 4.0)
    assert trace.current_a[-1] == pytest.approx(trace.final_a, rel=1e-4)
    total_ohm = source.resistance_ohm + motor.armature_ohm
    assert source.emf_v - total_ohm * trace.final_a == pytest.approx(
        -load.emf_v, rel=1e-4
    )


def test_open_load_does_not_start():
    """Without the load there is no motor."""
    with pytest.raises(NothingMovesError, match="no motor"):
        motor_start_of(changed(SOUND, load=None))
